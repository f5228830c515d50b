//! Low-point drain: every low place between higher ones has a drain.

use super::prelude::*;
use crate::terrain::{Spot, Terrain};
use wetrun_network::End;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "low-point-drain",
    section: Section::Air,
    checks: "Every low place of the lines has a drain.",
    why: "Silt gathers in the low place and it cannot be emptied before frost; a wet line \
          without a drain is an incomplete design.",
    limit: Some(Amount::Length(Length::m(0.02))),
    threshold: "the depth of a sag that is still within laying tolerance",
    source: Source {
        text: "open courseware on rainwater conveyance: wet conveyance must include a drain point",
        confidence: Confidence::Read,
    },
    keys: "points.*.drain, points.*.level, lines.*.profile",
    mend: "lay the line to fall to a point with a drain",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m = rule.limit_si(input);
    let mut found = Vec::new();
    for sag in Terrain::new(input.network).sags() {
        if sag.height_m <= limit_m + LEVEL_TOLERANCE_M {
            continue;
        }
        let tag = super::spot_tag(input, &sag.spots);
        let drained = sag.spots.iter().any(|spot| match spot {
            Spot::Node(End::Point(id)) => input.network.point(*id).drain.is_some(),
            _ => false,
        });
        let place = format!(
            "low place {} at {}",
            super::spot_words(input, &sag.spots),
            say::level(units, sag.level_m),
        );
        let message =
            format!("{place}{}", if drained { ", drained" } else { "; nothing drains it" });
        // The lowest place of all has no way on below it: it is as deep as the water that rests there.
        let rest = input.steady.rest.at(super::node_of(input, &sag.spots));
        let standing_m = rest.map_or(0.0, |rest| rest.to_m() - sag.level_m);
        let deep_m = if sag.height_m.is_finite() { sag.height_m } else { standing_m };
        let finding = rule.at(input, &tag, pass_if(drained), message);
        found.push(finding.with(metres(deep_m), metres(limit_m)));
    }
    found.extend(super::unknown_profiles(rule, input, "a low place"));
    if found.is_empty() {
        return rule.not_applicable(input, "the lines have no low place");
    }
    found
}
