//! The laws: pure functions, each with its equation, range and source.

mod caution;
pub(crate) mod critical;
pub(crate) mod friction;
pub(crate) mod junction;
mod quantity;
pub mod water;

pub use caution::Caution;
pub use quantity::{Density, Force, Time, UnitWeight, Viscosity};

#[cfg(test)]
mod tests;
