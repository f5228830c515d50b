//! Bedding: the pipe lies on its whole length and is marked.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "bedding",
    section: Section::Ground,
    checks: "The pipe is bedded over its whole length, and marked with tape or tracer.",
    why: "Pipe laid on spoil settles into sags that hold sludge and humps that hold air.",
    limit: None,
    threshold: "a statement of bedding and marker",
    source: Source {
        text: "a city plumbing code: support over the whole length",
        confidence: Confidence::Read,
    },
    keys: "ground.bedding",
    mend: "draw the bedding and the marker tape",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let statement = input.facts.ground.bedding.as_ref();
    vec![stated(rule, input, "site", (statement, "ground.bedding"), "bedding and marker")]
}
