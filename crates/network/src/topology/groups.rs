//! Groups: what lines join together, so that water could pass from one to the other.

use super::Topology;
use crate::parts::End;
use crate::{DownspoutId, LineId, PointId, TankId};
use petgraph::unionfind::UnionFind;

/// Pieces that lines join to one another, each list in file order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Group {
    /// Its downspouts.
    pub downspouts: Vec<DownspoutId>,
    /// Its points.
    pub points: Vec<PointId>,
    /// Its lines.
    pub lines: Vec<LineId>,
    /// Its tanks.
    pub tanks: Vec<TankId>,
}

impl Topology<'_> {
    /// The connected groups, in the order in which their first piece stands in the network.
    ///
    /// A group without a downspout (a tank that no line enters, say) is listed too.
    ///
    /// # Complexity
    /// Time almost linear, space linear in the number of pieces.
    pub fn groups(&self) -> Vec<Group> {
        let mut joined = UnionFind::<usize>::new(self.nodes());
        for edge in self.graph.raw_edges() {
            joined.union(edge.source().index(), edge.target().index());
        }
        let mut groups: Vec<Group> = Vec::new();
        let mut group_of_root = vec![usize::MAX; self.nodes()];
        for node in self.graph.node_indices() {
            let root = joined.find_mut(node.index());
            if group_of_root[root] == usize::MAX {
                group_of_root[root] = groups.len();
                groups.push(Group::default());
            }
            let group = &mut groups[group_of_root[root]];
            match self.graph[node] {
                End::Downspout(id) => group.downspouts.push(id),
                End::Point(id) => group.points.push(id),
                End::Tank(id) => group.tanks.push(id),
            }
        }
        for edge in self.graph.raw_edges() {
            let root = joined.find_mut(edge.source().index());
            groups[group_of_root[root]].lines.push(edge.weight);
        }
        groups
    }
}
