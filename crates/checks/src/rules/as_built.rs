//! As built: measured levels and the test record come back before approval.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "as-built",
    section: Section::Handover,
    checks: "As-built levels and the record of the water test are returned before approval.",
    why: "A few centimetres at the inlet or a gutter are the margin; only measured levels prove it.",
    limit: None,
    threshold: "a statement that they are returned",
    source: Source {
        text: "one state's rules for the highest class of use: the designer's inspection report",
        confidence: Confidence::Read,
    },
    keys: "documents.as_built",
    mend: "ask for as-built levels and run them through the same calculation",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let statement = input.facts.documents.as_built.as_ref();
    vec![stated(rule, input, "site", (statement, "documents.as_built"), "as-built levels and test record")]
}
