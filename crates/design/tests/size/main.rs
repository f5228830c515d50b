//! Sizing against brute force over all combinations, and against a mixed-integer program.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod brute;
mod ladder;
mod loops;
mod mends;
mod program;
mod random;
mod trees;
