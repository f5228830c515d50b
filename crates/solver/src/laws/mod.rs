//! The laws: pure functions, each with its equation, range and source.
//!
//! Lengths, flows and the like carry their units in their types; coefficients, factors and
//! Reynolds numbers have no unit and are plain numbers. A law that holds in a range only has a
//! companion that says in a [`Caution`] when it is used outside.

pub mod air;
pub mod buoyancy;
mod caution;
pub(crate) mod critical;
pub mod downspout;
pub mod drain;
pub(crate) mod friction;
pub mod gutter;
pub mod head_loss;
pub mod junction;
pub mod outfall;
pub mod outlet;
pub mod pipe;
mod quantity;
pub mod statics;
pub mod surge;
pub mod water;

pub use caution::Caution;
pub use friction::{
    COLEBROOK_ROUGH, COLEBROOK_SMOOTH, G, HAZEN_WILLIAMS, HAZEN_WILLIAMS_RADIUS,
    HAZEN_WILLIAMS_SLOPE, LAMINAR, LAMINAR_TO, TURBULENT_FROM,
};
pub use quantity::{Density, Force, Time, UnitWeight, Viscosity};

#[cfg(test)]
mod tests;
