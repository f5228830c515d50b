//! Stale volume: how much old water the full line holds, and what is done about it.

use super::prelude::*;
use crate::facts::Stated;
use crate::volume;
use wetrun_units::Volume;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "stale-volume",
    section: Section::Capacity,
    checks: "The volume that stands in the full line is stated with what becomes of it.",
    why: "A full line delivers its stale contents to the tank before any new water: bigger pipes \
          hold more of it.",
    limit: None,
    threshold: "a policy: drained between storms, flushed, or accepted",
    source: Source {
        text: "the volume of the pipes below the rest level",
        confidence: Confidence::Reasoned,
    },
    keys: "documents.stale_water",
    mend: "say whether the line is drained, flushed, or its stale water accepted",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let total = volume::stale(input).iter().fold(Volume::ZERO, |sum, v| sum + *v);
    let holds = format!("the line holds {} between storms", units.show_volume(total));
    let (outcome, message) = match &input.facts.documents.stale_water {
        None => (Outcome::NotShown, format!("{holds}; what becomes of it is not shown")),
        Some(Stated::No) => (Outcome::Fail, format!("{holds}; the drawing has no policy for it")),
        Some(Stated::Yes(policy)) => (Outcome::Pass, format!("{holds}; {policy}")),
    };
    vec![Finding { value: Some(Amount::Volume(total)), ..rule.at(input, "site", outcome, message) }]
}
