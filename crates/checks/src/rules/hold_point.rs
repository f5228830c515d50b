//! Hold point: somebody sees the test before the trench is closed.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "hold-point",
    section: Section::Watertight,
    checks: "The drawing says who must see the test, and that the trench stays open until then.",
    why: "A leak is cheap to find only while the trench is open.",
    limit: None,
    threshold: "a statement of what is seen, and by whom",
    source: Source {
        text: "plumbing codes: work stays open until inspected",
        confidence: Confidence::Recalled,
    },
    keys: "documents.hold_point",
    mend: "write the hold point and its witness on the drawing",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let statement = input.facts.documents.hold_point.as_ref();
    vec![stated(rule, input, "site", (statement, "documents.hold_point"), "hold point before the trench is closed")]
}
