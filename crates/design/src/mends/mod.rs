//! Mends that hold: ways out of a failure, each solved and judged as a whole before it is told.
//!
//! A mend is made of values as a site file carries them. It makes what fails pass, lets nothing fail
//! that did not fail before, and turns no rule of the review. Where none is found there is none.

mod change;
mod search;
mod tank;

pub use change::{Change, Mend};
pub use search::{Asked, MOST_LINES, ways};
pub(crate) use tank::lowered;
