//! How far a solved state is from its equations, by the public laws and by what the state says of
//! flows and levels: nothing here asks the search how well it did.

use super::*;
use wetrun_network::LineEnd;
use wetrun_solver::laws::{head_loss, outfall};
use wetrun_solver::{Passage, friction};
use wetrun_units::Flow;

/// The largest imbalance at a downspout's foot or a point, m³/s.
pub(crate) fn imbalance_m3_per_s(network: &Network, state: &Steady) -> f64 {
    let mut feet: Vec<f64> = state.downspouts.iter().map(|d| d.admitted.to_m3_per_s()).collect();
    let mut points = vec![0.0; state.points.len()];
    for (id, opening) in network.openings().map(|(id, _)| id).zip(&state.openings) {
        points[id.index()] -= opening.escapes.to_m3_per_s();
    }
    for (line, flow) in network.lines().iter().zip(&state.lines) {
        for (end, sign) in [(line.from, -1.0), (line.to, 1.0)] {
            match end {
                End::Downspout(id) => feet[id.index()] += sign * flow.flow.to_m3_per_s(),
                End::Point(id) => points[id.index()] += sign * flow.flow.to_m3_per_s(),
                End::Tank(_) => {}
            }
        }
    }
    feet.into_iter().chain(points).fold(0.0, |most, net| most.max(net.abs()))
}

/// The largest error of a line's or a lip's head equation, or of a one-sided condition, m.
pub(crate) fn head_error_m(network: &Network, scenario: &Scenario, state: &Steady) -> f64 {
    let lines = (0..network.lines().len()).map(|line| {
        let flow = state.lines[line].flow;
        if flow == Flow::ZERO {
            [0, 1]
                .map(|from| overtops_m(network, state, line, from))
                .into_iter()
                .fold(0.0, f64::max)
        } else {
            line_error_m(network, scenario, state, line, flow)
        }
    });
    let lips = (0..state.downspouts.len()).map(|d| lip_error_m(network, scenario, state, d));
    let openings = (network.openings().zip(&state.openings)).map(|((id, opening), now)| {
        let over = (state.points[id.index()].head - opening.level).to_m();
        if now.escapes > Flow::ZERO { over.abs() } else { over.max(0.0) }
    });
    lines.chain(lips).chain(openings).fold(0.0, |most: f64, error| {
        assert!(!error.is_nan());
        most.max(error)
    })
}

fn ends(network: &Network, line: usize) -> [End; 2] {
    let line = &network.lines()[line];
    [line.from, line.to]
}

fn invert(network: &Network, line: usize, side: usize) -> Length {
    let profile = &network.lines()[line].profile;
    profile[if side == 0 { 0 } else { profile.len() - 1 }].level
}

/// The head that a line meets at a node, or a tank's water.
fn head(network: &Network, state: &Steady, line: usize, side: usize) -> Option<Length> {
    let joined = state.lines[line].junction_heads[side];
    match ends(network, line)[side] {
        End::Downspout(id) => Some(state.downspouts[id.index()].foot_head + joined),
        End::Point(id) => Some(state.points[id.index()].head + joined),
        End::Tank(id) => state.tanks[id.index()].water_level,
    }
}

fn line_error_m(
    network: &Network,
    scenario: &Scenario,
    state: &Steady,
    index: usize,
    flow: Flow,
) -> f64 {
    let line = &network.lines()[index];
    let (from, upstream) = if flow > Flow::ZERO { (0, LineEnd::From) } else { (1, LineEnd::To) };
    let to = 1 - from;
    let passage = Passage::new(scenario, line, &line.pipe, flow.abs(), upstream);
    let below = head(network, state, index, to);
    let downstream = match ends(network, index)[to] {
        End::Tank(_) => passage.outfall(invert(network, index, to), below),
        _ => below.expect("a node has a head"),
    };
    let above = head(network, state, index, from).expect("only water flows");
    let spare = (above - passage.rise(downstream)).to_m();
    if !matches!(ends(network, index)[from], End::Tank(_)) {
        return spare.abs();
    }
    // The tank's whole head drives the line, or its inlet lets out no more.
    let energy = outfall::critical_energy(flow.abs(), line.pipe.inside);
    spare.min((above - invert(network, index, from) - energy).to_m()).abs()
}

/// By how much what stands at one end of a still line overtops what holds it.
fn overtops_m(network: &Network, state: &Steady, index: usize, from: usize) -> f64 {
    let to = 1 - from;
    let is_tank = |side: usize| matches!(ends(network, index)[side], End::Tank(_));
    let Some(source) = head(network, state, index, from) else { return 0.0 };
    if is_tank(from) && source <= invert(network, index, from) {
        return 0.0;
    }
    let profile = &network.lines()[index].profile;
    let last = profile.len() - 1;
    let mut held = head(network, state, index, to).map_or(f64::NEG_INFINITY, |head| head.to_m());
    for (at, station) in profile.iter().enumerate() {
        // At the tank that it would leave the water is already over the invert.
        let leaves = is_tank(from) && at == if from == 0 { 0 } else { last };
        if !leaves {
            held = held.max(station.level.to_m());
        }
    }
    source.to_m() - held
}

fn lip_error_m(network: &Network, scenario: &Scenario, state: &Steady, d: usize) -> f64 {
    let (drawn, now) = (&network.downspouts()[d], &state.downspouts[d]);
    let flow = now.admitted.abs();
    let wetted = drawn.spill_level() - drawn.foot;
    let speed = head_loss::full_speed(flow, drawn.pipe.inside);
    let loss =
        friction(scenario, &drawn.pipe, flow, wetted) + head_loss::fitting(drawn.total_k(), speed);
    let signed_m = loss.to_m().copysign(now.admitted.to_m3_per_s());
    let over = (now.foot_head - drawn.spill_level()).to_m() + signed_m;
    if now.spilled > Flow::ZERO { over.abs() } else { over.max(0.0) }
}
