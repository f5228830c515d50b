//! The way of most of a downspout's water to a tank.

use std::collections::VecDeque;
use wetrun_network::{DownspoutId, End, LineId, Network, PlaceId, TankId};
use wetrun_units::Flow;

/// The line that carries the most water away from every downspout and point of a network.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Routes {
    /// Downspouts, then points.
    by_flow: Vec<Option<LineId>>,
    /// The next line by the fewest lines to a tank; empty where flow alone tells every route.
    shortest: Vec<Option<LineId>>,
}

/// A route: lines from a downspout's foot to a tank.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Route {
    /// The lines in order.
    pub lines: Vec<LineId>,
    /// The tank they end in.
    pub tank: Option<TankId>,
}

impl Routes {
    /// Works out the next lines for the given line flows (positive from `from` to `to`).
    pub fn new(network: &Network, flows: impl Iterator<Item = Flow>) -> Self {
        let nodes = network.downspouts().len() + network.points().len();
        let mut most = vec![0.0; nodes];
        let mut by_flow = vec![None; nodes];
        for (index, (line, flow)) in network.lines().iter().zip(flows).enumerate() {
            let flow = flow.to_m3_per_s();
            for (end, out) in [(line.from, flow), (line.to, -flow)] {
                let Some(node) = node(network, end) else { continue };
                if out > most[node] {
                    (most[node], by_flow[node]) = (out, Some(LineId::new(index)));
                }
            }
        }
        let shortest =
            if all_end(network, &by_flow) { Vec::new() } else { shortest(network, nodes) };
        Self { by_flow, shortest }
    }

    /// The route of a downspout: where most of its water goes; where that is no tank (it stands
    /// still, or comes out at a lower gutter), the route of the fewest lines.
    pub fn route(&self, network: &Network, downspout: DownspoutId) -> Route {
        follow(network, downspout, &self.by_flow)
            .or_else(|| follow(network, downspout, &self.shortest))
            .unwrap_or_default()
    }
}

/// Whether every downspout's way ends in a tank. Each line is walked once: a walk that meets an
/// earlier one ends where that did.
fn all_end(network: &Network, next: &[Option<LineId>]) -> bool {
    let mut walked_for = vec![usize::MAX; next.len()];
    (0..network.downspouts().len()).all(|downspout| {
        let mut at = End::Downspout(DownspoutId::new(downspout));
        while let Some(node) = node(network, at) {
            if walked_for[node] != usize::MAX {
                return walked_for[node] != downspout; // else it goes round
            }
            walked_for[node] = downspout;
            let Some(id) = next[node] else { return false };
            let line = network.line(id);
            at = if line.from == at { line.to } else { line.from };
        }
        true
    })
}

/// The next line towards the nearest tank, by the number of lines.
fn shortest(network: &Network, nodes: usize) -> Vec<Option<LineId>> {
    let mut shortest = vec![None; nodes];
    let mut queue = VecDeque::new();
    for (index, line) in network.lines().iter().enumerate() {
        for (end, other) in [(line.from, line.to), (line.to, line.from)] {
            if matches!(other, End::Tank(_)) {
                queue.extend(node(network, end).map(|node| (node, LineId::new(index))));
            }
        }
    }
    while let Some((at, line)) = queue.pop_front() {
        if shortest[at].is_some() {
            continue;
        }
        shortest[at] = Some(line);
        for (next, end) in network.meets(network.end_at(PlaceId::new(at))) {
            let other = node(network, network.line(next).end(end.other()));
            queue.extend(other.filter(|&n| shortest[n].is_none()).map(|n| (n, next)));
        }
    }
    shortest
}

fn follow(network: &Network, from: DownspoutId, next: &[Option<LineId>]) -> Option<Route> {
    let mut at = End::Downspout(from);
    let mut lines = Vec::new();
    while lines.len() <= network.lines().len() {
        if let End::Tank(tank) = at {
            return Some(Route { lines, tank: Some(tank) });
        }
        let id = next[node(network, at)?]?;
        let line = network.line(id);
        at = if line.from == at { line.to } else { line.from };
        lines.push(id);
    }
    None
}

/// The place of an end that is no tank: those come last.
fn node(network: &Network, end: End) -> Option<usize> {
    (!matches!(end, End::Tank(_))).then(|| network.place(end).index())
}
