//! What a review comes to: it conforms, it is incomplete, or it fails.

use crate::finding::{Finding, Outcome};

/// What a review comes to.
///
/// Every rule asks for something that a drawing must show: one that says nothing where a rule asks
/// is incomplete, so that saying less never makes a drawing better.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Nothing fails, and all that is asked for is shown.
    Conforms,
    /// Nothing fails, and something that is asked for is not shown.
    Incomplete,
    /// Something fails.
    Fails,
}

impl Standing {
    /// What these findings of a review come to.
    pub fn of(findings: &[Finding]) -> Self {
        let any = |outcome| findings.iter().any(|finding| finding.outcome == outcome);
        if any(Outcome::Fail) {
            Self::Fails
        } else if any(Outcome::NotShown) || findings.is_empty() {
            Self::Incomplete
        } else {
            Self::Conforms
        }
    }

    /// The words that a report opens with.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Conforms => "CONFORMS",
            Self::Incomplete => "INCOMPLETE",
            Self::Fails => "DOES NOT CONFORM",
        }
    }

    /// The word in the JSON result.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Conforms => "pass",
            Self::Incomplete => "incomplete",
            Self::Fails => "fail",
        }
    }
}
