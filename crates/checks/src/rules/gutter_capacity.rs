//! Gutter capacity: the gutter carries its roof to the outlet, by shape, length and slope.

use super::prelude::*;
use crate::law;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "gutter-capacity",
    section: Section::Capacity,
    checks: "The gutter, by its shape, slope and length, carries the demand of the downspout it \
             runs to.",
    why: "Gutter, outlet, downspout and line are links of one chain; the weakest spills.",
    limit: None,
    threshold: "the demand of the downspout",
    source: Source {
        text: "EN 12056-3, eaves gutters (from a transcription)",
        confidence: Confidence::Read,
    },
    keys: "gutters, downspouts.*.gutter",
    mend: "a larger gutter, a steeper one, or one more outlet",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let each = input.network.downspouts().iter().enumerate();
    each.map(|(index, downspout)| {
        let Some((gutter, capacity)) = law::gutter_of(input.facts, index) else {
            return rule.not_shown(input, &downspout.tag, "its gutter is not shown");
        };
        let demand = input.steady.downspouts[index].demand;
        let message = format!(
            "gutter {} carries {}; demand {}",
            gutter.name,
            units.show_flow(capacity),
            units.show_flow(demand),
        );
        let holds = capacity.to_m3_per_s() >= demand.to_m3_per_s();
        rule.at(input, &downspout.tag, pass_if(holds), message)
            .with(Amount::Flow(capacity), Amount::Flow(demand))
    })
    .collect()
}
