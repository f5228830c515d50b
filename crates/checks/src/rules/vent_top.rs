//! Vent top: a vent ends above the storm grade line, or it is a fountain.

use super::prelude::*;
use wetrun_network::{OpeningKind, PointId};

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
            let message = "the level of the vent's top is not shown";
            found.push(rule.asks(input, &point.tag, message, &["points.{}.vent.level"]));
            continue;
        };
        let above_m = top.to_m() - input.steady.points[index].head.to_m();
        let id = PointId::new(index);
        // Where a loose cap beside it is lower, the water that comes out there is not the vent's.
        let of_vent = point.opening.is_some_and(|o| o.kind == OpeningKind::Vent);
        let out = of_vent && input.verdict.escapes_at(id);
        let holds = above_m >= limit_m && !out;
        let message = if out {
            "the storm grade line reaches the vent's top, and water comes out".to_owned()
        } else {
            format!("the vent's top is {} the storm grade line", say::apart(units, above_m))
        };
        let mut finding = rule.at(input, &point.tag, pass_if(holds), message);
        if !holds && of_vent {
            finding.mend = super::unsealed::mend(input, id, limit_m);
        }
        found.push(finding.with(metres(above_m), metres(limit_m)));
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no vents are drawn");
    }
    found
}
