//! What the graph answers: routes, loops, and the pieces whose loss cuts a downspout off.

use crate::parts::{End, Parts};
use petgraph::graph::{NodeIndex, UnGraph};
use petgraph::unionfind::UnionFind;

/// The place of an end among all nodes: downspouts, then points, then tanks.
pub(crate) fn node(parts: &Parts, end: End) -> usize {
    match end {
        End::Downspout(id) => id.index(),
        End::Point(id) => parts.downspouts.len() + id.index(),
        End::Tank(id) => parts.downspouts.len() + parts.points.len() + id.index(),
    }
}

/// For each downspout, whether lines lead from it to a tank.
pub(crate) fn reach_a_tank(parts: &Parts) -> Vec<bool> {
    let tanks = parts.downspouts.len() + parts.points.len();
    let mut joined = UnionFind::<usize>::new(tanks + parts.tanks.len());
    for line in &parts.lines {
        joined.union(node(parts, line.from), node(parts, line.to));
    }
    let mut wet: Vec<usize> = (0..parts.tanks.len()).map(|t| joined.find_mut(tanks + t)).collect();
    wet.sort_unstable();
    (0..parts.downspouts.len()).map(|d| wet.binary_search(&joined.find_mut(d)).is_ok()).collect()
}

/// The parts as an undirected graph: a node for each end, an edge for each line, in file order.
pub(crate) fn graph(parts: &Parts) -> UnGraph<End, u32> {
    let mut graph = UnGraph::with_capacity(
        parts.downspouts.len() + parts.points.len() + parts.tanks.len(),
        parts.lines.len(),
    );
    let ends = (0..parts.downspouts.len())
        .map(|i| End::Downspout(crate::DownspoutId::new(i)))
        .chain((0..parts.points.len()).map(|i| End::Point(crate::PointId::new(i))))
        .chain((0..parts.tanks.len()).map(|i| End::Tank(crate::TankId::new(i))));
    for end in ends {
        graph.add_node(end);
    }
    for (index, line) in parts.lines.iter().enumerate() {
        graph.add_edge(
            NodeIndex::new(node(parts, line.from)),
            NodeIndex::new(node(parts, line.to)),
            index as u32,
        );
    }
    graph
}

/// A piece of the network that can be lost or blocked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Piece {
    /// A buried line.
    Line(crate::LineId),
    /// A point.
    Point(crate::PointId),
}

/// A piece whose loss or blocking leaves downspouts without a way to any tank.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CutPiece {
    /// The piece.
    pub piece: Piece,
    /// The downspouts it cuts off, in file order.
    pub cuts_off: Vec<crate::DownspoutId>,
}
