//! Labels: nobody drinks this water by mistake.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "labels",
    section: Section::Handover,
    checks: "Outlets are labelled, and where the water is plumbed indoors it is kept apart from drinking water.",
    why: "Rainwater is not drinking water unless it is treated and approved.",
    limit: None,
    threshold: "a statement of labels and separation",
    source: Source {
        text: "IPC 2018 chapter 13: non-potable outlets are marked",
        confidence: Confidence::Recalled,
    },
    keys: "documents.labels",
    mend: "label the outlets and show the backflow protection",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let statement = input.facts.documents.labels.as_ref();
    vec![stated(rule, input, "site", (statement, "documents.labels"), "labels and separation from drinking water")]
}
