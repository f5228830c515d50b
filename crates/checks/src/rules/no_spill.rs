//! No spill: every downspout takes all the water that its roofs bring in the design storm.

use super::prelude::*;
use wetrun_units::Flow;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "no-spill",
    section: Section::Levels,
    checks: "In the design storm every downspout takes all the water its roofs bring, and none \
             comes out of it.",
    why: "A low gutter on a shared line spills first, and it spills its neighbours' water too.",
    limit: None,
    threshold: "nothing spills",
    source: Source { text: "the design storm of the site file", confidence: Confidence::Reasoned },
    keys: "storm, downspouts.*.lip, downspouts.*.leaf_head",
    mend: "mend the freeboard here; a low roof can have a line of its own",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let show = |flow: Flow| units.show_flow(flow).to_string();
    let each = input.network.downspouts().iter().zip(&input.steady.downspouts);
    each.zip(&input.verdict.margins).map(|((downspout, state), margin)| {
        let spills = margin.spills;
        let message = if !spills {
            format!("takes all of its {}", show(state.demand))
        } else if state.admitted.to_m3_per_s() < 0.0 {
            format!(
                "spills {}: its own {} and {} that comes up from the line",
                show(state.spilled),
                show(state.demand),
                show(state.admitted * -1.0),
            )
        } else {
            format!("spills {} of its {}", show(state.spilled), show(state.demand))
        };
        rule.at(input, &downspout.tag, pass_if(!spills), message)
            .with(Amount::Flow(state.spilled), Amount::Flow(Flow::ZERO))
    })
    .collect()
}
