//! Which lines meet at each node, in one run of memory.

use crate::line::{Joint, LineModel};

/// The ends of lines at each node: the line, and which of its ends is there.
#[derive(Clone, Debug)]
pub(crate) struct Incidence {
    /// Where each node's ends begin, and where the last node's stop.
    first: Vec<usize>,
    ends: Vec<(usize, usize)>,
}

impl Incidence {
    /// Gathers the ends of all lines, at each node in the order of the lines.
    pub(crate) fn new(nodes: usize, lines: &[LineModel]) -> Self {
        let ends_at_nodes = || {
            lines.iter().enumerate().flat_map(|(index, line)| {
                line.ends.into_iter().enumerate().filter_map(move |(side, end)| match end {
                    Joint::Node(node) => Some((node, (index, side))),
                    Joint::Tank(_) => None,
                })
            })
        };
        let mut first = vec![0; nodes + 1];
        for (node, _) in ends_at_nodes() {
            first[node + 1] += 1;
        }
        for node in 0..nodes {
            first[node + 1] += first[node];
        }
        let mut next = first.clone();
        let mut ends = vec![(0, 0); first[nodes]];
        for (node, end) in ends_at_nodes() {
            ends[next[node]] = end;
            next[node] += 1;
        }
        Self { first, ends }
    }

    /// The lines' ends at a node.
    pub(crate) fn at(&self, node: usize) -> &[(usize, usize)] {
        &self.ends[self.first[node]..self.first[node + 1]]
    }
}
