//! Construction tolerance: the margin is still there when levels come out as far off as allowed.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "construction-tolerance",
    section: Section::Levels,
    checks: "The headroom less the tolerances of the opening and of the inlet still keeps a \
             margin.",
    why: "A pad poured high and a gutter hung low come straight off the head; pipe inverts do \
          not, as long as there is no hump.",
    limit: Some(Amount::Length(Length::ZERO)),
    threshold: "the least headroom left after both tolerances are taken off",
    source: Source {
        text: "tolerances of the site file deducted from the margin",
        confidence: Confidence::Reasoned,
    },
    keys: "tolerances: { opening, inlet }",
    mend: "set the opening or the inlet closer, or find more head",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let tolerances = input.facts.tolerances.unwrap_or_default();
    let (Some(opening), Some(inlet)) = (tolerances.opening, tolerances.inlet) else {
        let message = "the tolerances of openings and inlets are not shown";
        let keys = ["tolerances.opening", "tolerances.inlet"];
        return vec![rule.asks(input, "site", message, &keys)];
    };
    let limit_m = rule.limit_si(input);
    let off_m = opening.to_m() + inlet.to_m();
    let each = input.network.downspouts().iter().zip(&input.steady.downspouts);
    each.map(|(downspout, state)| {
        let left_m = state.headroom.to_m() - off_m;
        let message = format!(
            "headroom {} less {} of tolerance leaves {}",
            say::height(units, state.headroom.to_m()),
            say::height(units, off_m),
            say::height(units, left_m),
        );
        let holds = left_m >= limit_m - LEVEL_TOLERANCE_M;
        let mut finding = rule.at(input, &downspout.tag, pass_if(holds), message);
        if !holds {
            let short = say::height_up(units, limit_m - left_m);
            finding = finding.mended(format!("find {short} more head, or set levels closer"));
        }
        finding.with(metres(left_m), metres(limit_m))
    })
    .collect()
}
