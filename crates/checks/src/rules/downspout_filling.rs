//! Downspout filling: above the standing level a downspout runs part full and takes its demand.

use super::prelude::*;
use wetrun_solver::laws::downspout::en_capacity;
use wetrun_units::Fraction;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "downspout-filling",
    section: Section::Capacity,
    checks: "Above the standing level the downspout takes its demand while it is no fuller than \
             the usual filling degree.",
    why: "Fuller than a third, water and air in a vertical pipe begin to act together: it \
          gurgles, sucks, and surges.",
    limit: Some(Amount::Fraction(Fraction::ratio(0.33))),
    threshold: "the largest part of the bore that water may fill",
    source: Source {
        text: "EN 12056-3, vertical rainwater pipes, filling degree 0.33 (from a transcription)",
        confidence: Confidence::Read,
    },
    keys: "downspouts.*.pipe",
    mend: "a larger downspout, or one more",
    judge,
};

/// Wall of a downspout in service, by the same standard.
const ROUGHNESS: Length = Length::m(0.000_25);

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let filling = rule.limit_si(input);
    let each = input.network.downspouts().iter().zip(&input.steady.downspouts).enumerate();
    each.map(|(index, (downspout, state))| {
        let capacity = en_capacity(downspout.pipe.inside, ROUGHNESS, Fraction::ratio(filling));
        let message = format!(
            "{} full it takes {}; demand {}",
            units.show_fraction(Fraction::ratio(filling)),
            units.show_flow(capacity),
            units.show_flow(state.demand),
        );
        let holds = capacity.to_m3_per_s() >= state.demand.to_m3_per_s();
        let mut finding = rule.at(input, &downspout.tag, pass_if(holds), message);
        if !holds {
            let bore_m = downspout.pipe.inside.to_m()
                * libm::pow(state.demand.to_m3_per_s() / capacity.to_m3_per_s(), 1.0 / 2.667);
            finding.mend = super::larger_downspout(input, index, bore_m);
        }
        finding.with(Amount::Flow(capacity), Amount::Flow(state.demand))
    })
    .collect()
}
