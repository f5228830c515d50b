//! Drain time: the line empties through its drain in a time that suits its use.

use super::prelude::*;
use std::time::Duration;
use wetrun_network::PointId;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "drain-time",
    section: Section::Air,
    checks: "What stands above a drain runs out through it, 95 % of it in a reasonable time.",
    why: "A line that takes days to empty is not emptied before frost, nor after a long dry spell.",
    limit: Some(Amount::Time(Duration::from_secs(86_400))),
    threshold: "the longest time to empty",
    source: Source { text: "a day for a slow drain", confidence: Confidence::CommonPractice },
    keys: "points.*.drain, points.*.drain_outlet",
    mend: "a larger drain, or a lower outlet",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit = Duration::try_from_secs_f64(rule.limit_si(input)).unwrap_or_default();
    let mut found = Vec::new();
    for (index, point) in input.network.points().iter().enumerate() {
        if point.drain.is_none() {
            continue;
        }
        if input.facts.point(index).drain_outlet.and_then(|outlet| outlet.level).is_none() {
            let message = "the level of the drain's outlet is not shown";
            let key = "points.{}.drain_outlet.level";
            found.push(rule.asks(input, &point.tag, message, &[key]));
            continue;
        }
        let Some(opened) = super::opened(input, PointId::new(index)) else {
            found.push(rule.at(input, &point.tag, Outcome::NotApplicable, super::NOT_FOLLOWED.to_owned()));
            continue;
        };
        let time = opened.most_drained;
        let message = format!(
            "{} run out, 95 % of it in {}",
            units.show_volume(opened.drained),
            Amount::Time(time).show(units),
        );
        found.push(
            rule.at(input, &point.tag, pass_if(time <= limit), message)
                .with(Amount::Time(time), Amount::Time(limit)),
        );
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no drains are drawn");
    }
    found
}
