//! Levels: what the installer sets, how far off each may be, and the re-check of what was built.
//!
//! [`schedule`] finds for every level that somebody sets how far that one level may go with the
//! rest as drawn, and the one tolerance that all of them may have at once. [`LevelRun`] turns
//! rod readings into levels and back. [`review_as_built`] judges measured levels.

mod as_built;
mod drawn;
mod limit;
mod mend;
mod rod;
mod schedule;
mod set_point;
mod tolerance;

pub use as_built::{AsBuilt, AsBuiltError, Deviation, Verdict, review_as_built};
pub use drawn::{Drawn, Margin, State};
pub use mend::{WinBack, win_back};
pub use rod::{Close, Instrument, LevelRun, RunError};
pub use schedule::{Effect, Limits, Schedule, schedule};
pub use set_point::{OwnEnds, SetPoint, set_points};
