//! The laws against numbers from outside the project.
//!
//! The letters and numbers (F1, H3, O5, E8 …) name rows of a collection of check values made
//! before the laws were written. Each is marked: *read* in the document named, *library*
//! (computed with `fluids` 1.3.1, `iapws` 1.5.5 or `scipy` 1.17.1), *derived* (by hand or by an
//! independent root search), or *memory*. Expected numbers stand as they are printed there, and a
//! value agrees when it rounds to them.
#![allow(
    clippy::disallowed_methods,
    clippy::expect_used,
    reason = "a test may stop at what it cannot read"
)]

mod air_and_statics;
mod friction;
mod gutter;
mod junction;
mod outfall;
mod printed;
mod surge;
mod two_routes;
mod water;
