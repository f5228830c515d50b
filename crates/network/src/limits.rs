//! The least and the largest that a quantity of a network may be: beyond them a number is a slip
//! of the pen or of the unit, and arithmetic loses its digits.

use std::ops::RangeInclusive;
use wetrun_units::{Intensity, Length};

/// Length of a line: 1 mm to 100 km.
pub const LENGTH: RangeInclusive<Length> = Length::m(1e-3)..=Length::m(1e5);
/// Bore of a pipe: 1 mm to 10 m.
pub const BORE: RangeInclusive<Length> = Length::m(1e-3)..=Length::m(10.0);
/// A level: within 20 km of the datum.
pub const LEVEL: RangeInclusive<Length> = Length::m(-2e4)..=Length::m(2e4);
/// A rain intensity: up to 360 m an hour.
pub const RAIN: RangeInclusive<Intensity> = Intensity::ZERO..=Intensity::m_per_s(0.1);
