//! Self-cleansing: in an ordinary rain the line moves its silt, or it can be flushed.

use super::prelude::*;
use wetrun_network::{End, Groups, Line, PointId};
use wetrun_solver::laws::{drain, head_loss, water};
use wetrun_units::Speed;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "self-cleansing",
    section: Section::Capacity,
    checks: "In an ordinary rain, or as a drain is opened, water in each line reaches the speed that \
             carries silt away.",
    why: "A bigger pipe saves head and never cleans itself. Most wet lines do not reach the \
          speed, so the flush-out is the cleaning method, not an extra.",
    limit: Some(Amount::Speed(Speed::m_per_s(0.9))),
    threshold: "the speed in an ordinary rain below which a flush is needed",
    source: Source {
        text: "highway hydraulics practice for inverted siphons: 3 ft/s (0.9 m/s)",
        confidence: Confidence::Read,
    },
    keys: "ordinary_rain, storm, points.*.drain, points.*.drain_outlet.level, points.*.drain_k, \
           targets.flush_velocity",
    mend: "put a drain at the low point of the line, large enough to flush it",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let Some(rain) = input.facts.ordinary_rain else {
        let message = "the ordinary rain is not shown";
        return vec![rule.asks(input, "site", message, &["ordinary_rain"])];
    };
    if let Some(storm) = input.facts.storm
        && rain > storm
    {
        let [rain_said, storm_said] = [rain, storm].map(|rain| units.show_intensity(rain));
        let message = format!("an ordinary rain of {rain_said} is heavier than the storm of {storm_said}");
        let finding = rule.at(input, "site", Outcome::Fail, message);
        return vec![finding.with(Amount::Intensity(rain), Amount::Intensity(storm))];
    }
    let scenario = wetrun_solver::Scenario { intensity: rain, ..*input.scenario };
    let Ok(ordinary) = wetrun_solver::solve(input.network, &scenario) else {
        let message = "no steady state was found in the ordinary rain".to_owned();
        return vec![rule.at(input, "site", Outcome::NeedsDecision, message)];
    };
    let groups = input.network.groups();
    let in_rain = Speed::m_per_s(rule.limit_si(input));
    let by_drain = input.facts.silt_speed();
    let each = input.network.lines().iter().zip(&ordinary.lines).enumerate();
    each.map(|(index, (line, state))| {
        let rains = Speed::m_per_s(state.velocity.to_m_per_s().abs());
        let flush = flush(input, &groups, index, line);
        let said = format!("{} in a rain of {}", units.show_speed(rains), units.show_intensity(rain));
        let (outcome, message) = match flush {
            _ if rains >= in_rain => (Outcome::Pass, said),
            Flush::NoDrain => (Outcome::Fail, format!("{said}; no drain to flush it by")),
            Flush::NotShown(_) => (
                Outcome::NotShown,
                format!("{said}; at what level its drain runs out is not shown"),
            ),
            Flush::NotFollowed(most) => (
                pass_if(most >= by_drain),
                format!(
                    "{said}; a drain draws {} through it at the most, of {} that carry silt; {}",
                    units.show_speed(most),
                    units.show_speed(by_drain),
                    super::NOT_FOLLOWED
                ),
            ),
            Flush::Draws { fastest, by, most } => {
                let outcome = match fastest >= by_drain {
                    true => Outcome::Pass,
                    false if most >= by_drain => Outcome::Caution,
                    false => Outcome::Fail,
                };
                let words = match outcome {
                    Outcome::Caution => ": only with a hose at its upper end",
                    Outcome::Fail => ", nor can a hose bring it to that",
                    _ => "",
                };
                let drain = &input.network.point(by).tag;
                let draws = units.show_speed(fastest);
                let asked = units.show_speed(by_drain);
                let message = format!(
                    "{said}; opening {drain} draws {draws} through it, of {asked} that carry silt{words}"
                );
                (outcome, message)
            }
        };
        // The pair that decides: of the rain where it does, or where there is nothing else.
        let (value, limit) = match flush {
            Flush::Draws { fastest, .. } if rains < in_rain => (fastest, by_drain),
            Flush::NotFollowed(most) if rains < in_rain => (most, by_drain),
            _ => (rains, in_rain),
        };
        // Where there is a drain, what else would do is searched for by following it.
        let drained = !matches!(flush, Flush::NoDrain);
        let missing = match flush {
            Flush::NotShown(missing) if outcome == Outcome::NotShown => missing,
            _ => Vec::new(),
        };
        let mut finding = rule.at(input, &line.tag, outcome, message);
        if outcome == Outcome::Fail && drained {
            finding = finding.mended("`wetrun flush` says what would carry silt through it".to_owned());
        }
        Finding { missing, ..finding }.with(Amount::Speed(value), Amount::Speed(limit))
    })
    .collect()
}

/// What the drains of a line's group do for it.
enum Flush {
    NoDrain,
    /// Keys of the drains whose outlet level is not shown.
    NotShown(Vec<String>),
    /// The most that one of them can draw through the line.
    NotFollowed(Speed),
    /// The fastest that one of them, opened by itself, draws through the line, and the most.
    Draws { fastest: Speed, by: PointId, most: Speed },
}

fn flush(input: &Judged<'_>, groups: &Groups, index: usize, line: &Line) -> Flush {
    let own = if matches!(line.from, End::Tank(_)) { line.to } else { line.from };
    let (mut unknown, mut drains) = (Vec::new(), Vec::new());
    for (place, point) in input.network.points().iter().enumerate() {
        let id = PointId::new(place);
        let joined = !matches!(own, End::Tank(_))
            && groups.of(input.network, End::Point(id)) == groups.of(input.network, own);
        if point.drain.is_none() || !joined {
            continue;
        }
        match input.facts.point(place).drain_outlet.and_then(|outlet| outlet.level) {
            Some(_) => drains.push(id),
            None => unknown.push(format!("points.{}.drain_outlet.level", point.tag)),
        }
    }
    let highest = |a: Speed, b: Speed| if a >= b { a } else { b };
    let most = drains.iter().map(|&id| most(input, line, own, id)).fold(Speed::ZERO, highest);
    let fastest = drains
        .iter()
        .filter_map(|&id| Some((*super::opened(input, id)?.fastest.get(index)?, id)));
    let fastest = fastest.max_by(|a, b| a.0.to_m_per_s().total_cmp(&b.0.to_m_per_s()));
    match fastest {
        Some((fastest, by)) if unknown.is_empty() || fastest >= input.facts.silt_speed() => {
            Flush::Draws { fastest, by, most }
        }
        _ if !unknown.is_empty() => Flush::NotShown(unknown),
        _ if drains.is_empty() => Flush::NoDrain,
        _ => Flush::NotFollowed(most),
    }
}

/// The most that a drain can draw through a line, with a hose at its upper end: all that it discharges
/// when the water stands at its rest level, with what the line's own wall costs.
fn most(input: &Judged<'_>, line: &Line, own: End, id: PointId) -> Speed {
    let shown = input.facts.point(id.index());
    let k = shown.drain_loss();
    let outlet = shown.drain_outlet.and_then(|outlet| outlet.level);
    let bore = input.network.point(id).drain;
    let rest = input.steady.rest.at(End::Point(id)).or_else(|| input.steady.rest.at(own));
    let (Some(outlet), Some(bore), Some(rest)) = (outlet, bore, rest) else { return Speed::ZERO };
    if rest <= outlet {
        return Speed::ZERO;
    }
    // The drain's own loss, referred to the velocity head of the line.
    let ratio = bore.to_m() / line.pipe.inside.to_m();
    let narrow = ratio * ratio;
    let k = line.total_k() + (k + 1.0) / (narrow * narrow) - 1.0;
    let roughness = line.pipe.roughness.unwrap_or(Length::m(1.5e-6));
    let way = drain::Drain { bore: line.pipe.inside, length: line.length, roughness, k: k.max(0.0) };
    let flow = drain::flow(&way, water::viscosity(input.scenario.temperature), rest - outlet);
    head_loss::full_speed(flow, line.pipe.inside)
}
