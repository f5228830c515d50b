//! Vent top: a vent ends above the storm grade line, or it is a fountain.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "vent-top",
    section: Section::Air,
    checks: "The top of every vent stands above the storm grade line there.",
    why: "A vent is an opening: below the storm grade line it is a fountain, and the lowest \
          opening of the line.",
    limit: Some(Amount::Length(Length::ZERO)),
    threshold: "the least height of the vent's top above the head in the storm",
    source: Source { text: "water leaves at the lowest opening", confidence: Confidence::Reasoned },
    keys: "points.*.vent: { level }",
    mend: "take the vent higher",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m = rule.limit_si(input);
    let mut found = Vec::new();
    for (index, point) in input.network.points().iter().enumerate() {
        let Some(vent) = input.facts.point(index).vent else { continue };
        let Some(top) = vent.level else {
            found.push(rule.not_shown(
                input,
                &point.tag,
                "the level of the vent's top is not shown",
            ));
            continue;
        };
        let above_m = top.to_m() - input.steady.points[index].head.to_m();
        let message =
            format!("the vent's top is {} the storm grade line", say::apart(units, above_m));
        let mut finding = rule.at(input, &point.tag, pass_if(above_m >= limit_m), message);
        if above_m < limit_m {
            let short = say::height(units, limit_m - above_m);
            finding = finding.mended(format!("take the vent {short} higher or more"));
        }
        found.push(finding.with(metres(above_m), metres(limit_m)));
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no vents are drawn");
    }
    found
}
