//! The one printer of values: fixed decimals, in the unit a reader of the system expects.

use crate::quantity::{
    Area, Flow, Fraction, Intensity, Length, Pressure, Slope, Speed, Temperature, Volume,
};
use crate::system::UnitSystem;
use crate::table;
use std::fmt;

/// A number rounded for people, and its unit: joined by `Display`, apart for a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shown {
    /// The number with its fixed decimals.
    pub number: String,
    /// The unit.
    pub unit: &'static str,
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{} {}", self.number, self.unit))
    }
}

macro_rules! printers {
    ($($(#[$doc:meta])* $name:ident($quantity:ident::$read:ident):
        $us:literal $us_places:literal, $si:literal $si_places:literal;)*) => {
        /// Printing: each takes a quantity and shows it in the unit named in its sentence.
        impl UnitSystem {
            $($(#[$doc])*
            pub fn $name(self, quantity: $quantity) -> Shown {
                match self {
                    Self::Us => shown(quantity.$read(), $us, $us_places),
                    Self::Si => shown(quantity.$read(), $si, $si_places),
                }
            })*
        }
    };
}

printers! {
    /// A level, in decimal feet to 0.01 or metres to 0.001.
    show_level(Length::to_m): "ft" 2, "m" 3;
    /// A length along a pipe, in feet to 0.1 or metres to 0.01.
    show_length(Length::to_m): "ft" 1, "m" 2;
    /// A size, in inches to 0.001 or millimetres to 0.1.
    show_size(Length::to_m): "in" 3, "mm" 1;
    /// A small height such as a headroom, in inches to 0.1 or whole millimetres.
    show_height(Length::to_m): "in" 1, "mm" 0;
    /// A roughness, in inches to 0.000001 or millimetres to 0.0001.
    show_roughness(Length::to_m): "in" 6, "mm" 4;
    /// An area in plan, in whole square feet or square metres to 0.1.
    show_area(Area::to_m2): "sq ft" 0, "m²" 1;
    /// A volume, in whole US gallons or litres.
    show_volume(Volume::to_m3): "gal" 0, "L" 0;
    /// A flow, in US gallons a minute to 0.1 or litres a second to 0.01.
    show_flow(Flow::to_m3_per_s): "gpm" 1, "L/s" 2;
    /// A rain intensity, in inches an hour to 0.01 or millimetres an hour to 0.1.
    show_intensity(Intensity::to_m_per_s): "in/h" 2, "mm/h" 1;
    /// A speed of water, in feet or metres a second to 0.01.
    show_speed(Speed::to_m_per_s): "ft/s" 2, "m/s" 2;
    /// A temperature to 0.1 degree.
    show_temperature(Temperature::to_celsius): "°F" 1, "°C" 1;
    /// A fraction, in per cent to 0.1.
    show_fraction(Fraction::to_ratio): "%" 1, "%" 1;
    /// A slope, in per cent to 0.01.
    show_slope(Slope::to_ratio): "%" 2, "%" 2;
    /// A pressure, in pounds per square inch or kilopascals to 0.1.
    show_pressure(Pressure::to_pa): "psi" 1, "kPa" 1;
}

/// A length in feet and inches to the nearest 1/8 in, as on a drawing: `7'-4 1/2"`.
pub fn feet_inches(length: Length) -> String {
    let eighths = (length.to_m() / 0.0254 * 8.0).round();
    let sign = if eighths < 0.0 { "-" } else { "" };
    let eighths = eighths.abs();
    let (feet, rest) = ((eighths / 96.0).floor(), eighths % 96.0);
    let (inches, part) = ((rest / 8.0).floor(), rest % 8.0);
    let part = match part as u8 {
        1 => " 1/8",
        2 => " 1/4",
        3 => " 3/8",
        4 => " 1/2",
        5 => " 5/8",
        6 => " 3/4",
        7 => " 7/8",
        _ => "",
    };
    format!("{sign}{feet}'-{inches}{part}\"")
}

/// A number with fixed decimals, and no minus before a zero.
pub fn decimal(number: f64, places: usize) -> String {
    let text = format!("{number:.places$}");
    match text.strip_prefix('-') {
        Some(zero) if zero.chars().all(|c| c == '0' || c == '.') => zero.to_owned(),
        _ => text,
    }
}

fn shown(si: f64, unit: &'static str, places: usize) -> Shown {
    let number = table::named(unit).map_or(si, |unit| unit.of_si(si));
    Shown { number: decimal(number, places), unit }
}
