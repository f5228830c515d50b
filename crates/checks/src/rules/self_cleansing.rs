//! Self-cleansing: in an ordinary rain the line moves its silt, or it can be flushed.

use super::prelude::*;
use wetrun_network::End;
use wetrun_units::Speed;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "self-cleansing",
    section: Section::Capacity,
    checks: "In an ordinary rain water in each line reaches the speed that carries silt away, or \
             the group of lines has a drain to be flushed by.",
    why: "A bigger pipe saves head and never cleans itself. Most wet lines do not reach the \
          speed, so the flush-out is the cleaning method, not an extra.",
    limit: Some(Amount::Speed(Speed::m_per_s(0.9))),
    threshold: "the speed in an ordinary rain below which a flush is needed",
    source: Source {
        text: "highway hydraulics practice for inverted siphons: 3 ft/s (0.9 m/s)",
        confidence: Confidence::Read,
    },
    keys: "ordinary_rain, points.*.drain",
    mend: "put a drain at the low point of the line, large enough to flush it",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let Some(rain) = input.facts.ordinary_rain else {
        return vec![rule.not_shown(input, "site", "the ordinary rain is not shown")];
    };
    let scenario = wetrun_solver::Scenario { intensity: rain, ..*input.scenario };
    let Ok(ordinary) = wetrun_solver::solve(input.network, &scenario) else {
        let message = "no steady state was found in the ordinary rain".to_owned();
        return vec![rule.at(input, "site", Outcome::NeedsDecision, message)];
    };
    let pipes = input.pipes();
    let drained: Vec<usize> = input
        .network
        .points()
        .iter()
        .enumerate()
        .filter(|(_, point)| point.drain.is_some())
        .map(|(i, _)| pipes.group(End::Point(wetrun_network::PointId::new(i))))
        .collect();
    let limit_m_per_s = rule.limit_si(input);
    let each = input.network.lines().iter().zip(&ordinary.lines).zip(&input.steady.lines);
    each.map(|((line, state), storm)| {
        let speed_m_per_s = state.velocity.to_m_per_s().abs();
        let cleans = speed_m_per_s >= limit_m_per_s;
        let ends = [line.from, line.to];
        let flushed = ends
            .iter()
            .filter(|end| !matches!(end, End::Tank(_)))
            .any(|&end| drained.contains(&pipes.group(end)));
        let message = format!(
            "{} in a rain of {}, {} in the storm{}",
            units.show_speed(Speed::m_per_s(speed_m_per_s)),
            units.show_intensity(rain),
            units.show_speed(Speed::m_per_s(storm.velocity.to_m_per_s().abs())),
            match (cleans, flushed) {
                (true, _) => "",
                (false, true) => "; cleaned by its flush-out",
                (false, false) => "; no flush-out",
            },
        );
        rule.at(input, &line.tag, pass_if(cleans || flushed), message).with(
            Amount::Speed(Speed::m_per_s(speed_m_per_s)),
            Amount::Speed(Speed::m_per_s(limit_m_per_s)),
        )
    })
    .collect()
}
