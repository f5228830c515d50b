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

/// A unit that values are printed in, as a scale: its numbers are not rounded, for an axis or a
/// formula. Not for temperatures, whose zeros differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// The unit.
    pub unit: &'static str,
    per_si: f64,
}

impl Scale {
    /// The scale of a printed value's unit; a unit that the table does not have counts as 1.
    ///
    /// ```
    /// use wetrun_units::{Scale, UnitSystem, Volume};
    /// let gallons = Scale::of(&UnitSystem::Us.show_volume(Volume::ZERO));
    /// // A US gallon is 231 cubic inches.
    /// assert!((gallons.number(231.0 * 0.0254 * 0.0254 * 0.0254) - 1.0).abs() < 1e-12);
    /// assert_eq!(gallons.unit, "gal");
    /// ```
    pub fn of(shown: &Shown) -> Self {
        let per_si = table::named(shown.unit).map_or(1.0, |unit| unit.of_si(1.0));
        Self { unit: shown.unit, per_si }
    }

    /// The number of it that a value in SI is.
    pub fn number(self, si: f64) -> f64 {
        si * self.per_si
    }
}

/// To which side a number is rounded to its last printed place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    Nearest,
    Up,
    Down,
}

/// A unit system that prints rounded to one side: a value that is asked for, as printed, still
/// does what it was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rounded {
    units: UnitSystem,
    side: Side,
}

impl UnitSystem {
    /// Prints rounded up: for what may not be less.
    pub fn up(self) -> Rounded {
        Rounded { units: self, side: Side::Up }
    }

    /// Prints rounded down: for what may not be more.
    pub fn down(self) -> Rounded {
        Rounded { units: self, side: Side::Down }
    }
}

macro_rules! printers {
    ($($(#[$doc:meta])* $name:ident($quantity:ident::$read:ident):
        $us:literal $us_places:literal, $si:literal $si_places:literal;)*) => {
        /// Printing: each takes a quantity and shows it in the unit named in its sentence.
        impl UnitSystem {
            $($(#[$doc])*
            pub fn $name(self, quantity: $quantity) -> Shown {
                Rounded { units: self, side: Side::Nearest }.$name(quantity)
            })*
        }

        /// Printing rounded to one side.
        impl Rounded {
            $($(#[$doc])*
            pub fn $name(self, quantity: $quantity) -> Shown {
                match self.units {
                    UnitSystem::Us => shown(quantity.$read(), $us, $us_places, self.side),
                    UnitSystem::Si => shown(quantity.$read(), $si, $si_places, self.side),
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

/// A number with so many decimals at the most: no zeros end it.
pub fn trimmed(number: f64, most_places: usize) -> String {
    let text = decimal(number, most_places);
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

/// A number this near a printed one, as a part of the last place, is that one: what arithmetic
/// left over. In levels it is less than any two of them are told apart by.
const LEFT_OVER: f64 = 1e-7;

/// The nearest whole number of steps on the side asked for.
pub fn whole_steps_up(steps: f64) -> f64 {
    (steps - LEFT_OVER).ceil()
}

/// The same downwards.
pub fn whole_steps_down(steps: f64) -> f64 {
    (steps + LEFT_OVER).floor()
}

fn shown(si: f64, unit: &'static str, places: usize, side: Side) -> Shown {
    let number = table::named(unit).map_or(si, |unit| unit.of_si(si));
    let step = (0..places).fold(1.0, |step, _| step * 10.0);
    let number = match side {
        Side::Nearest => number,
        Side::Up => whole_steps_up(number * step) / step,
        Side::Down => whole_steps_down(number * step) / step,
    };
    Shown { number: decimal(number, places), unit }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// What is printed and read again is never on the wrong side, and never a whole step off.
    #[test]
    fn printed_to_one_side_and_read_again_it_is_on_that_side() {
        for units in [UnitSystem::Us, UnitSystem::Si] {
            let step_m = if units == UnitSystem::Us { 0.003_048 } else { 0.001 };
            for index in -3000..3000 {
                let level = Length::m(f64::from(index) * 0.000_377_1);
                let up = units.read_level(&units.up().show_level(level).to_string()).unwrap();
                let down = units.read_level(&units.down().show_level(level).to_string()).unwrap();
                assert!(up.to_m() >= level.to_m() - 1e-9 && up.to_m() < level.to_m() + step_m);
                assert!(down.to_m() <= level.to_m() + 1e-9 && down.to_m() > level.to_m() - step_m);
                assert_eq!(units.up().show_level(up), units.down().show_level(up));
            }
        }
    }

    #[test]
    fn the_side_is_that_of_the_number_line() {
        let level = Length::m(-0.0031);
        assert_eq!(UnitSystem::Si.up().show_level(level).number, "-0.003");
        assert_eq!(UnitSystem::Si.down().show_level(level).number, "-0.004");
        assert_eq!(UnitSystem::Us.up().show_level(Length::m(33.302)).number, "109.26");
        assert_eq!(UnitSystem::Us.down().show_height(Length::m(0.1)).number, "3.9");
    }
}
