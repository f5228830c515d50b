//! Gutter outlet: the hole in the gutter floor takes its share, free or drowned.

use super::prelude::*;
use crate::law;
use wetrun_verdict::Cause;
use wetrun_units::Flow;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "gutter-outlet",
    section: Section::Capacity,
    checks: "The outlet in the gutter floor, as a weir and as an orifice and through what its \
             screen leaves open, takes the demand of its downspout.",
    why: "A line that could carry the storm does not help when the water cannot get into it. An \
          outlet under water has only the depth above the standing level to work with.",
    limit: None,
    threshold: "the demand of the downspout",
    source: Source {
        text: "EN 12056-3, outlets of gutters: weir and orifice (from a transcription)",
        confidence: Confidence::Read,
    },
    keys: "downspouts.*.outlet_size, lip, gutter, screen.open; gutters",
    mend: "enlarge the outlet, deepen the gutter, or lower the standing level",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let each = input.network.downspouts().iter().enumerate();
    each.map(|(index, downspout)| {
        let Some(capacity) = law::outlet_capacity(input.network, input.steady, input.facts, index) else {
            let message = "neither a gutter nor a lip above the outlet is shown";
            return rule.asks(input, &downspout.tag, message, &["downspouts.{}.gutter"]);
        };
        let demand = input.steady.downspouts[index].demand;
        let message = format!(
            "takes {}{}; demand {}",
            units.show_flow(capacity.free),
            match (capacity.screened, capacity.drowned) {
                (false, false) => "",
                (true, false) => " through its screen",
                (false, true) => " where no water stands over it, as here it does",
                (true, true) => " through its screen where no water stands over it, as here it does",
            },
            units.show_flow(demand),
        );
        let takes = capacity.free.to_m3_per_s() >= demand.to_m3_per_s();
        let missing = missing(input, index);
        let outcome = match law::gutter_of(input.facts, index) {
            Some(_) if super::fails(input, index, Cause::Outlet) => Outcome::Fail,
            // Without a gutter the depth over the outlet is a guess.
            None if !takes => Outcome::Caution,
            _ if !missing.is_empty() => Outcome::NotShown,
            _ => Outcome::Pass,
        };
        let mut finding = rule.at(input, &downspout.tag, outcome, message);
        if outcome == Outcome::NotShown {
            let what = missing.iter().map(|(what, _)| *what);
            finding.message.push_str(&format!("; not shown: {}", say::list(what)));
            finding.missing = missing.into_iter().map(|(_, key)| key).collect();
        }
        if !takes {
            finding.mend = mend(input, index, &capacity, demand);
        }
        finding
            .with(Amount::Flow(capacity.free), Amount::Flow(Flow::m3_per_s(demand.to_m3_per_s())))
    })
    .collect()
}

/// A larger hole where the gutter has room for one, else more of them.
fn mend(input: &Judged<'_>, index: usize, outlet: &law::Outlet, demand: Flow) -> Option<String> {
    let units = input.facts.units;
    let room = law::gutter_of(input.facts, index).map(|(gutter, _)| law::sole(gutter));
    let bore = outlet.bore_for(demand).filter(|bore| room.is_none_or(|room| *bore <= room));
    if let Some(bore) = bore {
        let bore = say::size_up(units, bore.to_m());
        return Some(format!("at the same depth of water an outlet of {bore} takes it"));
    }
    let times = demand.to_m3_per_s() / outlet.free.to_m3_per_s();
    let holes = times.ceil();
    (holes <= 10.0).then(|| format!("{holes:.0} outlets of this size, each with its downspout"))
}

/// What would have to be shown for the outlet to be known, each with its key.
pub(super) fn missing(input: &Judged<'_>, index: usize) -> Vec<(&'static str, String)> {
    let shown = input.facts.downspout(index);
    let tag = &input.network.downspouts()[index].tag;
    let mut missing = Vec::new();
    if law::gutter_of(input.facts, index).is_none() {
        missing.push(("its gutter", format!("downspouts.{tag}.gutter")));
    }
    if shown.outlet_size.is_none() {
        missing.push(("the bore of the hole", format!("downspouts.{tag}.outlet_size")));
    }
    if shown.screen.is_none_or(|screen| screen.open.is_none()) {
        let key = format!("downspouts.{tag}.screen.open");
        missing.push(("what its screen leaves open", key));
    }
    if let Some((gutter, _)) = law::gutter_of(input.facts, index)
        && !shown.lip_given
        && gutter.assumed.contains(&"depth")
    {
        missing.push(("the gutter's depth", format!("gutters.{}.depth", gutter.name)));
    }
    missing
}
