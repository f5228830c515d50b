//! What the graph answers: routes, loops, and the pieces whose loss cuts a downspout off.

mod cuts;
mod groups;
mod loops;
mod routes;

pub use cuts::{CutPiece, CutPieces, Piece};
pub use groups::Group;
pub use routes::{Route, ShortestRoutes};

use crate::network::Network;
use crate::parts::{End, Parts};
use crate::{DownspoutId, LineId, PointId, TankId};
use petgraph::graph::{EdgeIndex, NodeIndex, UnGraph};
use petgraph::unionfind::UnionFind;

/// The network as a graph: a node for each downspout, point and tank, an edge for each line.
///
/// Nothing here recurses: a line of 100,000 pieces in a row needs no more stack than one.
#[derive(Clone, Debug)]
pub struct Topology<'n> {
    network: &'n Network,
    graph: UnGraph<End, LineId>,
}

impl Network {
    /// The network as a graph.
    ///
    /// # Complexity
    /// Time and space linear in the number of pieces.
    pub fn topology(&self) -> Topology<'_> {
        Topology { network: self, graph: graph(self) }
    }
}

impl Topology<'_> {
    /// How many places lines end at: downspouts, points and tanks.
    fn nodes(&self) -> usize {
        self.graph.node_count()
    }

    /// The first node that is a tank; the tanks follow it.
    fn first_tank(&self) -> usize {
        self.network.downspouts().len() + self.network.points().len()
    }

    /// The line behind an edge: edges were added in file order.
    fn line(&self, edge: EdgeIndex) -> LineId {
        LineId::new(edge.index())
    }

    fn length_m(&self, line: LineId) -> f64 {
        self.network.line(line).length.to_m()
    }

    fn downspout_node(id: DownspoutId) -> NodeIndex {
        NodeIndex::new(id.index())
    }
}

/// The place of an end among all nodes: downspouts, then points, then tanks.
fn node(downspouts: usize, points: usize, end: End) -> usize {
    match end {
        End::Downspout(id) => id.index(),
        End::Point(id) => downspouts + id.index(),
        End::Tank(id) => downspouts + points + id.index(),
    }
}

/// For each downspout, whether lines lead from it to a tank.
pub(crate) fn reach_a_tank(parts: &Parts) -> Vec<bool> {
    let tanks = parts.downspouts.len() + parts.points.len();
    let place = |end| node(parts.downspouts.len(), parts.points.len(), end);
    let mut joined = UnionFind::<usize>::new(tanks + parts.tanks.len());
    for line in &parts.lines {
        joined.union(place(line.from), place(line.to));
    }
    let mut wet: Vec<usize> = (0..parts.tanks.len()).map(|t| joined.find_mut(tanks + t)).collect();
    wet.sort_unstable();
    (0..parts.downspouts.len()).map(|d| wet.binary_search(&joined.find_mut(d)).is_ok()).collect()
}

fn graph(network: &Network) -> UnGraph<End, LineId> {
    let (downspouts, points) = (network.downspouts().len(), network.points().len());
    let tanks = network.tanks().len();
    let mut graph = UnGraph::with_capacity(downspouts + points + tanks, network.lines().len());
    let ends = (0..downspouts)
        .map(|i| End::Downspout(DownspoutId::new(i)))
        .chain((0..points).map(|i| End::Point(PointId::new(i))))
        .chain((0..tanks).map(|i| End::Tank(TankId::new(i))));
    for end in ends {
        graph.add_node(end);
    }
    for (index, line) in network.lines().iter().enumerate() {
        let place = |end| NodeIndex::new(node(downspouts, points, end));
        graph.add_edge(place(line.from), place(line.to), LineId::new(index));
    }
    graph
}

#[cfg(test)]
mod tests;
