//! Screen blocked: with part of its screen blocked an outlet still takes the storm.

use super::prelude::*;
use crate::law;
use wetrun_units::{Flow, Fraction};

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "screen-blocked",
    section: Section::Capacity,
    checks: "With half of the free area of its leaf screen blocked, the outlet still takes the \
             demand.",
    why: "Leaves come with the first hard rain of autumn; a screen halves what an outlet takes \
          in common design practice.",
    limit: Some(Amount::Fraction(Fraction::ratio(0.5))),
    threshold: "the part of the screen's free area that is still open",
    source: Source {
        text: "design practice for leaf guards: half the outlet's capacity",
        confidence: Confidence::Recalled,
    },
    keys: "downspouts.*.screen.open, and what gutter-outlet reads",
    mend: "a larger screen or outlet, or accept a chosen place of spill in writing",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let each = input.network.downspouts().iter().enumerate();
    each.map(|(index, downspout)| {
        let open = input.facts.downspout(index).screen.and_then(|s| s.open);
        let Some(open) = open else {
            let message = "no screen, or not how much of it is open, is shown";
            return rule.asks(input, &downspout.tag, message, &["downspouts.{}.screen.open"]);
        };
        let Some(capacity) = law::outlet_capacity(input.network, input.steady, input.facts, index) else {
            let message = "neither a gutter nor a lip above the outlet is shown";
            return rule.asks(input, &downspout.tag, message, &["downspouts.{}.gutter"]);
        };
        let left = rule.limit_si(input) * open.to_ratio();
        let takes = capacity.bare * left;
        let demand: Flow = input.steady.downspouts[index].demand;
        let mut message = format!(
            "with {} of the opening free it takes {}; demand {}",
            units.show_fraction(Fraction::ratio(left)),
            units.show_flow(takes),
            units.show_flow(demand),
        );
        let holds = takes.to_m3_per_s() >= demand.to_m3_per_s();
        // What is taken as usual lets nothing pass.
        let unknown = super::gutter_outlet::missing(input, index);
        let (outcome, missing) = match holds && !unknown.is_empty() {
            true => {
                let what = say::list(unknown.iter().map(|(what, _)| *what));
                message.push_str(&format!("; not shown: {what}"));
                (Outcome::NotShown, unknown.into_iter().map(|(_, key)| key).collect())
            }
            false => (pass_if(holds), Vec::new()),
        };
        let finding = rule.at(input, &downspout.tag, outcome, message);
        Finding { missing, ..finding }.with(Amount::Flow(takes), Amount::Flow(demand))
    })
    .collect()
}
