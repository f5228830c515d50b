//! Overflow discharge: the overflow runs out away from the building.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "overflow-discharge",
    section: Section::Tank,
    checks: "An overflow to the ground runs out far enough from the foundation.",
    why: "A full tank in a storm puts the whole roof's water out at one place; beside a \
          footing, or on a neighbour, that does harm.",
    limit: Some(Amount::Length(Length::m(3.048))),
    threshold: "the least distance from the building",
    source: Source { text: "an extension service's guide: 10 ft", confidence: Confidence::Read },
    keys: "tanks.*.overflow_distance",
    mend: "lead the overflow further away",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m = rule.limit_si(input);
    let mut found = Vec::new();
    for (index, tank) in input.network.tanks().iter().enumerate() {
        if tank.overflow.as_ref().is_none_or(|o| o.to.is_some()) {
            continue;
        }
        let Some(distance) = input.facts.tank(index).discharge else {
            let message = "how far from the building its overflow runs out is not shown";
            found.push(rule.asks(input, &tank.tag, message, &["tanks.{}.overflow_distance"]));
            continue;
        };
        let message =
            format!("its overflow runs out {} from the building", units.show_length(distance));
        let holds = distance.to_m() >= limit_m - LEVEL_TOLERANCE_M;
        found.push(
            rule.at(input, &tank.tag, pass_if(holds), message)
                .with(Amount::Length(distance), metres(limit_m)),
        );
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no overflow runs out to the ground");
    }
    found
}
