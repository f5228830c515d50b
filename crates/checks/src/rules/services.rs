//! Services: the trench keeps apart from what else is buried.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "services",
    section: Section::Ground,
    checks: "The trench keeps its distance from sewer, water, gas and electric lines, and from tree roots.",
    why: "A dig into a live service kills; roots find a weeping joint.",
    limit: None,
    threshold: "a statement that they were located, and the distances",
    source: Source { text: "local separation rules", confidence: Confidence::CommonPractice },
    keys: "ground.services",
    mend: "have the services located and draw them",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let statement = input.facts.ground.services.as_ref();
    vec![stated(rule, input, "site", (statement, "ground.services"), "buried services located")]
}
