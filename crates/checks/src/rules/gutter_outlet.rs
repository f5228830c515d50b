//! Gutter outlet: the hole in the gutter floor takes its share, free or drowned.

use super::prelude::*;
use crate::law;
use wetrun_units::Flow;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "gutter-outlet",
    section: Section::Capacity,
    checks: "The outlet in the gutter floor, as a weir and as an orifice, takes the demand of its \
             downspout; where the standing level reaches it, with the head that is left.",
    why: "A line that could carry the storm does not help when the water cannot get into it. An \
          outlet under water has only the depth above the standing level to work with.",
    limit: None,
    threshold: "the demand of the downspout",
    source: Source {
        text: "EN 12056-3, outlets of gutters: weir and orifice (from a transcription)",
        confidence: Confidence::Read,
    },
    keys: "downspouts.*.outlet_size, lip, gutter; gutters",
    mend: "enlarge the outlet, deepen the gutter, or lower the standing level",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let each = input.network.downspouts().iter().enumerate();
    each.map(|(index, downspout)| {
        let Some(capacity) = law::outlet_capacity(input.network, input.steady, input.facts, index) else {
            let message = "neither a gutter nor a lip above the outlet is shown";
            return rule.not_shown(input, &downspout.tag, message);
        };
        let demand = input.steady.downspouts[index].demand;
        let message = format!(
            "takes {}{}; demand {}",
            units.show_flow(capacity.free),
            if capacity.drowned { " where no water stands over it, as here it does" } else { "" },
            units.show_flow(demand),
        );
        let holds = capacity.free.to_m3_per_s() >= demand.to_m3_per_s();
        let outcome = match law::gutter_of(input.facts, index) {
            _ if holds => Outcome::Pass,
            Some(_) => Outcome::Fail,
            // Without a gutter the depth over the outlet is a guess.
            None => Outcome::Caution,
        };
        let mut finding = rule.at(input, &downspout.tag, outcome, message);
        if !holds && let Some(bore) = capacity.bore_for(demand) {
            finding = finding.mended(format!(
                "at the same depth of water an outlet of {} takes it",
                units.show_size(bore)
            ));
        }
        finding
            .with(Amount::Flow(capacity.free), Amount::Flow(Flow::m3_per_s(demand.to_m3_per_s())))
    })
    .collect()
}
