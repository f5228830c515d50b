//! Freeboard: in the design storm water stands far enough below every opening.

use crate::finding::{Amount, Finding, Outcome};
use crate::{Judged, say};

/// Levels closer than this count as equal.
const TOLERANCE_M: f64 = 1e-9;

pub(crate) fn judge(input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let target = input.facts.freeboard;
    let each = input.network.downspouts().iter().zip(&input.steady.downspouts);
    each.map(|(downspout, state)| {
        let holds = state.headroom.to_m() >= target.to_m() - TOLERANCE_M;
        let opening = if downspout.leaf_head.is_some() { "leaf head" } else { "gutter outlet" };
        let (distance, side) = if state.headroom.to_m() < 0.0 {
            (state.headroom * -1.0, "above")
        } else {
            (state.headroom, "below")
        };
        Finding {
            rule: "freeboard",
            outcome: if holds { Outcome::Pass } else { Outcome::Fail },
            at: downspout.tag.clone(),
            value: Some(Amount::Length(state.headroom)),
            limit: Some(Amount::Length(target)),
            message: format!(
                "water stands {} {side} the {opening}; {} below it is asked for",
                say::small(units, distance),
                say::small(units, target),
            ),
            basis: "target freeboard of the site (common practice where the file gives none)"
                .to_owned(),
            mend: None,
        }
    })
    .collect()
}
