//! Low roof: a roof that stands lower than its neighbours on the line is proven.

use super::prelude::*;
use std::collections::BTreeMap;
use wetrun_network::{DownspoutId, End, PlaceId};
use wetrun_verdict::Cause;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "low-roof",
    section: Section::Levels,
    checks: "A downspout that opens lower than others on the same line is shown to hold in the \
             design storm.",
    why: "High roofs can push their water out of a low gutter on the same line: the lowest \
          opening governs for all.",
    limit: Some(Amount::Number(1.0)),
    threshold: "the least ratio of the rain at which it spills to the design storm",
    source: Source { text: "the solved network", confidence: Confidence::Reasoned },
    keys: "downspouts.*.outlet, downspouts.*.leaf_head",
    mend: "give the low roof a line of its own, or enlarge the line from where it joins",
    judge,
};

/// An opening this much lower than the highest on its line counts as low.
const LOW_BY_M: f64 = 0.15;

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let groups = input.network.groups();
    let downspouts = input.network.downspouts();
    let group = |index: usize| groups.of(input.network, End::Downspout(DownspoutId::new(index)));
    let mut highest_m: BTreeMap<PlaceId, f64> = BTreeMap::new();
    for (index, downspout) in downspouts.iter().enumerate() {
        let highest = highest_m.entry(group(index)).or_insert(f64::NEG_INFINITY);
        *highest = highest.max(downspout.opening().to_m());
    }
    let mut found = Vec::new();
    for (index, downspout) in downspouts.iter().enumerate() {
        let lower_m = highest_m[&group(index)] - downspout.opening().to_m();
        if lower_m < LOW_BY_M {
            continue;
        }
        let state = &input.steady.downspouts[index];
        let design = input.scenario.intensity.to_m_per_s();
        let place =
            format!("opens {} lower than the highest on its line", say::height(units, lower_m));
        let limit = rule.limit_si(input);
        let finding = match input.spill_rains.downspouts.get(index) {
            Some(Some(rain)) if design > 0.0 => {
                let ratio = rain.to_m_per_s() / design;
                let message = format!("{place}; it spills at {}", units.show_intensity(*rain));
                rule.at(input, &downspout.tag, pass_if(ratio >= limit), message)
                    .with(Amount::Number(ratio), Amount::Number(limit))
            }
            _ => {
                let holds = !super::fails(input, index, Cause::Spill);
                let headroom_m = state.headroom.to_m();
                let message =
                    format!("{place}; in the storm it has {}", say::height(units, headroom_m));
                rule.at(input, &downspout.tag, pass_if(holds), message)
                    .with(Amount::Length(state.headroom), metres(0.0))
            }
        };
        // A mend is solved at the freeboard; a line of its own is another drawing.
        found.push(Finding { mend: None, ..finding });
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no roof opens lower than the others on its line");
    }
    found
}
