//! How sure a margin is, given how well each number behind it is known: how likely gutters back up,
//! which number decides it, the smallest bad luck that makes them, and what one plain fault does.
//!
//! [`study`] does all of it. The same drawing and seed give the same numbers on any machine and any
//! number of threads.

mod advice;
mod binomial;
mod change;
mod cut_off;
mod drawing;
mod faults;
mod input;
mod latin;
mod law;
mod nearest;
mod normal;
mod parallel;
mod random;
mod sample;
mod shares;
mod study;

pub use advice::{Advice, Step};
pub use drawing::{Drawn, Judge};
pub use faults::{Fault, Harm};
pub use input::{Amount, Input, Like, PipeType, Subject};
pub use parallel::each;
pub use sample::{Asked, Chance};
pub use study::{AtDownspout, Moved, NearestFailure, Owed, Study, study};
