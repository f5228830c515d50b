//! Self-venting: air can leave a downspout against the water that falls in it.

use super::prelude::*;
use wetrun_solver::laws::{air, head_loss};
use wetrun_units::Flow;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "self-venting",
    section: Section::Air,
    checks: "The storm runs slowly enough in each downspout that air rises out against it.",
    why: "Faster water carries air down into the full line, where it gathers, surges back up \
          and takes head.",
    limit: Some(Amount::Number(0.31)),
    threshold: "the highest Froude number V/sqrt(g D) in the full downspout",
    source: Source {
        text: "self-venting flow, Froude number 0.31",
        confidence: Confidence::Recalled,
    },
    keys: "downspouts.*.pipe, downspouts.*.leaf_head, points.*.vent",
    mend: "a larger downspout, or a vent where it turns into the line",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit = rule.limit_si(input);
    let each = input.network.downspouts().iter().zip(&input.steady.downspouts).enumerate();
    each.map(|(index, (downspout, state))| {
        // Where water comes up, none falls against the air.
        let flow = if state.admitted > Flow::ZERO { state.admitted } else { Flow::ZERO };
        let froude =
            air::froude(head_loss::full_speed(flow, downspout.pipe.inside), downspout.pipe.inside);
        let outcome = if froude <= limit { Outcome::Pass } else { Outcome::Caution };
        let message = format!(
            "{} in it, Froude number {froude:.2}{}",
            units.show_flow(flow),
            if froude <= limit { "" } else { ": it takes air down with it" },
        );
        let mut finding = rule.at(input, &downspout.tag, outcome, message);
        if outcome == Outcome::Caution {
            // A downspout that spills takes more where it is larger: all of its demand at the most.
            let most = if state.demand > flow { state.demand } else { flow };
            let speed = head_loss::full_speed(most, downspout.pipe.inside);
            let most = air::froude(speed, downspout.pipe.inside);
            let bore_m = downspout.pipe.inside.to_m() * libm::pow(most / limit, 0.4);
            finding.mend = super::larger_downspout(input, index, bore_m);
        }
        finding.with(Amount::Number(froude), Amount::Number(limit))
    })
    .collect()
}
