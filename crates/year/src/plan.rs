//! What the days run through: roofs, downspouts, tanks, uses and transfers, as plain data.

use wetrun_units::{Area, Flow, Fraction, Length, Volume};

/// All that a run needs besides the rain. Places in a list are tanks by their index.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plan {
    /// Roofs, in file order.
    pub roofs: Vec<Roof>,
    /// Downspouts, in the network's order.
    pub downspouts: Vec<Catchment>,
    /// Tanks, in the network's order.
    pub tanks: Vec<Tank>,
    /// Transfers, in file order.
    pub transfers: Vec<Transfer>,
    /// Uses, in file order.
    pub uses: Vec<Use>,
    /// A tank that is shut for a time.
    pub shut: Option<Shut>,
}

/// A roof.
#[derive(Clone, Debug, PartialEq)]
pub struct Roof {
    /// Area in plan.
    pub area: Area,
    /// Part of the rain that runs off.
    pub runoff: Fraction,
    /// First depth of a day's rain, lost.
    pub wetting: Length,
    /// Downspouts by index, each with its share.
    pub to: Vec<(usize, Fraction)>,
}

/// Where a downspout's water goes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Catchment {
    /// Held back on each day that has rain.
    pub first_flush: Volume,
    /// Tanks by index, each with its share; together 1.
    pub to: Vec<(usize, Fraction)>,
}

/// A tank.
#[derive(Clone, Debug, PartialEq)]
pub struct Tank {
    /// Volume to the overflow, more than 0.
    pub volume: Volume,
    /// Share of it at the start.
    pub start: Fraction,
    /// Share of it that the outlet cannot take.
    pub least: Fraction,
    /// The tank its overflow runs to, or `None` for the ground; never in a circle.
    pub overflow_to: Option<usize>,
}

/// A pump from one tank to another; shares of the tanks' volumes.
#[derive(Clone, Debug, PartialEq)]
pub struct Transfer {
    /// Giving tank.
    pub from: usize,
    /// Receiving tank.
    pub to: usize,
    /// Flow while it runs.
    pub rate: Flow,
    /// Starts below this share of the receiving tank.
    pub when_below: Fraction,
    /// Stops at this share of the receiving tank.
    pub until: Fraction,
    /// Stops at this share of the giving tank.
    pub leaves: Fraction,
}

/// A use.
#[derive(Clone, Debug, PartialEq)]
pub struct Use {
    /// What it takes.
    pub takes: Flow,
    /// Tanks by index.
    pub from: Vec<usize>,
    /// Whether it takes water in January, February and so on.
    pub months: [bool; 12],
}

/// A tank shut for a time: its water stays, nothing comes in, and what would have come runs to the
/// ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shut {
    /// The tank.
    pub tank: usize,
    /// The first day, counted from the first of the rain.
    pub first: usize,
    /// The last day.
    pub last: usize,
}
