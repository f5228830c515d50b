//! Loops: where water has two ways round.

use crate::Network;
use petgraph::graph::{EdgeIndex, NodeIndex};
use petgraph::visit::EdgeRef;

impl Network {
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
        let mut crossings = vec![0_i64; self.places()];
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

    /// The places in depth-first order, group after group.
    fn depth_first(&self) -> DepthFirst {
        let mut order = DepthFirst {
            nodes: Vec::with_capacity(self.places()),
            place: vec![usize::MAX; self.places()],
            up: vec![None; self.places()],
        };
        for root in self.graph.node_indices() {
            if order.place[root.index()] != usize::MAX {
                continue;
            }
            order.visit(root);
            let mut stack = vec![(root, self.graph.neighbors_undirected(root).detach())];
            while let Some((at, walk)) = stack.last_mut() {
                let at = *at;
                let Some((edge, to)) = walk.next(&self.graph) else {
                    stack.pop();
                    continue;
                };
                if order.place[to.index()] == usize::MAX {
                    order.up[to.index()] = Some((edge, at));
                    order.visit(to);
                    stack.push((to, self.graph.neighbors_undirected(to).detach()));
                }
            }
        }
        order
    }
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
