//! First flush and stale water: a diverter sized for the roof alone lets the stale line through.

use super::prelude::*;
use crate::volume;
use wetrun_units::Volume;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "first-flush-stale",
    section: Section::Water,
    checks: "The first flush is held against the stale water of the full line, which reaches the \
             tank before any new water does.",
    why: "A full line pushes its old contents into the tank first. A device at the downspouts \
          never sees that water.",
    limit: None,
    threshold: "the volume of the full line, where the line is not drained between storms",
    source: Source {
        text: "the volume of the pipes below the rest level",
        confidence: Confidence::Reasoned,
    },
    keys: "downspouts.*.first_flush, points.*.first_flush, documents.stale_water",
    mend: "drain the line between storms, or divert at the tank what stands in the line",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    if super::says_no_first_flush(input) {
        return rule.not_applicable(input, "the drawing says that there is no first-flush device");
    }
    let Some(held) = super::first_flush_volume(input) else {
        let message = "no first-flush device with its volume is shown";
        return vec![Finding {
            missing: super::first_flush_keys(input),
            ..rule.not_shown(input, "site", message)
        }];
    };
    let stale = volume::stale(input).iter().fold(Volume::ZERO, |sum, v| sum + *v);
    let covers = held.to_m3() >= stale.to_m3();
    let policy = matches!(&input.facts.documents.stale_water, Some(wetrun_facts::Stated::Yes(_)));
    let message = format!(
        "{} held back against {} of stale water in the line{}",
        units.show_volume(held),
        units.show_volume(stale),
        if !covers && policy { ", for which the drawing has a policy" } else { "" },
    );
    let outcome = if covers || policy { Outcome::Pass } else { Outcome::Caution };
    let mut finding = rule.at(input, "site", outcome, message);
    if outcome == Outcome::Caution {
        finding = finding.mended(rule.mend.to_owned());
    }
    vec![finding.with(Amount::Volume(held), Amount::Volume(stale))]
}
