//! Frost exposed: risers and downspouts that stand full above the frost depth are protected.

use super::prelude::*;
use wetrun_network::{DownspoutId, TankId};

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "frost-exposed",
    section: Section::Ground,
    checks: "Risers and downspouts that stand full above the frost depth are drained, heated or \
             insulated.",
    why: "The elbow at the foot of the riser is the first part to freeze and split: it stands \
          full, in the open.",
    limit: None,
    threshold: "protected, or drained before frost",
    source: Source {
        text: "IRC P2603.6: pipe exposed to freezing is protected; a wet line has no drained state",
        confidence: Confidence::Read,
    },
    keys: "ground.frost_depth, downspouts.*.frost, tanks.*.frost",
    mend: "insulate or heat it, or drain the line before frost",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    if let Err(instead) = super::frost_depth::of_site(rule, input) {
        return instead;
    }
    let units = input.facts.units;
    let mut found = Vec::new();
    for (index, downspout) in input.network.downspouts().iter().enumerate() {
        let rest = input.steady.rest.downspout(DownspoutId::new(index));
        let stands_m = rest.map_or(0.0, |rest| (rest - downspout.foot).to_m());
        if stands_m <= 0.0 {
            continue;
        }
        let noun =
            format!("{} of it stand full between storms, frost", say::height(units, stands_m));
        let frost = input.facts.downspout(index).frost;
        found.push(stated(rule, input, &downspout.tag, (frost.as_ref(), "downspouts.{}.frost"), &noun));
    }
    for (index, tank) in input.network.tanks().iter().enumerate() {
        if super::fed(input, TankId::new(index)) {
            let frost = input.facts.tank(index).frost;
            found.push(stated(rule, input, &tank.tag, (frost.as_ref(), "tanks.{}.frost"), "its riser, frost"));
        }
    }
    found
}
