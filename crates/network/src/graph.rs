//! The network as a graph: one numbering of all places, and the lines that meet at each.

use crate::id::{DownspoutId, LineId, PlaceId, PointId, TankId};
use crate::network::Network;
use crate::parts::{End, Line, LineEnd, Parts};
use petgraph::Direction;
use petgraph::graph::{DiGraph, NodeIndex};
use petgraph::unionfind::UnionFind;
use petgraph::visit::EdgeRef;

/// A node for each downspout, point and tank, in this order; an edge for each line, in file order,
/// from its start to its finish.
pub(crate) type Graph = DiGraph<End, ()>;

/// Makes the graph of parts whose ends exist.
pub(crate) fn graph(parts: &Parts) -> Graph {
    let (downspouts, points, tanks) =
        (parts.downspouts.len(), parts.points.len(), parts.tanks.len());
    let mut graph = Graph::with_capacity(downspouts + points + tanks, parts.lines.len());
    let ends = (0..downspouts)
        .map(|i| End::Downspout(DownspoutId::new(i)))
        .chain((0..points).map(|i| End::Point(PointId::new(i))))
        .chain((0..tanks).map(|i| End::Tank(TankId::new(i))));
    for end in ends {
        graph.add_node(end);
    }
    for line in &parts.lines {
        let [from, to] = [line.from, line.to].map(|end| NodeIndex::new(place(parts, end)));
        graph.add_edge(from, to, ());
    }
    graph
}

fn place(parts: &Parts, end: End) -> usize {
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
        joined.union(place(parts, line.from), place(parts, line.to));
    }
    let mut wet: Vec<usize> = (0..parts.tanks.len()).map(|t| joined.find_mut(tanks + t)).collect();
    wet.sort_unstable();
    (0..parts.downspouts.len()).map(|d| wet.binary_search(&joined.find_mut(d)).is_ok()).collect()
}

impl Line {
    /// What one of its ends is joined to.
    pub fn end(&self, end: LineEnd) -> End {
        match end {
            LineEnd::From => self.from,
            LineEnd::To => self.to,
        }
    }
}

impl Network {
    /// How many places there are: downspouts, points and tanks.
    pub fn places(&self) -> usize {
        self.graph.node_count()
    }

    /// The place of a downspout, point or tank: downspouts come first, then points, then tanks.
    pub fn place(&self, end: End) -> PlaceId {
        PlaceId::new(place(self.parts(), end))
    }

    /// What stands at a place.
    pub fn end_at(&self, place: PlaceId) -> End {
        self.graph[NodeIndex::new(place.index())]
    }

    /// The lines that meet at a place, in file order, each with the end of it that is there.
    pub fn meets(&self, end: End) -> impl ExactSizeIterator<Item = (LineId, LineEnd)> + use<> {
        let node = NodeIndex::new(place(self.parts(), end));
        let at = |direction: Direction, end: LineEnd| {
            let edges = self.graph.edges_directed(node, direction);
            edges.map(move |edge| (LineId::new(edge.id().index()), end))
        };
        let leave = at(Direction::Outgoing, LineEnd::From);
        let enter = at(Direction::Incoming, LineEnd::To);
        let mut lines: smallvec::SmallVec<[(LineId, LineEnd); 4]> = leave.chain(enter).collect();
        lines.sort_unstable();
        lines.into_iter()
    }

    /// The groups of pipes that are joined without passing a tank.
    ///
    /// # Complexity
    /// Time and space linear in the number of pieces, nearly.
    pub fn groups(&self) -> Groups {
        let mut joined = UnionFind::<usize>::new(self.places());
        for line in self.lines() {
            if !matches!(line.from, End::Tank(_)) && !matches!(line.to, End::Tank(_)) {
                joined.union(self.place(line.from).index(), self.place(line.to).index());
            }
        }
        // A group is named by its first place.
        let mut name = vec![usize::MAX; self.places()];
        let of = (0..self.places())
            .map(|place| {
                let root = joined.find_mut(place);
                if name[root] == usize::MAX {
                    name[root] = place;
                }
                PlaceId::new(name[root])
            })
            .collect();
        Groups { of }
    }
}

/// Which places, and so which lines, are joined without passing a tank.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Groups {
    of: Vec<PlaceId>,
}

impl Groups {
    /// The group of a downspout or a point, by its first place; a tank stands alone.
    pub fn of(&self, network: &Network, end: End) -> PlaceId {
        self.of[network.place(end).index()]
    }

    /// The group of a line; `None` for one between two tanks.
    pub fn of_line(&self, network: &Network, line: &Line) -> Option<PlaceId> {
        let end = [line.from, line.to].into_iter().find(|end| !matches!(end, End::Tank(_)))?;
        Some(self.of(network, end))
    }
}
