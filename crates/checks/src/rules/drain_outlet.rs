//! Drain outlet: a drain runs out below the line, somewhere it may.

use super::prelude::*;
use wetrun_facts::Stated;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "drain-outlet",
    section: Section::Air,
    checks: "Each low-point drain runs out below the invert it drains, to a stated place.",
    why: "A drain that ends higher than the sag leaves the sag full; water that must go somewhere \
          has to be allowed there.",
    limit: Some(Amount::Length(Length::ZERO)),
    threshold: "the least fall from the invert to the drain's outlet",
    source: Source {
        text: "trade guides: drains are accessible, below the line, with a place to run to",
        confidence: Confidence::Read,
    },
    keys: "points.*.drain_outlet: { level, to }",
    mend: "lead the drain to a lower place, or pump the line out through it",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m = rule.limit_si(input);
    let mut found = Vec::new();
    for (index, point) in input.network.points().iter().enumerate() {
        if point.drain.is_none() {
            continue;
        }
        let outlet = input.facts.point(index).drain_outlet.unwrap_or_default();
        let (Some(level), Some(to)) = (outlet.level, outlet.to) else {
            let message = "where the drain runs out, and at what level, is not shown";
            let keys = ["points.{}.drain_outlet.level", "points.{}.drain_outlet.to"];
            found.push(rule.asks(input, &point.tag, message, &keys));
            continue;
        };
        let fall_m = point.level.to_m() - level.to_m();
        let holds = fall_m >= limit_m - LEVEL_TOLERANCE_M && to != Stated::No;
        let message = match &to {
            Stated::Yes(place) => {
                format!("runs out {} the invert, to {place}", say::apart(units, -fall_m))
            }
            Stated::No => "the drain has nowhere to run to".to_owned(),
        };
        let finding = rule.at(input, &point.tag, pass_if(holds), message);
        found.push(finding.with(metres(fall_m), metres(limit_m)));
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no drains are drawn");
    }
    found
}
