//! What would mend a downspout that lacks freeboard: found by solving the network again.

use crate::{Judged, say};
use wetrun_network::{DownspoutId, End, LineId, Network, Parts, Station, TankId, catalogue};
use wetrun_solver::{Route, Steady};
use wetrun_units::Length;

/// No more lines than this are enlarged in one proposal.
const MOST_LINES: usize = 6;

/// Larger networks are not solved again: it would take too long.
const MOST_TO_SOLVE: usize = 500;

/// The ways to give downspout `index` its freeboard, each proven by a new solution: a lower
/// inlet, a higher opening, larger pipes on its route.
pub(crate) fn freeboard(input: &Judged<'_>, index: usize, target_m: f64) -> Option<String> {
    if !input.mends || input.network.lines().len() > MOST_TO_SOLVE {
        return None;
    }
    let units = input.facts.units;
    let ways: Vec<String> = [
        lower_inlet(input, index, target_m)
            .map(|(tag, by_m)| format!("lower the inlet of {tag} by {}", say::height(units, by_m))),
        raise_opening(input, index, target_m)
            .map(|by_m| format!("raise the opening by {}", say::height(units, by_m))),
        enlarge(input, index, target_m),
    ]
    .into_iter()
    .flatten()
    .collect();
    (!ways.is_empty()).then(|| ways.join("; or "))
}

/// How far the route's tank must come down, inlet and overflow together, to the millimetre
/// above.
fn lower_inlet(input: &Judged<'_>, index: usize, target_m: f64) -> Option<(String, f64)> {
    let tank = route(input.network, input.steady, index).tank?;
    let by_m = least(3.0, |by_m| {
        let mut parts = input.network.to_parts();
        lower_tank(&mut parts, tank, by_m);
        holds(input, parts, index, target_m)
    })?;
    Some((input.network.tank(tank).tag.clone(), by_m))
}

fn lower_tank(parts: &mut Parts, tank: TankId, by_m: f64) {
    let by = Length::m(by_m);
    let lowered = &mut parts.tanks[tank.index()];
    lowered.inlet = lowered.inlet - by;
    if let Some(overflow) = &mut lowered.overflow {
        overflow.level = overflow.level - by;
    }
    let end = End::Tank(tank);
    for line in &mut parts.lines {
        if line.from == end {
            lower_end(line.profile.iter_mut(), by);
        }
        if line.to == end {
            lower_end(line.profile.iter_mut().rev(), by);
        }
    }
}

/// Lowers the end of a profile, with as much of its level or rising top as stands above that.
fn lower_end<'a>(mut from_the_end: impl Iterator<Item = &'a mut Station>, by: Length) {
    let Some(end) = from_the_end.next() else { return };
    let old = end.level;
    end.level = old - by;
    let new = end.level;
    for station in from_the_end {
        if station.level > old || station.level < new {
            return;
        }
        station.level = new;
    }
}

/// How far the opening must come up, its lip with it.
fn raise_opening(input: &Judged<'_>, index: usize, target_m: f64) -> Option<f64> {
    least(3.0, |by_m| {
        let mut parts = input.network.to_parts();
        let downspout = &mut parts.downspouts[index];
        match &mut downspout.leaf_head {
            Some(rim) if rim.to_m() + by_m <= downspout.outlet.to_m() => {
                *rim = *rim + Length::m(by_m);
            }
            Some(_) => return false,
            None => {
                downspout.outlet = downspout.outlet + Length::m(by_m);
                downspout.lip = downspout.lip + Length::m(by_m);
            }
        }
        holds(input, parts, index, target_m)
    })
}

/// Enlarges the line of the route that loses most, one catalogue size at a time, until the
/// freeboard is kept.
fn enlarge(input: &Judged<'_>, index: usize, target_m: f64) -> Option<String> {
    let mut network = input.network.clone();
    let mut steady = input.steady.clone();
    let mut changed: Vec<LineId> = Vec::new();
    for _ in 0..4 * MOST_LINES {
        let line = worst_line(&network, &steady, index)?;
        let mut parts = network.to_parts();
        let larger = next_size(&network, line)?;
        parts.lines[line.index()].pipe = larger;
        if !changed.contains(&line) {
            changed.push(line);
        }
        if changed.len() > MOST_LINES {
            return None;
        }
        network = Network::build(parts).ok()?;
        steady = wetrun_solver::solve(&network, input.scenario).ok()?;
        if steady.downspouts[index].headroom.to_m() >= target_m {
            let sizes: Vec<String> = changed
                .iter()
                .map(|id| {
                    let line = network.line(*id);
                    format!("{} to {}", line.tag, line.pipe.label)
                })
                .collect();
            return Some(format!("enlarge {}", say::list(sizes.iter().map(String::as_str))));
        }
    }
    None
}

/// The line of the route that loses most for its length and can be had larger.
fn worst_line(network: &Network, steady: &Steady, index: usize) -> Option<LineId> {
    let loss_m = |id: &LineId| {
        let line = &steady.lines[id.index()];
        (line.friction_loss.to_m() + line.fitting_loss.to_m()).abs()
    };
    let route = route(network, steady, index).lines;
    route
        .iter()
        .filter(|id| next_size(network, **id).is_some())
        .max_by(|a, b| loss_m(a).total_cmp(&loss_m(b)))
        .copied()
}

fn route(network: &Network, steady: &Steady, index: usize) -> Route {
    steady.routes.route(network, DownspoutId::new(index))
}

fn next_size(network: &Network, line: LineId) -> Option<wetrun_network::Pipe> {
    let pipe = &network.line(line).pipe;
    let kind = catalogue::pipe_type(&pipe.kind).ok()?;
    let larger = kind.sizes.iter().find(|size| size.inside().to_m() > pipe.inside.to_m() + 1e-6)?;
    Some(kind.pipe_in(larger))
}

/// Whether the downspout keeps the freeboard in the network of these parts.
fn holds(input: &Judged<'_>, parts: Parts, index: usize, target_m: f64) -> bool {
    Network::build(parts)
        .ok()
        .and_then(|network| wetrun_solver::solve(&network, input.scenario).ok())
        .is_some_and(|steady| steady.downspouts[index].headroom.to_m() >= target_m - 1e-9)
}

/// The least step up to `most_m` for which `holds` is true, to the millimetre above. Steps
/// double until one holds: a step too far may fail again, where a crest takes over.
fn least(most_m: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
    let mut low_mm = 0.0;
    let mut high_mm = 25.0_f64;
    while !holds(high_mm / 1000.0) {
        low_mm = high_mm;
        high_mm *= 2.0;
        if high_mm > most_m * 1000.0 {
            return None;
        }
    }
    while high_mm - low_mm > 1.0 {
        let middle_mm = ((low_mm + high_mm) / 2.0_f64).floor();
        if holds(middle_mm / 1000.0) {
            high_mm = middle_mm;
        } else {
            low_mm = middle_mm;
        }
    }
    Some(high_mm / 1000.0)
}
