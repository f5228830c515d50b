//! Rules that ask for a statement on the drawing: it is made, denied, or not shown.

use crate::Judged;
use crate::facts::Stated;
use crate::finding::{Finding, Outcome};
use crate::rule::Rule;

/// Judges one statement, `noun` being what it is about.
pub(crate) fn stated(
    rule: &Rule,
    input: &Judged<'_>,
    at: &str,
    statement: Option<&Stated>,
    noun: &str,
) -> Finding {
    match statement {
        Some(Stated::Yes(text)) if text == "yes" || text == "true" => {
            rule.at(input, at, Outcome::Pass, format!("{noun}: shown"))
        }
        Some(Stated::Yes(text)) => rule.at(input, at, Outcome::Pass, format!("{noun}: {text}")),
        Some(Stated::No) => {
            rule.at(input, at, Outcome::Fail, format!("{noun}: the drawing says there is none"))
        }
        None => rule.not_shown(input, at, &format!("{noun}: not shown")),
    }
}
