//! Rain that passes over roofs: the table of a place, the course of a storm, the lag of a roof.
//!
//! Tables are read as weather services publish them; the rest is closed forms: blocks of constant
//! rain, and the exact answer of one linear store to them.

mod cells;
mod course;
mod error;
pub mod frequency;
mod roof;
mod table;

pub use cells::{Cell, cells};
pub use course::{Block, Course};
pub use error::RainError;
pub use roof::RoofStore;
pub use table::RainTable;
