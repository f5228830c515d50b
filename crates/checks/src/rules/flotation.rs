//! Flotation: an empty buried tank stays down when the ground water is high.

use super::prelude::*;
use crate::law;
use wetrun_solver::laws::Force;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "flotation",
    section: Section::Tank,
    checks: "The weight of a buried tank when empty, and of the soil above it under water, holds \
             it down against the ground water.",
    why: "An empty tank in wet ground is a boat; it lifts, and tears its pipes off.",
    limit: Some(Amount::Number(1.2)),
    threshold: "the least factor of safety: hold-down over uplift",
    source: Source {
        text: "county permit calculations for buried tanks: 1.2, elsewhere 1.5",
        confidence: Confidence::Read,
    },
    keys: "tanks.*.buried, tanks.*.hold_down: { outside, weight, plan, cover }, ground.water_level",
    mend: "more cover, a slab or anchors, or a rule never to empty it in wet ground",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit = rule.limit_si(input);
    let mut found = Vec::new();
    for (index, tank) in input.network.tanks().iter().enumerate() {
        let facts = input.facts.tank(index);
        match facts.buried {
            None => {
                found.push(rule.not_shown(input, &tank.tag, "whether it is buried is not shown"));
                continue;
            }
            Some(false) => continue,
            Some(true) => {}
        }
        let Some(water) = input.facts.ground.water_level else {
            found.push(rule.not_shown(input, &tank.tag, "the ground-water level is not shown"));
            continue;
        };
        let hold = facts.hold_down.unwrap_or_default();
        let Some(result) = law::flotation(tank, &hold, water, input.scenario.temperature) else {
            let message = "its outside volume, weight, plan area, cover or floor is not shown";
            found.push(rule.not_shown(input, &tank.tag, message));
            continue;
        };
        let Some(factor) = result.factor else {
            let message = format!(
                "the ground water at {} does not reach it",
                say::level(units, water.to_m())
            );
            found.push(rule.at(input, &tank.tag, Outcome::Pass, message));
            continue;
        };
        let message = format!(
            "empty, with ground water at {}: hold-down {}, uplift {}",
            say::level(units, water.to_m()),
            say::force(units, result.hold_down),
            say::force(units, result.uplift),
        );
        let holds = factor >= limit;
        let mut finding = rule.at(input, &tank.tag, pass_if(holds), message);
        if !holds && let Some(cover) = result.cover_for(limit) {
            finding = finding.mended(format!(
                "a cover of {}, or anchors for {}, or never empty it in wet ground",
                say::height(units, cover.to_m()),
                say::force(units, Force::n(limit * result.uplift.to_n() - result.hold_down.to_n())),
            ));
        }
        found.push(finding.with(Amount::Number(factor), Amount::Number(limit)));
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no tank is buried");
    }
    found
}
