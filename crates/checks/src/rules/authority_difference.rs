//! Authority difference: a fixed difference of levels is kept where the authority asks for one.

use super::prelude::*;
use crate::groups;
use wetrun_network::{DownspoutId, End};

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "authority-difference",
    section: Section::Levels,
    checks: "The least difference between opening and inlet that the local authority asks for, \
             if it does, is kept at every downspout.",
    why: "Some authorities allow a full line only with a fixed fall from gutter to outlet. Such \
          a number stands beside the calculation, it does not replace it.",
    limit: None,
    threshold: "the difference in documents.authority_difference; 0 where none is asked for",
    source: Source {
        text: "local authority, as the site file states",
        confidence: Confidence::Recalled,
    },
    keys: "documents.authority_difference",
    mend: "lower the inlet or raise the opening, or ask the authority for its reading",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let Some(asked) = input.facts.documents.authority_difference else {
        let message = "whether the authority asks for a least difference is not shown";
        let key = "documents.authority_difference";
        return vec![rule.asks(input, "site", message, &[key])];
    };
    if asked.to_m() <= 0.0 {
        return rule.not_applicable(input, "the authority asks for no least difference");
    }
    let groups = input.network.groups();
    let inlet_m = groups::highest_inlets_m(input.network, &groups);
    let each = input.network.downspouts().iter().enumerate();
    each.map(|(index, downspout)| {
        let group = groups.of(input.network, End::Downspout(DownspoutId::new(index)));
        let inlet_m = inlet_m.get(&group).copied().unwrap_or(f64::NEG_INFINITY);
        let above_m = downspout.opening().to_m() - inlet_m;
        let (has, needs) = say::heights(units, above_m, asked.to_m());
        let message = format!("the opening is {has} above the highest inlet; {needs} is asked for");
        let holds = above_m >= asked.to_m() - LEVEL_TOLERANCE_M;
        let mut finding = rule.at(input, &downspout.tag, pass_if(holds), message);
        if !holds {
            let to_m = downspout.opening().to_m() + asked.to_m() - above_m;
            finding.mend = super::opening::raise(rule, input, index, to_m);
        }
        finding.with(metres(above_m), Amount::Length(asked))
    })
    .collect()
}
