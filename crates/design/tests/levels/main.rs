//! Levels: limits, the one tolerance, rod readings, as-built checks.
#![allow(clippy::disallowed_methods, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod by_hand;
mod file;
mod limits;
mod run;
mod sites;
#[path = "../../../solver/tests/support/mod.rs"]
#[allow(unused_imports)]
mod support;
mod tolerance;
