//! Inspection interval: somebody looks again.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "inspection-interval",
    section: Section::Handover,
    checks: "How often the system is inspected is stated.",
    why: "Screens tear, drains block, tanks settle; none of it shows indoors.",
    limit: None,
    threshold: "an interval is stated",
    source: Source {
        text: "one state's rules: 12 months for medium exposure",
        confidence: Confidence::Read,
    },
    keys: "documents.inspection",
    mend: "state an interval",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let statement = input.facts.documents.inspection.as_ref();
    vec![stated(rule, input, "site", (statement, "documents.inspection"), "inspection interval")]
}
