//! The one parser of values: a number with a unit, feet and inches, or a slope as a ratio.

use crate::error::{Fault, ValueError};
use crate::kind::Kind;
use crate::nearest::nearest;
use crate::quantity::{
    Area, Flow, Fraction, Intensity, Length, Pressure, Slope, Speed, Temperature, Time, Volume,
    Warmth, Weight,
};
use crate::scan::{self, Cursor};
use crate::system::UnitSystem;
use crate::table::{ONE, UNITS, Unit};

/// No value a person writes is longer, in bytes.
const LONGEST: usize = 200;

macro_rules! readers {
    ($($(#[$doc:meta])* $name:ident, $kind:ident -> $quantity:ident :: $make:ident;)*) => {
        /// Reading: each takes the text of a value and gives the quantity in SI.
        ///
        /// # Errors
        /// [`ValueError`] says what is wrong and at which character: no number, an unknown unit
        /// (with the nearest known), a unit of another kind, NaN, an infinity or an overflow.
        /// Signs and ranges are the caller's business.
        impl UnitSystem {
            $($(#[$doc])*
            pub fn $name(self, text: &str) -> Result<$quantity, ValueError> {
                si_value(text, Kind::$kind, self).map($quantity::$make)
            })*
        }
    };
}

readers! {
    /// A level, a length or a depth: bare numbers in feet or metres.
    read_level, Level -> Length::m;
    /// A size or a roughness: bare numbers in inches or millimetres.
    read_size, Size -> Length::m;
    /// An area: bare numbers in square feet or square metres.
    read_area, Area -> Area::m2;
    /// A volume: bare numbers in US gallons or litres.
    read_volume, Volume -> Volume::m3;
    /// A rain intensity: bare numbers in inches or millimetres an hour.
    read_intensity, Intensity -> Intensity::m_per_s;
    /// A temperature: bare numbers in degrees Fahrenheit or Celsius.
    read_temperature, Temperature -> Temperature::celsius;
    /// A difference of two temperatures, with its unit: `5 C`, `5 K` or `9 F`; a bare 0 is none.
    read_warmth, Warmth -> Warmth::k;
    /// A fraction: `0.5` or `50 %`.
    read_fraction, Fraction -> Fraction::ratio;
    /// A slope, with its unit or as `1:N`; a bare 0 is level.
    read_slope, Slope -> Slope::ratio;
    /// A flow, with its unit; a bare 0 is no flow.
    read_flow, Flow -> Flow::m3_per_s;
    /// A pressure, with its unit; a bare 0 is none.
    read_pressure, Pressure -> Pressure::pa;
    /// A speed, with its unit; a bare 0 is none.
    read_speed, Speed -> Speed::m_per_s;
    /// A time, with its unit; a bare 0 is none.
    read_time, Time -> Time::s;
    /// A weight, or a mass that stands for its weight, with its unit; a bare 0 is none.
    read_weight, Weight -> Weight::n;
}

/// The value of `text` in the SI unit of `kind`.
fn si_value(text: &str, kind: Kind, system: UnitSystem) -> Result<f64, ValueError> {
    let mut cursor = Cursor::new(text);
    let found = value(&mut cursor, kind, system);
    found.map_err(|fault| ValueError { expected: kind, at: cursor.at(), fault })
}

fn value(cursor: &mut Cursor<'_>, kind: Kind, system: UnitSystem) -> Result<f64, Fault> {
    if cursor.rest().len() > LONGEST {
        return Err(Fault::TooLong);
    }
    cursor.skip_spaces();
    let minus = cursor.take('-') || cursor.take('\u{2212}');
    let _ = !minus && cursor.take('+');
    cursor.skip_spaces();
    let sign = if minus { -1.0 } else { 1.0 };
    let start = cursor.clone();
    let first = scan::number(cursor)?;
    cursor.skip_spaces();
    if kind == Kind::Slope && cursor.take(':') {
        return ratio(cursor, sign * first);
    }
    if cursor.rest().is_empty() {
        let value = bare(sign * first, kind, system);
        if value.is_err() {
            *cursor = start;
        }
        return value;
    }
    let mut unit = unit_here(cursor, kind)?;
    let mut number = first;
    // Feet and inches: each further part is of a smaller unit, and the sum is kept in it.
    loop {
        cursor.skip_spaces();
        if cursor.rest().is_empty() {
            break;
        }
        let part = cursor.clone();
        if next_is_dash(unit, cursor) {
            cursor.skip(1);
            cursor.skip_spaces();
        }
        let start = cursor.clone();
        let Ok(more) = scan::number(cursor) else {
            *cursor = part;
            return Err(Fault::Trailing { found: excerpt(cursor.rest()) });
        };
        cursor.skip_spaces();
        if cursor.rest().is_empty() {
            *cursor = start;
            return Err(Fault::NoUnit);
        }
        let smaller = unit_here(cursor, kind)?;
        if !imperial_length(unit) || !imperial_length(smaller) || smaller.times >= unit.times {
            *cursor = part;
            return Err(Fault::PartOrder);
        }
        number = number * unit.times / smaller.times + more;
        unit = smaller;
    }
    finite(unit.to_si(sign * number))
}

fn bare(number: f64, kind: Kind, system: UnitSystem) -> Result<f64, Fault> {
    match (kind, system.bare(kind)) {
        (Kind::Fraction, _) => finite(ONE.to_si(number)),
        (_, Some(unit)) => finite(unit.to_si(number)),
        (_, None) if number == 0.0 => Ok(0.0),
        (_, None) => Err(Fault::NoUnit),
    }
}

/// What follows the colon of `1:200`.
fn ratio(cursor: &mut Cursor<'_>, rise: f64) -> Result<f64, Fault> {
    cursor.skip_spaces();
    let run = scan::number(cursor)?;
    cursor.skip_spaces();
    if !cursor.rest().is_empty() {
        return Err(Fault::Trailing { found: excerpt(cursor.rest()) });
    }
    if run == 0.0 {
        return Err(Fault::ZeroBelow);
    }
    finite(rise / run)
}

/// The unit that stands here, which must measure `kind`.
pub(crate) fn unit_here(cursor: &mut Cursor<'_>, kind: Kind) -> Result<&'static Unit, Fault> {
    let rest = cursor.rest();
    let known = UNITS
        .iter()
        .flat_map(|unit| unit.spellings.iter().map(move |spelling| (unit, *spelling)))
        // Most spellings are out by their first letter.
        .filter(|(_, spelling)| spelling.as_bytes().first() == rest.as_bytes().first())
        .filter_map(|(unit, spelling)| Some((length_of(rest, spelling)?, unit)))
        .max_by_key(|(length, unit)| (*length, unit.kind.same_dimension(kind)));
    match known {
        Some((length, unit)) if unit.kind.same_dimension(kind) => {
            cursor.skip(length);
            Ok(unit)
        }
        Some((length, unit)) => {
            Err(Fault::WrongKind { unit: rest[..length].to_owned(), found: unit.kind })
        }
        None => Err(unknown(rest, kind)),
    }
}

/// How many bytes of `rest` the spelling takes, if it stands there as a whole word: runs of
/// spaces count as one, and words of two letters or more may have a plural `s`.
fn length_of(rest: &str, spelling: &str) -> Option<usize> {
    let mut cursor = Cursor::new(rest);
    for (index, word) in spelling.split(' ').enumerate() {
        if index > 0 {
            cursor.take('.'); // sq. ft
            cursor.skip_spaces();
        }
        let after = cursor.rest().strip_prefix(word)?;
        cursor.skip(cursor.rest().len() - after.len());
    }
    let letters = |c: char| c.is_alphabetic() || c == '/' || c == '²' || c == '³';
    if spelling.ends_with(|c: char| c.is_ascii_lowercase()) && spelling.len() > 1 {
        let plural = cursor.rest().strip_prefix('s').filter(|after| !after.starts_with(letters));
        if plural.is_some() {
            cursor.skip(1);
        }
    }
    let word_goes_on =
        spelling.ends_with(char::is_alphanumeric) && cursor.rest().starts_with(letters);
    if word_goes_on {
        return None;
    }
    Some(rest.len() - cursor.rest().len())
}

fn unknown(rest: &str, kind: Kind) -> Fault {
    let unit = excerpt(rest);
    let known = UNITS.iter().filter(|unit| unit.kind.same_dimension(kind));
    let spellings = known.flat_map(|unit| unit.spellings.iter().copied());
    let nearest = nearest(&unit, spellings);
    if rest.starts_with(',') {
        return Fault::Trailing { found: unit };
    }
    Fault::UnknownUnit { unit, nearest }
}

fn next_is_dash(unit: &Unit, cursor: &Cursor<'_>) -> bool {
    imperial_length(unit) && cursor.rest().starts_with('-')
}

fn imperial_length(unit: &Unit) -> bool {
    matches!(unit.name(), "in" | "ft" | "yd")
}

fn finite(si: f64) -> Result<f64, Fault> {
    if si.is_finite() { Ok(si) } else { Err(Fault::TooLarge) }
}

/// The first words of a text, short enough for a message.
fn excerpt(rest: &str) -> String {
    rest.trim_end().chars().take(24).collect()
}
