//! Roof areas: what drains to the downspouts adds up to the roof that is there.

use super::prelude::*;
use wetrun_units::{Area, Fraction};

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "roof-areas",
    section: Section::Capacity,
    checks: "The roof areas of the schedule add up to the roof as measured.",
    why: "A roof added late, or areas split by eye, puts more water on a downspout than it was \
          sized for.",
    limit: Some(Amount::Fraction(Fraction::ratio(0.05))),
    threshold: "the largest difference, as a part of the measured roof",
    source: Source { text: "plan checking", confidence: Confidence::CommonPractice },
    keys: "roofs.*.area, documents.roof_area",
    mend: "measure the roofs again and give each its downspout",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let Some(measured) = input.facts.documents.roof_area else {
        let message = "the roof as measured is not shown";
        return vec![rule.asks(input, "site", message, &["documents.roof_area"])];
    };
    let drained = input.facts.roofs.iter().fold(Area::ZERO, |sum, roof| sum + roof.area);
    let off = (drained.to_m2() - measured.to_m2()).abs() / measured.to_m2();
    let limit = rule.limit_si(input);
    let message = format!(
        "the schedule drains {}; {} of roof is measured",
        units.show_area(drained),
        units.show_area(measured),
    );
    vec![
        rule.at(input, "site", pass_if(off <= limit), message)
            .with(Amount::Fraction(Fraction::ratio(off)), Amount::Fraction(Fraction::ratio(limit))),
    ]
}
