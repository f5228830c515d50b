//! Drain time: the line empties through its drain in a time that suits its use.

use super::prelude::*;
use crate::volume::Layers;
use std::collections::BTreeMap;
use std::time::Duration;
use wetrun_network::{End, PlaceId, PointId};
use wetrun_solver::laws::drain;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "drain-time",
    section: Section::Air,
    checks: "The line that stands above a drain empties through it in a reasonable time.",
    why: "A line that takes days to empty is not emptied before frost, nor after a long dry spell.",
    limit: Some(Amount::Time(Duration::from_secs(86_400))),
    threshold: "the longest time to empty",
    source: Source { text: "a day for a slow drain", confidence: Confidence::CommonPractice },
    keys: "points.*.drain, points.*.drain_outlet",
    mend: "a larger drain, or a lower outlet",
    judge,
};

/// Loss coefficient of a short drain with its valve, the exit apart.
const DRAIN_K: f64 = 1.5;

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let groups = input.network.groups();
    let limit_s = rule.limit_si(input);
    let mut waters: BTreeMap<PlaceId, Layers> = BTreeMap::new();
    let mut found = Vec::new();
    for (index, point) in input.network.points().iter().enumerate() {
        let Some(bore) = point.drain else { continue };
        let Some(outlet) = input.facts.point(index).drain_outlet.and_then(|o| o.level) else {
            let message = "the level of the drain's outlet is not shown";
            let key = "points.{}.drain_outlet.level";
            found.push(rule.asks(input, &point.tag, message, &[key]));
            continue;
        };
        let bottom_m = point.level.to_m().max(outlet.to_m());
        let group = groups.of(input.network, End::Point(PointId::new(index)));
        let layers = waters.entry(group).or_insert_with(|| Layers::new(input, &groups, group));
        let (mut seconds, mut total_m3) = (0.0, 0.0);
        for (level_m, m3) in layers.above(bottom_m) {
            let head = Length::m(level_m - outlet.to_m());
            seconds += m3 / drain::constant_loss_flow(bore, DRAIN_K, head).to_m3_per_s();
            total_m3 += m3;
        }
        let time = Duration::try_from_secs_f64(seconds).unwrap_or(Duration::MAX);
        let message = format!(
            "{} above the drain run out in {}",
            units.show_volume(wetrun_units::Volume::m3(total_m3)),
            Amount::Time(time).show(units),
        );
        let limit = Duration::try_from_secs_f64(limit_s).unwrap_or_default();
        found.push(
            rule.at(input, &point.tag, pass_if(seconds <= limit_s), message)
                .with(Amount::Time(time), Amount::Time(limit)),
        );
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no drains are drawn");
    }
    found
}
