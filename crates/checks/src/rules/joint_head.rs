//! Joint head: the deepest joint stands under no more water than such joints are tested for.

use super::prelude::*;
use std::collections::BTreeMap;
use wetrun_network::{DownspoutId, End, PlaceId};
use wetrun_solver::laws::{statics, water};
use wetrun_units::Pressure;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "joint-head",
    section: Section::Watertight,
    checks: "The pressure of the highest water that can stand on the deepest joint stays within \
             what drain joints are tested for.",
    why: "Drain pipe is made to run part full; in a wet system its joints carry pressure for \
          years.",
    limit: Some(Amount::Pressure(Pressure::pa(74_700.0))),
    threshold: "the pressure at the lowest invert with water at the highest spill level",
    source: Source {
        text: "ASTM D3212, gasket joints of drain pipe: 25 ft of water",
        confidence: Confidence::Recalled,
    },
    keys: "lines.*.profile, downspouts.*.lip, downspouts.*.leaf_head, pipes.*.joint",
    mend: "use pressure pipe with joints rated for that head",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_pa = rule.limit_si(input);
    let groups = input.network.groups();
    let mut highest_m: BTreeMap<PlaceId, f64> = BTreeMap::new();
    for (index, downspout) in input.network.downspouts().iter().enumerate() {
        let group = groups.of(input.network, End::Downspout(DownspoutId::new(index)));
        let highest = highest_m.entry(group).or_insert(f64::NEG_INFINITY);
        *highest = highest.max(downspout.spill_level().to_m());
    }
    let each = input.network.lines().iter();
    each.map(|line| {
        if crate::shown(&line.pipe.joint).is_none() {
            let message = "how it is joined is not shown";
            return rule.not_shown(input, &line.tag, message);
        }
        let end = if matches!(line.from, End::Tank(_)) { line.to } else { line.from };
        let highest_m = highest_m.get(&groups.of(input.network, end)).copied().unwrap_or(f64::NEG_INFINITY);
        let lowest_m = line.profile.iter().map(|s| s.level.to_m()).fold(f64::INFINITY, f64::min);
        let head_m = (highest_m - lowest_m).max(0.0);
        let pressure =
            statics::pressure(Length::m(head_m), water::density(input.scenario.temperature));
        let message = format!(
            "{} of water on its lowest joint at the most: {}",
            say::height(units, head_m),
            units.show_pressure(pressure),
        );
        rule.at(input, &line.tag, pass_if(pressure.to_pa() <= limit_pa), message)
            .with(Amount::Pressure(pressure), Amount::Pressure(Pressure::pa(limit_pa)))
    })
    .collect()
}
