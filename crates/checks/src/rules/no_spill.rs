//! No spill: every downspout takes all the water that its roofs bring in the design storm.

use crate::finding::{Amount, Finding, Outcome};
use crate::{Judged, say};
use wetrun_units::Flow;

/// Spill smaller than this fraction of the total demand is the solver's rounding.
const ROUNDING: f64 = 1e-8;

pub(crate) fn judge(input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let total: f64 = input.steady.downspouts.iter().map(|d| d.demand.to_m3_per_s()).sum();
    let each = input.network.downspouts().iter().zip(&input.steady.downspouts);
    each.map(|(downspout, state)| {
        let spills = state.spilled.to_m3_per_s() > total * ROUNDING;
        let message = if !spills {
            format!("takes all of its {}", say::flow(units, state.demand))
        } else if state.admitted.to_m3_per_s() < 0.0 {
            format!(
                "spills {}: its own {} and {} that comes up from the line",
                say::flow(units, state.spilled),
                say::flow(units, state.demand),
                say::flow(units, state.admitted * -1.0),
            )
        } else {
            format!(
                "spills {} of its {}",
                say::flow(units, state.spilled),
                say::flow(units, state.demand),
            )
        };
        Finding {
            rule: "no-spill",
            outcome: if spills { Outcome::Fail } else { Outcome::Pass },
            at: downspout.tag.clone(),
            value: Some(Amount::Flow(state.spilled)),
            limit: Some(Amount::Flow(Flow::ZERO)),
            message,
            basis: "the storm of the site file".to_owned(),
            mend: None,
        }
    })
    .collect()
}
