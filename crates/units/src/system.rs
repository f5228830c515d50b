//! The two unit systems a site file can be written in.

use crate::kind::Kind;
use crate::table::{self, Unit};

/// How a site file's bare numbers are read and how its report is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum UnitSystem {
    /// US customary: feet, inches, square feet, gallons, degrees Fahrenheit.
    Us,
    /// SI: metres, millimetres, square metres, litres, degrees Celsius.
    #[default]
    Si,
}

impl UnitSystem {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Us, Self::Si];

    /// The name in the site file: `us` or `si`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Us => "us",
            Self::Si => "si",
        }
    }

    /// The other system.
    pub const fn other(self) -> Self {
        match self {
            Self::Us => Self::Si,
            Self::Si => Self::Us,
        }
    }

    /// The unit a bare number of `kind` takes, or `None` where it must be written out.
    pub const fn bare_unit(self, kind: Kind) -> Option<&'static str> {
        Some(match (kind, self) {
            (Kind::Level, Self::Us) => "ft",
            (Kind::Level, Self::Si) => "m",
            (Kind::Size, Self::Us) => "in",
            (Kind::Size, Self::Si) => "mm",
            (Kind::Area, Self::Us) => "sq ft",
            (Kind::Area, Self::Si) => "m²",
            (Kind::Intensity, Self::Us) => "in/h",
            (Kind::Intensity, Self::Si) => "mm/h",
            (Kind::Volume, Self::Us) => "gal",
            (Kind::Volume, Self::Si) => "L",
            (Kind::Temperature, Self::Us) => "°F",
            (Kind::Temperature, Self::Si) => "°C",
            (Kind::Fraction | Kind::Slope | Kind::Flow | Kind::Pressure, _) => return None,
            (Kind::Speed | Kind::Time | Kind::Weight | Kind::Warmth, _) => return None,
        })
    }

    pub(crate) fn bare(self, kind: Kind) -> Option<&'static Unit> {
        self.bare_unit(kind).and_then(table::named)
    }
}
