//! What a rule of the review concludes, the same word for it everywhere.

/// What a rule concluded of a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Outcome {
    /// The place conforms.
    Pass,
    /// The place does not conform.
    Fail,
    /// It conforms, or cannot be judged by number, but somebody should look at it.
    Caution,
    /// The site file lacks what the rule needs.
    NotShown,
    /// A person must decide.
    NeedsDecision,
    /// The rule has nothing to judge here.
    NotApplicable,
}

impl Outcome {
    /// The word in the JSON result.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::Fail => "fail",
            Self::Caution => "caution",
            Self::NotShown => "not-shown",
            Self::NeedsDecision => "needs-decision",
            Self::NotApplicable => "not-applicable",
        }
    }

    /// The words for people, the same on the screen and on paper.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Pass => "conforms",
            Self::Fail => "FAILS",
            Self::Caution => "caution",
            Self::NotShown => "not shown",
            Self::NeedsDecision => "decide",
            Self::NotApplicable => "n/a",
        }
    }
}
