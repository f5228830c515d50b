//! What came of a run: peaks, volumes and times, in file order as in the network.

use thiserror::Error;
use wetrun_units::{Flow, Length, Speed, Time, Volume};

/// A spill or a loss of no more than this is none.
pub const COUNTS: Volume = Volume::m3(1e-6);

/// A storm that has passed.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Passed {
    /// When the run ended.
    pub ended: Time,
    /// Where the rain went.
    pub totals: Totals,
    /// One for each downspout.
    pub downspouts: Vec<ColumnCourse>,
    /// One for each opening, as [`wetrun_network::Network::openings`] has them.
    pub openings: Vec<OpeningCourse>,
    /// One for each line.
    pub lines: Vec<LineCourse>,
    /// One for each tank.
    pub tanks: Vec<TankCourse>,
    /// Moments on the way, where they were asked for.
    pub moments: Vec<Moment>,
    /// Steps taken.
    pub steps: u32,
    /// Newton steps of their stages, those of refused ones too.
    pub iterations: u32,
    /// The largest error of a level that a step was estimated to make.
    pub level_error: Length,
}

/// Where the rain went; `balance` is what is not accounted for.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Totals {
    /// Fallen on the roofs.
    pub rain: Volume,
    /// Of that, wetted the roofs.
    pub wetted: Volume,
    /// Of the rest, never runs off.
    pub no_runoff: Volume,
    /// Rain less those two.
    pub runoff: Volume,
    /// Spilled at downspouts.
    pub spilled: Volume,
    /// Came out of openings.
    pub escaped: Volume,
    /// More than at the start in tanks, columns, gutters, lines, and on roofs.
    pub stored: Volume,
    /// Left the site by overflows.
    pub overflowed: Volume,
    /// Lost over rims.
    pub over_rim: Volume,
    /// Rain − wetted − no runoff − spilled − escaped − stored − overflowed − over rim.
    pub balance: Volume,
}

/// A downspout's column.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ColumnCourse {
    /// Where it stood before the rain.
    pub start_level: Length,
    /// Highest level.
    pub peak_level: Length,
    /// When it was first there.
    pub peak_at: Time,
    /// The greatest flow that the roofs brought it.
    pub peak_runoff: Flow,
    /// Spilled over its lip.
    pub spilled: Volume,
    /// When it first spilled, if it did.
    pub spills_from: Option<Time>,
    /// How long it spilled in all.
    pub spills_for: Time,
}

/// An opening of a point.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OpeningCourse {
    /// Highest head at the point.
    pub peak_level: Length,
    /// Came out.
    pub escaped: Volume,
    /// When water first came out.
    pub escapes_from: Option<Time>,
}

/// A line. Flows are positive from `from` to `to`; peaks are without sign.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LineCourse {
    /// Greatest flow.
    pub peak_flow: Flow,
    /// Its speed on the full bore.
    pub peak_velocity: Speed,
    /// When.
    pub peak_at: Time,
    /// What passed its finish, net.
    pub passed: Volume,
}

/// A tank.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TankCourse {
    /// What it held before; `None` where it stores nothing.
    pub start: Option<Volume>,
    /// What it holds after.
    pub end: Option<Volume>,
    /// Net from its lines and from overflows into it.
    pub received: Volume,
    /// Let run over, net.
    pub overflowed: Volume,
    /// Lost over its rim.
    pub over_rim: Volume,
    /// When it was first full.
    pub full_at: Option<Time>,
    /// Its highest level; `None` where it has none of its own.
    pub peak_level: Option<Length>,
}

/// The system at one moment.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Moment {
    /// When.
    pub at: Time,
    /// Level in each downspout.
    pub levels: Vec<Length>,
    /// What spills at each downspout.
    pub spills: Vec<Flow>,
    /// Flow into the finish of each line.
    pub flows: Vec<Flow>,
    /// Head at each opening.
    pub heads: Vec<Length>,
    /// Level in each tank.
    pub tanks: Vec<Option<Length>>,
    /// What each tank receives, net, from its lines and from overflows into it.
    pub received: Vec<Flow>,
    /// What each tank lets run over.
    pub overflows: Vec<Flow>,
}

/// There is no number to report.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum NotFollowed {
    /// The run could not be followed any further.
    #[error(
        "the motion of the water could not be followed past {at_s:.3} s: no step from there settles"
    )]
    #[non_exhaustive]
    Unsettled {
        /// The moment up to which it was followed, s.
        at_s: f64,
    },
    /// Nobody waits for it any more.
    #[error("nobody waits for it any more")]
    CalledOff,
    /// There is nothing to start from.
    #[error("the tanks cannot stand as they are to start")]
    NoStart,
}
