//! Places by the least number found for each so far.

use ordered_float::OrderedFloat;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Places by the least number found for each so far.
#[derive(Default)]
pub(crate) struct Queue(BinaryHeap<Reverse<(OrderedFloat<f64>, usize)>>);

impl Queue {
    /// Adds a node with a number.
    pub(crate) fn add(&mut self, number: f64, node: usize) {
        self.0.push(Reverse((OrderedFloat(number), node)));
    }

    /// Takes the node of the least number.
    pub(crate) fn least(&mut self) -> Option<(f64, usize)> {
        self.0.pop().map(|Reverse((number, node))| (number.0, node))
    }
}
