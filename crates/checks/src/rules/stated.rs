//! Rules that ask for a statement on the drawing: it is made, denied, or not shown.

use crate::Judged;
use crate::finding::{Finding, Outcome};
use crate::rule::Rule;
use wetrun_facts::Stated;

/// Judges one statement: `noun` is what it is about, `key` the one that makes it.
pub(crate) fn stated(
    rule: &Rule,
    input: &Judged<'_>,
    at: &str,
    (statement, key): (Option<&Stated>, &str),
    noun: &str,
) -> Finding {
    match statement {
        Some(Stated::Yes(words)) => said(rule, input, at, noun, words),
        Some(Stated::No) => {
            rule.at(input, at, Outcome::Fail, format!("{noun}: the drawing says there is none"))
        }
        None => rule.asks(input, at, &format!("{noun}: not shown"), &[key]),
    }
}

/// Conforms because the drawing says so, in words that a person must read.
pub(crate) fn said(rule: &Rule, input: &Judged<'_>, at: &str, noun: &str, words: &str) -> Finding {
    let finding = rule.at(input, at, Outcome::Pass, format!("{noun}: stated \"{words}\""));
    Finding { stated: Some(words.to_owned()), ..finding }
}
