//! Test level: the water test reaches as high as water can ever stand.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "test-level",
    section: Section::Watertight,
    checks: "The pipes are tested with water up to the highest level it can reach: the highest \
             lip or leaf head of the line.",
    why: "A test at the rest level misses every joint between it and the gutter, and those are \
          the ones at the wall of the house.",
    limit: None,
    threshold: "the highest spill level of the downspouts",
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
    let need_m = input
        .network
        .downspouts()
        .iter()
        .map(|d| d.spill_level().to_m())
        .fold(f64::NEG_INFINITY, f64::max);
    let Some(level) = input.facts.test.as_ref().and_then(|t| t.level) else {
        return vec![rule.not_shown(input, "site", "the level of the water test is not shown")];
    };
    let message = format!(
        "tested at {}; water can stand at {}",
        say::level(units, level.to_m()),
        say::level(units, need_m),
    );
    let holds = level.to_m() >= need_m - LEVEL_TOLERANCE_M;
    let mut finding = rule.at(input, "site", pass_if(holds), message);
    if !holds {
        let short = say::height(units, need_m - level.to_m());
        finding = finding.mended(format!("test {short} higher"));
    }
    vec![finding.with(Amount::Length(level), metres(need_m))]
}
