//! The order in which still water that rises finds its ways out.

use ordered_float::OrderedFloat;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// A node that would drain at a level, by a line and its end there, or over its own lip. The lowest
/// comes first, then the first node and line, so that the order never depends on chance.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct WayOut {
    level: OrderedFloat<f64>,
    pub(crate) node: usize,
    /// `None` over its own lip, or where the line does not matter.
    pub(crate) by: Option<(usize, usize)>,
}

impl WayOut {
    /// The level at which it drains.
    pub(crate) fn level(&self) -> f64 {
        self.level.0
    }
}

/// Ways out that rising water has not reached.
#[derive(Default)]
pub(crate) struct Flood(BinaryHeap<Reverse<WayOut>>);

impl Flood {
    /// Adds a way out.
    pub(crate) fn add(&mut self, level: f64, node: usize, by: Option<(usize, usize)>) {
        self.0.push(Reverse(WayOut { level: OrderedFloat(level), node, by }));
    }

    /// Takes the lowest.
    pub(crate) fn lowest(&mut self) -> Option<WayOut> {
        self.0.pop().map(|Reverse(way)| way)
    }
}
