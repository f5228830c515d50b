//! Quantities in SI, and the one parser and printer of the values a person writes.
//!
//! A bare `f64` never crosses a crate border: it travels in one of these types, made and
//! read through a name that says its unit.
//!
//! ```
//! use wetrun_units::UnitSystem;
//!
//! let level = UnitSystem::Us.read_level("13'-6 1/2\"")?;
//! assert!((level.to_m() - 162.5 * 0.0254).abs() < 1e-12);
//! assert_eq!(UnitSystem::Us.show_level(level).to_string(), "13.54 ft");
//! # Ok::<(), wetrun_units::ValueError>(())
//! ```

mod error;
mod kind;
mod nearest;
mod parse;
mod pattern;
mod placeholder;
mod print;
mod quantity;
mod respell;
mod scan;
mod system;
mod table;

pub use error::{Fault, ValueError};
pub use kind::Kind;
pub use nearest::nearest;
pub use pattern::{pattern, pattern_behind, placeholder_pattern, zero_pattern};
pub use placeholder::holds_a_place;
pub use print::{
    Rounded, Scale, Shown, decimal, feet_inches, trimmed, whole_steps_down, whole_steps_up,
};
pub use quantity::{
    Area, Flow, Fraction, Intensity, Length, Pressure, Slope, Speed, Temperature, Time, Volume,
    Warmth, Weight,
};
pub use respell::HandSteps;
pub use system::UnitSystem;
