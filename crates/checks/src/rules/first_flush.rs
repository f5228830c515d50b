//! First flush: enough of the first water is held back.

use super::prelude::*;
use wetrun_units::Volume;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "first-flush",
    section: Section::Water,
    checks: "The first-flush devices hold back enough of the first water of a storm from the \
             roofs they serve.",
    why: "The first water carries what lay on the roof. Published figures differ by several \
          times, so the basis is printed with the number.",
    limit: Some(Amount::Length(Length::m(0.0002))),
    threshold: "the least depth of rain on the roof that is held back",
    source: Source {
        text: "a maker's least figure: 20 L for each 100 m2 of roof (0.2 mm)",
        confidence: Confidence::Read,
    },
    keys: "downspouts.*.first_flush: { volume }, points.*.first_flush",
    mend: "a larger first-flush chamber, or one more",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    if super::says_no_first_flush(input) {
        let message = "the drawing says that there is none: the tank gets the first water too";
        let finding = rule.at(input, "site", Outcome::Caution, message.to_owned());
        let need = Volume::m3(catchment_m2(input) * rule.limit_si(input));
        return vec![finding.with(Amount::Volume(Volume::ZERO), Amount::Volume(need))];
    }
    let Some(held) = super::first_flush_volume(input) else {
        let message = "no first-flush device with its volume is shown";
        return vec![Finding {
            missing: super::first_flush_keys(input),
            ..rule.not_shown(input, "site", message)
        }];
    };
    let need = Volume::m3(catchment_m2(input) * rule.limit_si(input));
    let message = format!(
        "holds back {}; {} is asked for",
        units.show_volume(held),
        say::volume_up(units, need),
    );
    let holds = held.to_m3() >= need.to_m3() - 1e-9;
    vec![
        rule.at(input, "site", pass_if(holds), message)
            .with(Amount::Volume(held), Amount::Volume(need)),
    ]
}

fn catchment_m2(input: &Judged<'_>) -> f64 {
    input.network.downspouts().iter().map(|d| d.catchment.to_m2()).sum()
}
