//! Self-cleansing: in an ordinary rain the line moves its silt, or it can be flushed.

use super::prelude::*;
use wetrun_network::{End, Groups, Line, PointId};
use wetrun_solver::laws::{drain, head_loss, water};
use wetrun_units::Speed;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "self-cleansing",
    section: Section::Capacity,
    checks: "In an ordinary rain, or while a drain of its lines runs out, water in each line \
             reaches the speed that carries silt away.",
    why: "A bigger pipe saves head and never cleans itself. Most wet lines do not reach the \
          speed, so the flush-out is the cleaning method, not an extra.",
    limit: Some(Amount::Speed(Speed::m_per_s(0.9))),
    threshold: "the speed in an ordinary rain below which a flush is needed",
    source: Source {
        text: "highway hydraulics practice for inverted siphons: 3 ft/s (0.9 m/s)",
        confidence: Confidence::Read,
    },
    keys: "ordinary_rain, points.*.drain, points.*.drain_outlet.level",
    mend: "put a drain at the low point of the line, large enough to flush it",
    judge,
};

/// Loss coefficient of a short drain with its valve, the exit apart.
const DRAIN_K: f64 = 1.5;

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let Some(rain) = input.facts.ordinary_rain else {
        let message = "the ordinary rain is not shown";
        return vec![rule.asks(input, "site", message, &["ordinary_rain"])];
    };
    let scenario = wetrun_solver::Scenario { intensity: rain, ..*input.scenario };
    let Ok(ordinary) = wetrun_solver::solve(input.network, &scenario) else {
        let message = "no steady state was found in the ordinary rain".to_owned();
        return vec![rule.at(input, "site", Outcome::NeedsDecision, message)];
    };
    let groups = input.network.groups();
    let limit_m_per_s = rule.limit_si(input);
    let each = input.network.lines().iter().zip(&ordinary.lines);
    each.map(|(line, state)| {
        let rain_m_per_s = state.velocity.to_m_per_s().abs();
        let flush = flush(input, &groups, line);
        let flush_m_per_s = flush.fastest_m_per_s;
        let cleans = rain_m_per_s.max(flush_m_per_s) >= limit_m_per_s;
        let in_rain = format!(
            "{} in a rain of {}",
            units.show_speed(Speed::m_per_s(rain_m_per_s)),
            units.show_intensity(rain),
        );
        let message = match (flush.drains, flush.unknown.is_empty()) {
            (0, _) => format!("{in_rain}; no drain to flush it by"),
            (_, false) => format!("{in_rain}; at what level its drain runs out is not shown"),
            (_, true) => format!(
                "{in_rain}; its drain draws {} through it at the most",
                units.show_speed(Speed::m_per_s(flush_m_per_s)),
            ),
        };
        let outcome = match cleans {
            true => Outcome::Pass,
            false if !flush.unknown.is_empty() => Outcome::NotShown,
            false => Outcome::Fail,
        };
        let finding = rule.at(input, &line.tag, outcome, message);
        let missing = if outcome == Outcome::NotShown { flush.unknown } else { Vec::new() };
        Finding { missing, ..finding }.with(
            Amount::Speed(Speed::m_per_s(rain_m_per_s.max(flush_m_per_s))),
            Amount::Speed(Speed::m_per_s(limit_m_per_s)),
        )
    })
    .collect()
}

/// What the drains of a line's group can do for it.
#[derive(Default)]
struct Flush {
    drains: usize,
    /// The highest speed that one of them draws through the line.
    fastest_m_per_s: f64,
    /// Keys of the drains whose outlet level is not shown.
    unknown: Vec<String>,
}

/// The most that a drain can draw through a line: all that it discharges when the water stands at
/// its rest level, with what the line's own wall costs. Less, where other lines feed it too.
fn flush(input: &Judged<'_>, groups: &Groups, line: &Line) -> Flush {
    let mut flush = Flush::default();
    let own = if matches!(line.from, End::Tank(_)) { line.to } else { line.from };
    if matches!(own, End::Tank(_)) {
        return flush;
    }
    for (index, point) in input.network.points().iter().enumerate() {
        let end = End::Point(PointId::new(index));
        let Some(bore) = point.drain.filter(|_| groups.of(input.network, end) == groups.of(input.network, own)) else {
            continue;
        };
        flush.drains += 1;
        let Some(outlet) = input.facts.point(index).drain_outlet.and_then(|o| o.level) else {
            flush.unknown.push(format!("points.{}.drain_outlet.level", point.tag));
            continue;
        };
        let rest = input.steady.rest.at(end);
        let Some(head_m) = rest.map(|rest| (rest - outlet).to_m()).filter(|head_m| *head_m > 0.0)
        else {
            continue;
        };
        let ratio = bore.to_m() / line.pipe.inside.to_m();
        let narrow = ratio * ratio;
        let speed_m_per_s = through(input, line, head_m, narrow);
        flush.fastest_m_per_s = flush.fastest_m_per_s.max(speed_m_per_s);
    }
    flush
}

/// The speed in a line at which its own friction and the drain, whose section is `narrow` of the
/// line's, together use up the head.
fn through(input: &Judged<'_>, line: &Line, head_m: f64, narrow: f64) -> f64 {
    let bore = line.pipe.inside;
    let roughness = line.pipe.roughness.unwrap_or(Length::m(1.5e-6));
    let viscosity = water::viscosity(input.scenario.temperature);
    // The drain's own loss, referred to the velocity head of the line.
    let k = line.total_k() + (DRAIN_K + 1.0) / (narrow * narrow) - 1.0;
    let way = drain::Drain { bore, length: line.length, roughness, k: k.max(0.0) };
    let flow = drain::flow(&way, viscosity, Length::m(head_m));
    head_loss::full_speed(flow, bore).to_m_per_s()
}
