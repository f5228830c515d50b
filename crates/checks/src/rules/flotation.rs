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
                let message = "whether it is buried is not shown";
                found.push(rule.asks(input, &tank.tag, message, &["tanks.{}.buried"]));
                continue;
            }
            Some(false) => continue,
            Some(true) => {}
        }
        let Some(water) = input.facts.ground.water_level else {
            let message = "the ground-water level is not shown";
            found.push(rule.asks(input, &tank.tag, message, &["ground.water_level"]));
            continue;
        };
        let hold = facts.hold_down.unwrap_or_default();
        let Some(result) = law::flotation(tank, &hold, water, input.scenario.temperature) else {
            let message = "its outside volume, weight, plan area, cover or floor is not shown";
            let keys = ["outside", "weight", "plan", "cover"];
            let keys = keys.map(|key| format!("tanks.{}.hold_down.{key}", tank.tag));
            let finding = rule.not_shown(input, &tank.tag, message);
            found.push(Finding { missing: keys.to_vec(), ..finding });
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
        if !holds {
            let short = Force::n(limit * result.uplift.to_n() - result.hold_down.to_n());
            let anchors = format!("anchors for {}", say::force_up(units, short));
            let cover = result.cover_for(limit).map(|cover| say::height_up(units, cover.to_m()));
            // A deeper cover raises the top of the tank's own ground; it is held against that.
            let cover = cover.filter(|text| {
                let Ok(cover) = units.read_level(text) else { return false };
                let deeper = wetrun_facts::HoldDown { cover: Some(cover), ..hold };
                law::flotation(tank, &deeper, water, input.scenario.temperature)
                    .is_some_and(|after| after.factor.is_none_or(|factor| factor >= limit))
            });
            finding = finding.mended(match cover {
                Some(cover) => format!("a cover of {cover}, or {anchors}"),
                None => anchors,
            });
        }
        found.push(finding.with(Amount::Number(factor), Amount::Number(limit)));
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no tank is buried");
    }
    found
}
