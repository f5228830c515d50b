//! Test medium: the pipes are tested with water, never with compressed air.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "test-medium",
    section: Section::Watertight,
    checks: "The pipes are tested with water.",
    why: "Compressed air stores energy: plastic pipe that fails under it bursts into pieces and \
          has killed people. Water only leaks.",
    limit: None,
    threshold: "water; never compressed air or gas on plastic pipe",
    source: Source {
        text: "makers' installation guides forbid air tests of plastic pipe",
        confidence: Confidence::Read,
    },
    keys: "test.medium",
    mend: "test with water",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let Some(medium) = input.facts.test.as_ref().and_then(|t| t.medium.as_ref()) else {
        let message = "what the pipes are tested with is not shown";
        return vec![rule.asks(input, "site", message, &["test.medium"])];
    };
    let water = medium.trim().eq_ignore_ascii_case("water");
    vec![rule.at(input, "site", pass_if(water), format!("tested with {medium}"))]
}
