//! Overflow cascade: a tank that overflows into another needs water standing lower there.

use crate::finding::{Amount, Finding, Outcome};
use crate::{Judged, say};
use wetrun_units::Length;

pub(crate) fn judge(input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let mut found = Vec::new();
    for tank in input.network.tanks() {
        let Some(overflow) = &tank.overflow else { continue };
        let Some(to) = overflow.to else { continue };
        let other = input.network.tank(to);
        let solved = input.steady.tanks.get(to.index()).and_then(|t| t.water_level);
        let at_rest = other.overflow.as_ref().map(|o| o.level);
        // The higher of the two: it must run both in the storm and after it.
        let water = match (solved, at_rest) {
            (Some(a), Some(b)) => Length::m(a.to_m().max(b.to_m())),
            (Some(a), None) | (None, Some(a)) => a,
            (None, None) => continue,
        };
        let drop = overflow.level - water;
        let stands_higher = drop.to_m() < 0.0;
        let (distance, side) = if stands_higher { (drop * -1.0, "above") } else { (drop, "below") };
        found.push(Finding {
            rule: "overflow-cascade",
            outcome: if stands_higher { Outcome::Caution } else { Outcome::Pass },
            at: tank.tag.clone(),
            value: Some(Amount::Length(drop)),
            limit: Some(Amount::Length(Length::ZERO)),
            message: format!(
                "it overflows into {}, where water stands {} {side} this overflow",
                other.tag,
                say::small(units, distance),
            ),
            basis: "water runs downhill".to_owned(),
            mend: stands_higher.then(|| {
                format!(
                    "raise this overflow, or lower that of {}, by {}",
                    other.tag,
                    say::small(units, distance)
                )
            }),
        });
    }
    found
}
