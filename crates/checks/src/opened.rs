//! What opening a drain does, as rules are told of it.

use std::time::Duration;
use wetrun_network::PointId;
use wetrun_units::{Speed, Volume};

/// A drain that was opened by itself over the water at rest, in dry weather, and followed until
/// nothing more came.
#[derive(Clone, Debug, PartialEq)]
pub struct DrainOpened {
    /// Where it is.
    pub at: PointId,
    /// What leaves the lines and the downspouts.
    pub drained: Volume,
    /// What stays in them.
    pub left: Volume,
    /// By when 95 % of what leaves has left.
    pub most_drained: Duration,
    /// The fastest that each line gets, on the full bore.
    pub fastest: Vec<Speed>,
}
