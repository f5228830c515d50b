//! Water in motion: columns, lines and tanks of an always-full system while a storm passes.
//!
//! Columns and lines move as rigid columns of water, tanks as level pools; points store nothing.
//! A run starts at rest, takes steps by their error, and accounts for all rain.

mod bed;
mod column;
mod drain;
mod film;
mod flush;
mod gutter;
mod outcome;
mod part_full;
mod plant;
mod reach;
mod record;
mod run;
mod runoff;
mod scene;
mod sparse;
mod stage;
mod state;
mod step;
mod sum;
mod vessel;
mod watch;

pub use flush::{
    DrainCourse, Drained, Flushed, HeldUp, Hose, LineSwept, Looked, OpenDrain, Place, Rush,
    ShutInlet, first_rush, flush,
};
pub use outcome::{
    COUNTS, ColumnCourse, LineCourse, Moment, NotFollowed, OpeningCourse, Passed, TankCourse,
    Totals,
};
pub use run::{Pace, storm};
pub use scene::{GutterShape, GutterStore, Roof, Scene, TankStart};
pub use watch::Watch;
