//! Tank rim: in the design storm no water runs over the wall of a tank.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "tank-rim",
    section: Section::Tank,
    checks: "In the design storm the water in a tank stays below the top of its wall.",
    why: "What the overflow cannot pass in time runs over the wall, onto the tank's own footing.",
    limit: None,
    threshold: "the top of the wall",
    source: Source { text: "the solved network", confidence: Confidence::Reasoned },
    keys: "tanks.*.rim, tanks.*.overflow",
    mend: "a larger overflow, or a second one",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let each = input.network.tanks().iter().zip(&input.steady.tanks).zip(&input.verdict.tanks);
    each.map(|((tank, state), room)| {
        let Some(rim) = tank.rim else {
            let message = "the top of its wall is not shown";
            return rule.asks(input, &tank.tag, message, &["tanks.{}.rim"]);
        };
        let Some(water) = state.water_level else {
            let message = "it stands empty in this storm".to_owned();
            return rule.at(input, &tank.tag, Outcome::NotApplicable, message);
        };
        let message = if room.leaves {
            format!(
                "{} runs over its wall at {}",
                units.show_flow(state.over_rim),
                say::level(units, rim.to_m()),
            )
        } else {
            let below_m = rim.to_m() - water.to_m();
            format!("water stands {} the top of its wall", say::apart(units, -below_m))
        };
        rule.at(input, &tank.tag, pass_if(!room.leaves), message)
            .with(Amount::Length(water), Amount::Length(rim))
    })
    .collect()
}
