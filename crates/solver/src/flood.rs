//! The order in which still water that rises finds its ways out.

use std::cmp::Ordering;

/// A node that would drain at a level, by a line and its end there, or over its own lip.
pub(crate) struct WayOut {
    pub(crate) level: f64,
    pub(crate) node: usize,
    /// `None` over its own lip, or where the line does not matter.
    pub(crate) by: Option<(usize, usize)>,
}

impl Ord for WayOut {
    /// The lowest level first, then the lowest node and line, so that the order never depends on
    /// chance.
    fn cmp(&self, other: &Self) -> Ordering {
        (other.level.total_cmp(&self.level))
            .then(other.node.cmp(&self.node))
            .then(other.by.cmp(&self.by))
    }
}

impl PartialOrd for WayOut {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for WayOut {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for WayOut {}
