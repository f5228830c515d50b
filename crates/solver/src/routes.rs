//! The way of most of a downspout's water to a tank.

use std::collections::VecDeque;
use wetrun_network::{DownspoutId, End, LineId, Network, TankId};
use wetrun_units::Flow;

/// The next line towards a tank from every downspout and point of a network.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Routes {
    /// Downspouts, then points: the line that carries the most water away.
    by_flow: Vec<Option<LineId>>,
    /// The same by the fewest lines to a tank.
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
    pub fn new(network: &Network, flows: &[Flow]) -> Self {
        let nodes = network.downspouts().len() + network.points().len();
        let mut by_flow: Vec<Option<(f64, LineId)>> = vec![None; nodes];
        let mut lines_at: Vec<Vec<LineId>> = vec![Vec::new(); nodes];
        let mut queue = VecDeque::new();
        for (index, (line, flow)) in network.lines().iter().zip(flows).enumerate() {
            let id = LineId::new(index);
            let flow = flow.to_m3_per_s();
            for (end, other, out) in [(line.from, line.to, flow), (line.to, line.from, -flow)] {
                let Some(node) = node(network, end) else { continue };
                lines_at[node].push(id);
                if out > 0.0 && by_flow[node].is_none_or(|(most, _)| out > most) {
                    by_flow[node] = Some((out, id));
                }
                if matches!(other, End::Tank(_)) {
                    queue.push_back((node, id));
                }
            }
        }
        let mut shortest = vec![None; nodes];
        while let Some((at, line)) = queue.pop_front() {
            if shortest[at].is_some() {
                continue;
            }
            shortest[at] = Some(line);
            for &next in &lines_at[at] {
                let line = network.line(next);
                for end in [line.from, line.to] {
                    if let Some(other) = node(network, end).filter(|&n| shortest[n].is_none()) {
                        queue.push_back((other, next));
                    }
                }
            }
        }
        Self { by_flow: by_flow.into_iter().map(|n| n.map(|(_, line)| line)).collect(), shortest }
    }

    /// The route of a downspout: where most of its water goes; where that is no tank (it stands
    /// still, or comes out at a lower gutter), the route of the fewest lines.
    pub fn route(&self, network: &Network, downspout: DownspoutId) -> Route {
        follow(network, downspout, &self.by_flow)
            .or_else(|| follow(network, downspout, &self.shortest))
            .unwrap_or_default()
    }
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

fn node(network: &Network, end: End) -> Option<usize> {
    match end {
        End::Downspout(id) => Some(id.index()),
        End::Point(id) => Some(network.downspouts().len() + id.index()),
        End::Tank(_) => None,
    }
}
