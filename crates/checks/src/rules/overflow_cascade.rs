//! Overflow cascade: a tank that overflows into another needs water standing lower there.

use super::prelude::*;
use wetrun_network::TankId;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "overflow-cascade",
    section: Section::Tank,
    checks: "Where a tank overflows into another, water in that one stands lower than this \
             overflow.",
    why: "Otherwise the second tank fills the first, and the overflow does not work when it is \
          needed.",
    limit: None,
    threshold: "the water of the next tank, in the storm and at its overflow",
    source: Source { text: "water runs downhill", confidence: Confidence::Reasoned },
    keys: "tanks.*.overflow: { level, to }",
    mend: "raise this overflow where its inlet leaves room, or lower the next tank",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let mut found = Vec::new();
    for (index, tank) in input.network.tanks().iter().enumerate() {
        let Some(overflow) = &tank.overflow else { continue };
        let Some(to) = overflow.to else { continue };
        let other = input.network.tank(to);
        let solved = input.steady.tanks.get(to.index()).and_then(|t| t.water_level);
        let at_rest = other.overflow.as_ref().map(|o| o.level);
        let highest_m = [solved, at_rest]
            .iter()
            .flatten()
            .map(|level| level.to_m())
            .fold(f64::NEG_INFINITY, f64::max);
        if !highest_m.is_finite() {
            let message = format!("how high water stands in {} is not shown", other.tag);
            let key = format!("tanks.{}.overflow.level", other.tag);
            found.push(rule.asks(input, &tank.tag, &message, &[&key]));
            continue;
        }
        let drop_m = overflow.level.to_m() - highest_m;
        let higher = drop_m < 0.0;
        let message = format!(
            "overflows into {}, whose water stands {} this overflow",
            other.tag,
            say::apart(units, -drop_m),
        );
        let outcome = if higher { Outcome::Caution } else { Outcome::Pass };
        let mut finding = rule.at(input, &tank.tag, outcome, message);
        if higher {
            finding.mend = raise(input, index, -drop_m);
        }
        found.push(finding.with(metres(drop_m), metres(0.0)));
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no tank overflows into another");
    }
    found
}

/// This overflow raised above the water it runs into, where its inlet leaves an air gap and where
/// nothing fails with it that did not fail before.
fn raise(input: &Judged<'_>, index: usize, by_m: f64) -> Option<String> {
    let units = input.facts.units;
    let tank = &input.network.tanks()[index];
    let overflow = tank.overflow.as_ref()?;
    let text = say::level_up(units, overflow.level.to_m() + by_m);
    let level = units.read_level(&text).ok()?;
    let (largest, open) = super::largest_inlet_m(input, TankId::new(index));
    let gap_m = largest.filter(|_| !open)? * super::inlet_air_gap::RULE.limit_si(input);
    if level.to_m() > tank.inlet.to_m() - gap_m {
        return None;
    }
    let mended = super::proof::sound(input, |parts| {
        if let Some(overflow) = &mut parts.tanks[index].overflow {
            overflow.level = level;
        }
    })?;
    let next = overflow.to?;
    let drowned = mended.steady.tanks[next.index()].water_level.is_some_and(|water| water > level);
    (!drowned).then(|| format!("raise the overflow of {} to {text}", tank.tag))
}
