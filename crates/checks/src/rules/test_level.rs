//! Test level: the water test reaches as high as water can stand behind a blocked outlet.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "test-level",
    section: Section::Watertight,
    checks: "The pipes are tested with water up to the level at which a blocked outlet would let \
             it out: the lowest lip, leaf head, vent or open cap of the pipes that are connected.",
    why: "A test at the rest level misses every joint between it and the gutter, and those are \
          the ones at the wall of the house.",
    limit: None,
    threshold: "the lowest opening of the connected pipes",
    source: Source {
        text: "plumbing codes test drains with 10 ft of water; the level for a wet system follows \
               from where its water can stand",
        confidence: Confidence::Reasoned,
    },
    keys: "test.level",
    mend: "test at that level",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let Some(level) = input.facts.test.as_ref().and_then(|t| t.level) else {
        let message = "the level of the water test is not shown";
        return vec![rule.asks(input, "site", message, &["test.level"])];
    };
    let groups = input.network.test_levels();
    let each = groups.iter().map(|group| {
        let need_m = group.level.to_m();
        let mouth = input.network.end_tag(group.mouth.end());
        let place = if groups.len() == 1 { "site" } else { mouth };
        let holds = level.to_m() >= need_m - LEVEL_TOLERANCE_M;
        let (has, asked) = say::levels(units, level.to_m(), need_m);
        let what = group.mouth.words();
        let message = format!("tested at {has}; water can stand at {asked}, the {what} of {mouth}");
        let mut finding = rule.at(input, place, pass_if(holds), message);
        if !holds {
            finding = finding.mended(format!("test at {}", say::level_up(units, need_m)));
        }
        finding.with(Amount::Length(level), metres(need_m))
    });
    each.collect()
}
