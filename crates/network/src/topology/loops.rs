//! Loops: where water has two ways round.

use super::Topology;
use crate::LineId;
use petgraph::graph::{EdgeIndex, NodeIndex};
use petgraph::visit::EdgeRef;
use std::collections::VecDeque;

impl Topology<'_> {
    /// A basis of the loops: each loop of the network is a combination of these. Two lines from
    /// one place to the same tank are a loop too; two tanks are two places.
    ///
    /// Each loop lists its lines in order round it, the line that closes it first. There are as
    /// many as lines less places plus groups.
    ///
    /// # Complexity
    /// Time and space linear in the pieces plus the total length of the loops, each of which
    /// is short: the tree they are closed on is one of fewest lines.
    pub fn loops(&self) -> Vec<Vec<LineId>> {
        let forest = self.forest();
        let mut on_tree = vec![false; self.graph.edge_count()];
        for (edge, _) in forest.up.iter().flatten() {
            on_tree[edge.index()] = true;
        }
        let closing = self.graph.edge_indices().filter(|edge| !on_tree[edge.index()]);
        closing.map(|edge| self.around(edge, &forest)).collect()
    }

    /// For each line, in file order, whether it lies on a loop: whether its ends stay joined
    /// without it.
    ///
    /// # Complexity
    /// Time and space linear in the number of pieces.
    pub fn on_a_loop(&self) -> Vec<bool> {
        // On a depth-first tree every other line runs between a place and one above it, so the
        // other lines that pass over a tree line are those that start below it less those that
        // end below it. A tree line that none passes over is on no loop.
        let order = self.depth_first();
        let mut crossings = vec![0_i64; self.nodes()];
        let mut looped = vec![true; self.graph.edge_count()];
        let mut on_tree = vec![false; self.graph.edge_count()];
        for (edge, _) in order.up.iter().flatten() {
            on_tree[edge.index()] = true;
        }
        for edge in self.graph.edge_references().filter(|e| !on_tree[e.id().index()]) {
            let (a, b) = (edge.source().index(), edge.target().index());
            let (low, high) = if order.place[a] > order.place[b] { (a, b) } else { (b, a) };
            crossings[low] += 1;
            crossings[high] -= 1;
        }
        for &node in order.nodes.iter().rev() {
            if let Some((edge, parent)) = order.up[node.index()] {
                looped[edge.index()] = crossings[node.index()] > 0;
                crossings[parent.index()] += crossings[node.index()];
            }
        }
        looped
    }

    /// The loop that a line closes on the forest.
    fn around(&self, closing: EdgeIndex, forest: &Forest) -> Vec<LineId> {
        let mut there = vec![self.line(closing)];
        let mut back = Vec::new();
        let Some((mut a, mut b)) = self.graph.edge_endpoints(closing) else { return there };
        while a != b {
            let (lower, way) = if forest.depth[a.index()] >= forest.depth[b.index()] {
                (&mut a, &mut back)
            } else {
                (&mut b, &mut there)
            };
            let Some((edge, parent)) = forest.up[lower.index()] else { break };
            way.push(self.line(edge));
            *lower = parent;
        }
        there.extend(back.into_iter().rev());
        there
    }

    /// A spanning forest of fewest lines to each group's first place.
    fn forest(&self) -> Forest {
        let mut forest = Forest { up: vec![None; self.nodes()], depth: vec![0; self.nodes()] };
        let mut seen = vec![false; self.nodes()];
        let mut queue = VecDeque::new();
        // Tanks first, so that loops are closed near where the water goes.
        for root in self.graph.node_indices().rev() {
            if std::mem::replace(&mut seen[root.index()], true) {
                continue;
            }
            queue.push_back(root);
            while let Some(at) = queue.pop_front() {
                for edge in self.graph.edges(at) {
                    let to = edge.target();
                    if !std::mem::replace(&mut seen[to.index()], true) {
                        forest.up[to.index()] = Some((edge.id(), at));
                        forest.depth[to.index()] = forest.depth[at.index()] + 1;
                        queue.push_back(to);
                    }
                }
            }
        }
        forest
    }

    /// The places in depth-first order, group after group.
    fn depth_first(&self) -> DepthFirst {
        let mut order = DepthFirst {
            nodes: Vec::with_capacity(self.nodes()),
            place: vec![usize::MAX; self.nodes()],
            up: vec![None; self.nodes()],
        };
        for root in self.graph.node_indices() {
            if order.place[root.index()] != usize::MAX {
                continue;
            }
            order.visit(root);
            let mut stack = vec![(root, self.graph.neighbors(root).detach())];
            while let Some((at, walk)) = stack.last_mut() {
                let at = *at;
                let Some((edge, to)) = walk.next(&self.graph) else {
                    stack.pop();
                    continue;
                };
                if order.place[to.index()] == usize::MAX {
                    order.up[to.index()] = Some((edge, at));
                    order.visit(to);
                    stack.push((to, self.graph.neighbors(to).detach()));
                }
            }
        }
        order
    }
}

/// For each place the line towards its root and the place at that line's end.
struct Forest {
    up: Vec<Option<(EdgeIndex, NodeIndex)>>,
    depth: Vec<u32>,
}

/// Places in the order a depth-first walk meets them: every line that is not on its tree runs
/// between a place and one above it.
struct DepthFirst {
    nodes: Vec<NodeIndex>,
    place: Vec<usize>,
    up: Vec<Option<(EdgeIndex, NodeIndex)>>,
}

impl DepthFirst {
    fn visit(&mut self, node: NodeIndex) {
        self.place[node.index()] = self.nodes.len();
        self.nodes.push(node);
    }
}
