//! Gutter capacity: the gutter carries its roof to the outlet, by shape, length and slope.

use super::prelude::*;
use crate::law;
use wetrun_verdict::Cause;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "gutter-capacity",
    section: Section::Capacity,
    checks: "The gutter, by its shape, slope and the length that runs to one outlet, carries the demand of the downspout it \
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
            let message = "its gutter is not shown";
            return rule.asks(input, &downspout.tag, message, &["downspouts.{}.gutter"]);
        };
        let demand = input.steady.downspouts[index].demand;
        let message = format!(
            "gutter {} carries {}; demand {}",
            gutter.name,
            units.show_flow(capacity),
            units.show_flow(demand),
        );
        let outcome = match super::fails(input, index, Cause::Gutter) {
            true => Outcome::Fail,
            false if !gutter.assumed.is_empty() => Outcome::NotShown,
            false => Outcome::Pass,
        };
        let mut finding = rule.at(input, &downspout.tag, outcome, message);
        if outcome == Outcome::NotShown {
            let assumed = say::list(gutter.assumed.iter().copied());
            finding.message.push_str(&format!("; its {assumed} not shown, only assumed"));
            let key = |name: &&str| format!("gutters.{}.{name}", gutter.name);
            finding.missing = gutter.assumed.iter().map(key).collect();
        }
        finding.with(Amount::Flow(capacity), Amount::Flow(demand))
    })
    .collect()
}
