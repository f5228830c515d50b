//! Rain that passes over roofs: the table of a place, the course of a storm, the lag of a roof.
//!
//! Everything here is a closed form: blocks of constant rain, and the exact answer of one linear
//! store to them.

mod course;
mod error;
mod roof;
mod table;

pub use course::{Block, Course};
pub use error::RainError;
pub use roof::RoofStore;
pub use table::RainTable;
