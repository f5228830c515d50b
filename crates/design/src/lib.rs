//! Searches over solves: pipe sizes, and the levels that an installer sets and how far off they
//! may be.

pub mod levels;
pub mod mends;
pub mod size;
