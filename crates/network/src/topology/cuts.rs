//! Cut pieces: what must not be lost or blocked, for a downspout hangs on it.

use crate::Network;
use crate::parts::End;
use crate::{DownspoutId, LineId, PointId};
use petgraph::graph::{EdgeIndex, NodeIndex, UnGraph};
use std::ops::Range;

/// A piece of the network that can be lost or blocked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Piece {
    /// A buried line.
    Line(LineId),
    /// A point.
    Point(PointId),
    /// The foot of a downspout that other downspouts' water passes.
    Foot(DownspoutId),
}

/// A piece whose loss or blocking leaves downspouts without a way to any tank.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CutPiece<'c> {
    /// The piece.
    pub piece: Piece,
    /// The downspouts it cuts off, from the tank outwards. A foot's own downspout is not listed.
    pub cuts_off: &'c [DownspoutId],
}

/// All cut pieces of a network.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CutPieces {
    /// Downspouts in an order that makes what a piece cuts off one stretch of it, so that a
    /// line with a downspout at every joint needs no quadratic list.
    order: Vec<DownspoutId>,
    pieces: Vec<(Piece, Range<usize>)>,
}

impl CutPieces {
    /// The pieces: lines, then points, then feet, each in file order.
    pub fn iter(&self) -> impl Iterator<Item = CutPiece<'_>> {
        self.pieces
            .iter()
            .map(|(piece, range)| CutPiece { piece: *piece, cuts_off: &self.order[range.clone()] })
    }
}

impl Network {
    /// Every line, point and foot whose loss leaves a downspout without a way to a tank. All
    /// tanks count as joined to one outside root: any of them will do.
    ///
    /// # Complexity
    /// Time and space linear in the number of pieces: one depth-first walk from the root with
    /// the least place that each branch reaches back to (Tarjan 1972, Hopcroft and Tarjan 1973).
    pub fn cut_pieces(&self) -> CutPieces {
        let walk = Walk::from_the_tanks(self);
        let places = self.stretches(&walk);
        let mut pieces = Vec::new();
        for &node in &walk.order {
            let Some((edge, parent)) = walk.up[node.index()] else { continue };
            let bridge = walk.low[node.index()] > walk.place[parent.index()];
            if bridge && edge.index() < self.graph.edge_count() {
                pieces.push((Piece::Line(LineId::new(edge.index())), places.all(node)));
            }
            match walk.graph[node] {
                Some(End::Point(id)) => pieces.push((Piece::Point(id), places.cut(node))),
                Some(End::Downspout(id)) => pieces.push((Piece::Foot(id), places.cut(node))),
                Some(End::Tank(_)) | None => {}
            }
        }
        pieces.retain(|(_, stretch)| !stretch.is_empty());
        pieces.sort_by_key(|(piece, _)| *piece);
        CutPieces { order: places.order, pieces }
    }

    /// Lays the downspouts out so that the branches a place cuts off come first after it.
    fn stretches(&self, walk: &Walk) -> Stretches {
        let n = walk.graph.node_count();
        let own =
            |node: NodeIndex| usize::from(matches!(walk.graph[node], Some(End::Downspout(_))));
        let mut size = vec![0; n]; // downspouts in the branch, its own included
        let mut cut = vec![0; n]; // of these, the ones that the place cuts off
        for &node in walk.order.iter().rev() {
            size[node.index()] += own(node);
            if let Some((_, parent)) = walk.up[node.index()] {
                size[parent.index()] += size[node.index()];
                if walk.cuts_at_parent(node) {
                    cut[parent.index()] += size[node.index()];
                }
            }
        }
        let mut start = vec![0; n];
        let mut next_cut = vec![0; n];
        let mut next_other = vec![0; n];
        let mut order = vec![DownspoutId::new(0); walk.order.iter().map(|d| own(*d)).sum()];
        for &node in &walk.order {
            let here = node.index();
            if let Some((_, parent)) = walk.up[here] {
                let next = if walk.cuts_at_parent(node) { &mut next_cut } else { &mut next_other };
                start[here] = next[parent.index()];
                next[parent.index()] += size[here];
            }
            if let Some(End::Downspout(id)) = walk.graph[node] {
                order[start[here]] = id;
            }
            next_cut[here] = start[here] + own(node);
            next_other[here] = next_cut[here] + cut[here];
        }
        let cut_start =
            walk.graph.node_indices().map(|node| start[node.index()] + own(node)).collect();
        Stretches { order, start, size, cut_start, cut }
    }
}

/// Where in one list of downspouts each branch lies.
struct Stretches {
    order: Vec<DownspoutId>,
    start: Vec<usize>,
    size: Vec<usize>,
    cut_start: Vec<usize>,
    cut: Vec<usize>,
}

impl Stretches {
    /// The downspouts in the branch from a place on.
    fn all(&self, node: NodeIndex) -> Range<usize> {
        let start = self.start[node.index()];
        start..start + self.size[node.index()]
    }

    /// The downspouts that the loss of a place cuts off.
    fn cut(&self, node: NodeIndex) -> Range<usize> {
        let start = self.cut_start[node.index()];
        start..start + self.cut[node.index()]
    }
}

/// A depth-first walk from a root that is joined to every tank.
struct Walk {
    /// The network with the root added as its last place.
    graph: UnGraph<Option<End>, ()>,
    /// Places in the order met; what no tank can reach is left out.
    order: Vec<NodeIndex>,
    /// The number of each place in that order.
    place: Vec<usize>,
    /// The least number that a place's branch reaches by one line off the tree.
    low: Vec<usize>,
    /// The line towards the root, and the place at its end.
    up: Vec<Option<(EdgeIndex, NodeIndex)>>,
}

impl Walk {
    fn from_the_tanks(network: &Network) -> Self {
        // Water may run either way, and the root has no place of its own.
        let mut graph = network.graph.map(|_, end| Some(*end), |_, _| ()).into_edge_type();
        let root = graph.add_node(None);
        for node in network.graph.node_indices() {
            if matches!(network.graph[node], End::Tank(_)) {
                graph.add_edge(root, node, ());
            }
        }
        let n = graph.node_count();
        let mut walk = Self {
            order: Vec::with_capacity(n),
            place: vec![usize::MAX; n],
            low: vec![usize::MAX; n],
            up: vec![None; n],
            graph,
        };
        walk.visit(root);
        let mut stack = vec![(root, walk.graph.neighbors(root).detach())];
        while let Some((at, neighbours)) = stack.last_mut() {
            let at = *at;
            match neighbours.next(&walk.graph) {
                Some((edge, to)) if walk.place[to.index()] == usize::MAX => {
                    walk.up[to.index()] = Some((edge, at));
                    walk.visit(to);
                    stack.push((to, walk.graph.neighbors(to).detach()));
                }
                // A second line between the same places is a way back; the same line is not.
                Some((edge, to)) => {
                    if walk.up[at.index()].is_none_or(|(up, _)| up != edge) {
                        walk.low[at.index()] = walk.low[at.index()].min(walk.place[to.index()]);
                    }
                }
                None => {
                    stack.pop();
                    if let Some((_, parent)) = walk.up[at.index()] {
                        let low = walk.low[at.index()];
                        walk.low[parent.index()] = walk.low[parent.index()].min(low);
                    }
                }
            }
        }
        walk
    }

    fn visit(&mut self, node: NodeIndex) {
        self.place[node.index()] = self.order.len();
        self.low[node.index()] = self.order.len();
        self.order.push(node);
    }

    /// Whether the loss of a place's parent cuts the place's branch off from the root.
    fn cuts_at_parent(&self, node: NodeIndex) -> bool {
        self.up[node.index()].is_some_and(|(_, parent)| {
            self.up[parent.index()].is_some()
                && self.low[node.index()] >= self.place[parent.index()]
        })
    }
}
