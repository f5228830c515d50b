//! Routes: the ways of the lines from a downspout's foot to a tank.

use super::Topology;
use crate::parts::End;
use crate::{DownspoutId, LineId, TankId};
use petgraph::graph::NodeIndex;
use petgraph::visit::EdgeRef;
use std::cmp::Reverse;
use std::collections::BinaryHeap;
use wetrun_units::Length;

/// A way from a downspout to a tank that passes no place twice and no other tank.
#[derive(Clone, Debug, PartialEq)]
pub struct Route {
    /// Its lines, from the downspout's foot on.
    pub lines: Vec<LineId>,
    /// The tank at its end.
    pub tank: TankId,
    /// The sum of its lines' lengths.
    pub length: Length,
}

/// For every place, the first line of its shortest way to a tank.
#[derive(Clone, Debug)]
pub struct ShortestRoutes {
    next: Vec<Option<(LineId, NodeIndex)>>,
    ends: Vec<End>,
    lengths_m: Vec<f64>,
}

impl ShortestRoutes {
    /// The shortest route of a downspout, by length of pipe.
    ///
    /// # Complexity
    /// Time linear in the number of lines on the route.
    pub fn of(&self, downspout: DownspoutId) -> Option<Route> {
        let mut at = Topology::downspout_node(downspout);
        let mut lines = Vec::new();
        let mut length_m = 0.0;
        loop {
            if let End::Tank(tank) = self.ends[at.index()] {
                return Some(Route { lines, tank, length: Length::m(length_m) });
            }
            let (line, to) = self.next[at.index()]?;
            lines.push(line);
            length_m += self.lengths_m[line.index()];
            at = to;
        }
    }
}

impl Topology<'_> {
    /// The shortest way from every place to a tank, by length of pipe; of equal ways that by the
    /// line that stands first in the file.
    ///
    /// # Complexity
    /// Time `(n + m) log n` for `n` places and `m` lines, by Dijkstra's method from all tanks at
    /// once; space linear.
    pub fn shortest_routes(&self) -> ShortestRoutes {
        let mut away_m = vec![f64::INFINITY; self.nodes()];
        let mut next = vec![None; self.nodes()];
        let mut settled = vec![false; self.nodes()];
        // Lengths are positive and finite, and such numbers sort as their bits do.
        let mut queue = BinaryHeap::new();
        away_m[self.first_tank()..].fill(0.0);
        queue.extend((self.first_tank()..self.nodes()).map(|tank| Reverse((0_u64, tank))));
        while let Some(Reverse((_, nearest))) = queue.pop() {
            if std::mem::replace(&mut settled[nearest], true) {
                continue;
            }
            for edge in self.graph.edges(NodeIndex::new(nearest)) {
                let line = self.line(edge.id());
                let other = edge.target().index();
                let through_m = away_m[nearest] + self.length_m(line);
                let first = next[other].is_none_or(|(known, _)| line < known);
                if through_m < away_m[other] || (through_m == away_m[other] && first) {
                    if settled[other] {
                        continue;
                    }
                    away_m[other] = through_m;
                    next[other] = Some((line, NodeIndex::new(nearest)));
                    queue.push(Reverse((through_m.to_bits(), other)));
                }
            }
        }
        ShortestRoutes {
            next,
            ends: self.graph.node_weights().copied().collect(),
            lengths_m: self.network.lines().iter().map(|l| l.length.to_m()).collect(),
        }
    }

    /// All routes of a downspout, at most `most` of them, in the order of the lines in the file.
    ///
    /// # Complexity
    /// There may be more routes than anyone can list, hence the bound. Each costs time
    /// `n (n + m)` at the most; space is linear besides the routes themselves.
    pub fn routes(&self, downspout: DownspoutId, most: usize) -> Vec<Route> {
        let start = Self::downspout_node(downspout);
        let mut found = Vec::new();
        let mut passed = vec![false; self.nodes()];
        let mut path: Vec<LineId> = Vec::new();
        // Each level of the search keeps the ways still to try; each of them leads to a tank.
        passed[start.index()] = true;
        let mut levels = vec![(start, self.ways_on(start, &passed))];
        while let Some((at, ways)) = levels.last_mut() {
            let Some((line, to)) = ways.pop() else {
                passed[at.index()] = false;
                levels.pop();
                path.pop();
                continue;
            };
            if let End::Tank(tank) = self.graph[to] {
                let mut lines = path.clone();
                lines.push(line);
                let length_m = lines.iter().map(|l| self.length_m(*l)).sum();
                found.push(Route { lines, tank, length: Length::m(length_m) });
                if found.len() >= most {
                    break;
                }
                continue;
            }
            path.push(line);
            passed[to.index()] = true;
            let ways = self.ways_on(to, &passed);
            levels.push((to, ways));
        }
        found
    }

    /// The lines at `at` that lead on to a tank without touching what is passed; the last in
    /// the file first, for the search takes them from the end.
    fn ways_on(&self, at: NodeIndex, passed: &[bool]) -> Vec<(LineId, NodeIndex)> {
        let mut leads = vec![false; self.nodes()];
        let mut queue: Vec<NodeIndex> =
            (self.first_tank()..self.nodes()).map(NodeIndex::new).collect();
        for tank in &queue {
            leads[tank.index()] = true;
        }
        while let Some(reached) = queue.pop() {
            for to in self.graph.neighbors(reached) {
                if !leads[to.index()] && !passed[to.index()] {
                    leads[to.index()] = true;
                    queue.push(to);
                }
            }
        }
        let mut ways: Vec<(LineId, NodeIndex)> = self
            .graph
            .edges(at)
            .filter(|edge| leads[edge.target().index()])
            .map(|edge| (self.line(edge.id()), edge.target()))
            .collect();
        ways.sort_by_key(|(line, _)| Reverse(*line));
        ways
    }
}
