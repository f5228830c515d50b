//! Inlet below openings: every opening stands above the level that water rests at.

use super::prelude::*;
use wetrun_network::DownspoutId;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "inlet-below-openings",
    section: Section::Levels,
    checks: "The level at which the riser spills, and any high invert on the way to it, is below \
             the opening of each downspout.",
    why: "Between storms water stands in every downspout up to the spill level of the riser. \
          An opening below that level lets the line run out there, rain or no rain.",
    limit: Some(Amount::Length(Length::ZERO)),
    threshold: "the least height of the opening above the rest level; the storm needs more, \
                which freeboard judges",
    source: Source {
        text: "trade guides: the tank inlet stands below the lowest gutter",
        confidence: Confidence::Read,
    },
    keys: "downspouts.*.outlet and leaf_head, tanks.*.inlet and overflow.level, lines.*.profile",
    mend: "lower the inlet, or raise the opening",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m = rule.limit_si(input);
    let each = input.network.downspouts().iter().enumerate();
    each.map(|(index, downspout)| {
        // A downspout that stands dry is empty down to its foot.
        let rest = input.steady.rest.downspout(DownspoutId::new(index));
        let rest_m = rest.unwrap_or(downspout.foot).to_m();
        let above_m = downspout.opening().to_m() - rest_m;
        let holds =
            if limit_m > 0.0 { above_m >= limit_m - LEVEL_TOLERANCE_M } else { above_m > 0.0 };
        let message = format!(
            "{} {} the rest level {}",
            if downspout.leaf_head.is_some() { "leaf head" } else { "outlet" },
            say::apart(units, above_m),
            say::level(units, rest_m),
        );
        let finding = rule.at(input, &downspout.tag, pass_if(holds), message);
        // An opening that the water at rest reaches holds it down: it rises with the opening.
        let mend = (!holds).then(|| {
            let more_m = if limit_m > 0.0 { 0.0 } else { 10.0 * LEVEL_TOLERANCE_M };
            let rest_m = super::opening::rest_without_m(input, index)?;
            super::opening::raise(rule, input, index, rest_m + limit_m + more_m)
        });
        let finding = Finding { mend: mend.flatten(), ..finding };
        finding.with(metres(above_m), metres(limit_m))
    })
    .collect()
}
