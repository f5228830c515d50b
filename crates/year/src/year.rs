//! What a run came to.

use wetrun_units::{Length, Volume};

/// The outcome of a run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Year {
    /// Days from the first to the last of the rain.
    pub days: usize,
    /// Days among them without a sound value, counted as dry.
    pub days_missing: usize,
    /// Sums over all days.
    pub totals: Totals,
    /// Of each use, in file order.
    pub uses: Vec<UseYear>,
    /// Of each tank, in the network's order.
    pub tanks: Vec<TankYear>,
    /// Of each calendar month, the first to the last.
    pub months: Vec<MonthYear>,
    /// The day of heaviest rain, counted from the first, and its depth.
    pub heaviest: Option<(usize, Length)>,
    /// Day by day, where the caller asked for it.
    pub course: Vec<Course>,
}

/// Sums over all days.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Totals {
    /// Rain on all roofs.
    pub rain: Volume,
    /// What reached the tanks' inlets.
    pub caught: Volume,
    /// Rain less caught: wetting, runoff, first flush.
    pub lost: Volume,
    /// What the uses took.
    pub used: Volume,
    /// What ran onto the ground.
    pub overflowed: Volume,
    /// Rain and start less all that became of it: rounding.
    pub balance: Volume,
}

/// What became of a use.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct UseYear {
    /// What it wanted.
    pub asked: Volume,
    /// What it got.
    pub met: Volume,
    /// Days on which it missed more than 1e-9 m³.
    pub days_short: usize,
    /// The longest run of such days.
    pub longest_short: usize,
    /// The first day of that run, counted from the first of the rain.
    pub longest_from: usize,
}

/// What became of a tank: start + received = given + overflowed + end.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TankYear {
    /// At the start.
    pub start: Volume,
    /// From roofs, overflows and transfers.
    pub received: Volume,
    /// To uses and transfers.
    pub given: Volume,
    /// Over its overflow, to wherever that runs.
    pub overflowed: Volume,
    /// At the end.
    pub end: Volume,
    /// Days that end with no more than its outlet leaves.
    pub days_empty: usize,
}

/// A calendar month.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MonthYear {
    /// Year.
    pub year: i64,
    /// Month, 1 to 12.
    pub month: i64,
    /// Rain on all roofs.
    pub rain: Volume,
    /// What reached the tanks' inlets.
    pub caught: Volume,
    /// What ran onto the ground.
    pub overflowed: Volume,
    /// What the uses wanted.
    pub asked: Volume,
    /// What they got.
    pub met: Volume,
    /// In all tanks at its end.
    pub end: Volume,
}

/// A day.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Course {
    /// Rain on all roofs.
    pub rain: Volume,
    /// What ran onto the ground.
    pub overflowed: Volume,
    /// What the uses wanted.
    pub asked: Volume,
    /// What they got.
    pub met: Volume,
    /// In each tank at its end.
    pub tanks: Vec<Volume>,
}
