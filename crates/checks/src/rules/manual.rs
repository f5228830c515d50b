//! Manual: the owner gets one.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "manual",
    section: Section::Handover,
    checks: "A manual says how often to clean, drain and flush, and where the valves are.",
    why: "A wet system works as long as its screens, drain and flush-out are used.",
    limit: None,
    threshold: "a manual is supplied",
    source: Source {
        text: "IRC 2018 P2911: operation and maintenance manual supplied",
        confidence: Confidence::Read,
    },
    keys: "documents.manual",
    mend: "write the manual and hand it over",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let statement = input.facts.documents.manual.as_ref();
    vec![stated(rule, input, "site", (statement, "documents.manual"), "manual for the owner")]
}
