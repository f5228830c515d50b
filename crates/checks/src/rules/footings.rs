//! Footings: the trench keeps clear of them.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "footings",
    section: Section::Ground,
    checks: "The trench keeps clear of the zone that carries the footings, and reactive clay is noted.",
    why: "A trench beside a footing takes away what it stands on; a leak in reactive clay moves it.",
    limit: None,
    threshold: "a statement of the clearance",
    source: Source {
        text: "building inspection articles on downspouts and footings",
        confidence: Confidence::Read,
    },
    keys: "ground.footings",
    mend: "move the trench, or have the crossing designed",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let statement = input.facts.ground.footings.as_ref();
    vec![stated(rule, input, "site", (statement, "ground.footings"), "clearance from footings")]
}
