//! Hump vent: every high place between two lower ones has a vent.

use super::prelude::*;
use crate::terrain::{Spot, Terrain};
use wetrun_network::End;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "hump-vent",
    section: Section::Air,
    checks: "The lines have no high place between lower ones, or a vent stands on it.",
    why: "Air stays in a hump and costs head up to the hump's full height; in a wet line there \
          is often no more head than that.",
    limit: Some(Amount::Length(Length::m(0.02))),
    threshold: "the height of a hump that is still within laying tolerance",
    source: Source {
        text: "practice for gravity lines: avoid high points or vent them; the loss is about the \
               pocket's height",
        confidence: Confidence::Recalled,
    },
    keys: "points.*.level, points.*.vent, lines.*.profile",
    mend: "lay the line without the hump, or put a point with a vent on it",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m = rule.limit_si(input);
    let mut found = Vec::new();
    for hump in Terrain::new(input.network).humps() {
        if hump.height_m <= limit_m + LEVEL_TOLERANCE_M {
            continue;
        }
        let tag = super::spot_tag(input, &hump.spots);
        let vented = hump.spots.iter().any(|spot| match spot {
            Spot::Node(End::Point(id)) => input.facts.point(id.index()).vent.is_some(),
            _ => false,
        });
        let place = format!(
            "high place {} at {}, {} above the way on",
            super::spot_words(input, &hump.spots),
            say::level(units, hump.level_m),
            say::height(units, hump.height_m),
        );
        let message =
            format!("{place}{}", if vented { ", vented" } else { "; no vent: air stays there" });
        found.push(
            rule.at(input, &tag, pass_if(vented), message).with(metres(hump.height_m), metres(limit_m)),
        );
    }
    found.extend(super::unknown_profiles(rule, input, "a high place"));
    if found.is_empty() {
        let message = "no high place between lower ones".to_owned();
        found.push(rule.at(input, "site", Outcome::Pass, message));
    }
    found
}
