//! Levels: what the installer sets, how far off each may be, and the re-check of what was built.
//!
//! [`schedule`] finds for every level that somebody sets how far that one level may go with the
//! rest as drawn, and the one tolerance that all of them may have at once. [`LevelRun`] turns
//! rod readings into levels and back. [`review_as_built`] judges measured levels.

mod as_built;
mod drawn;
mod judgement;
mod limit;
mod mend;
mod rod;
mod schedule;
mod set_point;
mod tolerance;

pub use as_built::{AsBuilt, AsBuiltError, Deviation, Standing, review_as_built};
pub use drawn::{Drawn, State};
pub use judgement::{Broken, Judgement, turned};
pub use rod::{Close, Instrument, LevelRun, RunError};
pub use schedule::{By, Effect, Limits, Schedule, Stop, schedule};
pub use set_point::{OwnEnds, PointLevels, SetPoint, set_points};
