//! Quantities in SI, and the one parser and printer of the values a person writes.
//!
//! A bare `f64` never crosses a crate border: it travels in one of these types, made and
//! read through a name that says its unit.

mod quantity;

pub use quantity::{Area, Flow, Fraction, Intensity, Length, Slope, Speed, Temperature, Volume};
