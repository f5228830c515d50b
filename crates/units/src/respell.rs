//! A length written again in the spelling of another: its units, its blanks, its fractions.

use crate::kind::Kind;
use crate::parse::unit_here;
use crate::print::decimal;
use crate::quantity::Length;
use crate::scan::{self, Cursor};
use crate::system::UnitSystem;
use crate::table::Unit;

/// Eighths of an inch are as fine as a tape is read where the old text has no finer fraction.
const EIGHTHS: u32 = 8;
/// A fraction of the old text may be as fine as this.
const FINEST: u32 = 64;

/// A part of a spelling: a number and its unit, as they stand.
struct Part<'a> {
    /// What stands before the number: blanks, or the dash between feet and inches.
    before: &'a str,
    number: &'a str,
    /// Blanks, then the unit; empty for a bare number.
    unit_text: &'a str,
    unit: &'static Unit,
}

impl UnitSystem {
    /// A level in the spelling of `old`: its units and blanks, its decimals or fractions, with more
    /// decimals only where 0.3 mm asks for them. `None` where `old` is no level.
    ///
    /// # Example
    /// ```
    /// use wetrun_units::{Length, UnitSystem};
    ///
    /// let lower = |old: &str| {
    ///     let level = UnitSystem::Us.read_level(old).ok()? - Length::m(0.0254);
    ///     UnitSystem::Us.respell_level(old, level)
    /// };
    /// assert_eq!(lower("98'-7 1/4\"").as_deref(), Some("98'-6 1/4\""));
    /// assert_eq!(lower("98.6 ft").as_deref(), Some("98.517 ft"));
    /// ```
    pub fn respell_level(self, old: &str, level: Length) -> Option<String> {
        self.read_level(old).ok()?;
        let mut cursor = Cursor::new(old);
        cursor.skip_spaces();
        let lead = &old[..old.len() - cursor.rest().len()];
        let minus = ['-', '\u{2212}'].into_iter().find(|sign| cursor.take(*sign));
        let plus = minus.is_none() && cursor.take('+');
        let parts = parts(old, &mut cursor, self)?;
        let si = level.to_m();
        let mut text = lead.to_owned();
        match (si < 0.0, plus) {
            (true, _) => text.push(minus.unwrap_or('-')),
            (false, true) => text.push('+'),
            (false, false) => {}
        }
        write(&mut text, &parts, si.abs());
        let back = self.read_level(&text).ok()?;
        // Half an eighth of an inch is the coarsest step that a spelling can have.
        ((back - level).to_m().abs() < 1.6e-3).then_some(text)
    }
}

/// How a level is moved by hand where it is written in a unit: in steps, and on a grid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HandSteps {
    /// A step: 10 mm or 1 in.
    pub step: Length,
    /// A fine step: 1 mm or 1/8 in.
    pub fine: Length,
    /// What a level is rounded to where it is dragged: 1 mm, 0.01 ft or 1/8 in.
    pub grid: Length,
}

impl UnitSystem {
    /// The steps of a level that is written as `old`; of the system's own where that is no level.
    pub fn hand_steps(self, old: &str) -> HandSteps {
        let (eighth, hundredth) = (Length::m(0.0254 / 8.0), Length::m(0.003_048));
        let mut cursor = Cursor::new(old);
        let sign = |c: char| c.is_whitespace() || "+-\u{2212}".contains(c);
        cursor.skip(old.len() - old.trim_start_matches(sign).len());
        let parts = parts(old, &mut cursor, self).unwrap_or_default();
        let unit = parts.last().map(|part| part.unit.name()).or(self.bare_unit(Kind::Level));
        let inches = |grid| HandSteps { step: Length::m(0.0254), fine: eighth, grid };
        match unit {
            Some("in") => inches(eighth),
            Some("ft" | "yd") => inches(hundredth),
            _ => HandSteps { step: Length::m(0.01), fine: Length::m(1e-3), grid: Length::m(1e-3) },
        }
    }
}

fn parts<'a>(old: &'a str, cursor: &mut Cursor<'a>, system: UnitSystem) -> Option<Vec<Part<'a>>> {
    let at = |cursor: &Cursor<'_>| old.len() - cursor.rest().len();
    let mut parts = Vec::new();
    while !cursor.rest().trim().is_empty() {
        let start = at(cursor);
        cursor.skip_spaces();
        if !parts.is_empty() && cursor.take('-') {
            cursor.skip_spaces();
        }
        let number = at(cursor);
        scan::number(cursor).ok()?;
        let end = at(cursor);
        cursor.skip_spaces();
        let unit = match cursor.rest().is_empty() {
            true => system.bare(Kind::Level)?,
            false => unit_here(cursor, Kind::Level).ok()?,
        };
        parts.push(Part {
            before: &old[start..number],
            number: &old[number..end],
            unit_text: &old[end..at(cursor)],
            unit,
        });
    }
    (!parts.is_empty()).then_some(parts)
}

/// Writes a length, 0 or more, part by part: whole numbers of the larger units, the rest in the last.
fn write(text: &mut String, parts: &[Part<'_>], si: f64) {
    let Some((last, wholes)) = parts.split_last() else { return };
    let style = Style::of(last, !wholes.is_empty());
    // Rounded once, in steps of the last part, so that 12 inches never stand beside the feet.
    let mut steps = (last.unit.of_si(si) * style.steps()).round();
    for part in wholes {
        let one = (last.unit.of_si(part.unit.to_si(1.0)) * style.steps()).round();
        let whole = (steps / one).floor();
        steps -= whole * one;
        text.push_str(part.before);
        text.push_str(&decimal(whole, 0));
        text.push_str(part.unit_text);
    }
    text.push_str(last.before);
    text.push_str(&style.show(steps));
    text.push_str(last.unit_text);
}

/// How the last number is written.
#[derive(Clone, Copy)]
enum Style {
    /// With decimals: these at least, and as many as it takes up to the other.
    Decimal { least: usize, most: usize },
    /// With fractions of this fineness, and what joins them to the whole.
    Fraction { of: u32, dash: bool },
}

impl Style {
    fn of(part: &Part<'_>, beside_feet: bool) -> Self {
        let number = part.number;
        let vulgar = number.chars().any(|c| "½¼¾⅛⅜⅝⅞".contains(c));
        let below = number.rsplit_once('/').and_then(|(_, below)| below.trim().parse().ok());
        let inches = part.unit.name() == "in";
        if vulgar || below.is_some() || (inches && beside_feet && !number.contains('.')) {
            let of: u32 = below.unwrap_or(EIGHTHS);
            // An odd fraction goes on in its own steps, a coarse one in eighths.
            let of = if EIGHTHS.is_multiple_of(of.max(1)) { EIGHTHS } else { of.min(FINEST) };
            return Self::Fraction { of, dash: number.contains('-') };
        }
        let digits = number.split(['e', 'E']).next().unwrap_or_default();
        let least = digits.split_once('.').map_or(0, |(_, decimals)| decimals.len()).min(9);
        // Steps of 0.3 mm or finer.
        let needed = match part.unit.name() {
            "mm" => 0,
            "cm" => 1,
            "km" => 6,
            _ => 3,
        };
        Self::Decimal { least, most: least.max(needed) }
    }

    /// Steps in one unit.
    fn steps(self) -> f64 {
        match self {
            Self::Decimal { most, .. } => (0..most).fold(1.0, |steps, _| steps * 10.0),
            Self::Fraction { of, .. } => f64::from(of),
        }
    }

    fn show(self, steps: f64) -> String {
        match self {
            Self::Decimal { least, most } => {
                let mut text = decimal(steps / self.steps(), most);
                let point = text.len() - most;
                while text.len() > point + least && text.ends_with('0') {
                    text.pop();
                }
                text.trim_end_matches('.').to_owned()
            }
            Self::Fraction { of, dash } => {
                let per_one = f64::from(of);
                let whole = (steps / per_one).floor();
                let (mut above, mut below) = ((steps - whole * per_one).round() as u32, of);
                if above == 0 {
                    return decimal(whole, 0);
                }
                while above.is_multiple_of(2) && below.is_multiple_of(2) {
                    (above, below) = (above / 2, below / 2);
                }
                let join = if dash { '-' } else { ' ' };
                match whole > 0.0 {
                    true => format!("{}{join}{above}/{below}", decimal(whole, 0)),
                    false => format!("{above}/{below}"),
                }
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn moved(old: &str, by_m: f64) -> String {
        let system = UnitSystem::Us;
        system.respell_level(old, system.read_level(old).unwrap() + Length::m(by_m)).unwrap()
    }

    /// By hand: an inch is 0.0254 m, a foot 0.3048 m.
    #[test]
    fn the_spelling_stays() {
        const INCH: f64 = 0.0254;
        for (old, by_m, new) in [
            ("98.6 ft", INCH, "98.683 ft"),
            ("98.60ft", -0.3048, "97.60ft"),
            ("109.60 ft", 0.003048, "109.61 ft"),
            ("98'-7 1/4\"", INCH, "98'-8 1/4\""),
            ("98'-7 1/4\"", INCH / 8.0, "98'-7 3/8\""),
            ("98'-11 7/8\"", INCH / 8.0, "99'-0\""),
            ("98' 7\"", INCH / 2.0, "98' 7 1/2\""),
            ("13 ft 6 in", INCH, "13 ft 7 in"),
            ("13 ft 6.5 in", INCH, "13 ft 7.5 in"),
            ("13'-6 3/16\"", INCH / 16.0, "13'-6 1/4\""),
            ("13'-6-1/2\"", INCH / 4.0, "13'-6-3/4\""),
            ("104 1/2 in", INCH / 4.0, "104 3/4 in"),
            ("-0'-6\"", INCH, "-0'-5\""),
            ("-1 in", 3.0 * INCH, "2 in"),
            ("+4 ft", 0.3048, "+5 ft"),
            ("30.05 m", 0.01, "30.06 m"),
            ("30.05 m", 0.001, "30.051 m"),
            ("30.0525 m", 0.001, "30.0535 m"),
            ("3005 cm", 0.001, "3005.1 cm"),
            ("30050 mm", 0.001, "30051 mm"),
            ("100", 0.3048, "101"),
            ("100.", 0.3048 / 2.0, "100.5"),
            (" 98.6 feet ", 0.3048, " 99.6 feet "),
        ] {
            assert_eq!(moved(old, by_m), new.trim_end(), "{old} by {by_m} m");
        }
    }

    #[test]
    fn across_nothing_the_sign_turns() {
        assert_eq!(moved("0.05 m", -0.1), "-0.05 m");
        assert_eq!(moved("\u{2212}0.05 m", -0.01), "\u{2212}0.06 m");
        assert_eq!(moved("0'-3\"", -0.0254 * 6.0), "-0'-3\"");
    }

    #[test]
    fn a_hand_moves_in_steps_of_the_unit_that_is_written() {
        let mm = |old: &str, system: UnitSystem| {
            let steps = system.hand_steps(old);
            [steps.step, steps.fine, steps.grid].map(|l| (l.to_m() * 1e6).round() / 1e3)
        };
        assert_eq!(mm("30.05", UnitSystem::Si), [10.0, 1.0, 1.0]);
        assert_eq!(mm("-30.05 m", UnitSystem::Us), [10.0, 1.0, 1.0]);
        assert_eq!(mm("98.6", UnitSystem::Us), [25.4, 3.175, 3.048]);
        assert_eq!(mm("98'-7\"", UnitSystem::Si), [25.4, 3.175, 3.175]);
        assert_eq!(mm("nothing", UnitSystem::Us), [25.4, 3.175, 3.048]);
    }

    #[test]
    fn what_is_no_level_has_no_spelling() {
        for old in ["", "four", "4 gal", "4 ft 3", "NaN"] {
            assert_eq!(UnitSystem::Us.respell_level(old, Length::m(1.0)), None, "{old}");
        }
    }
}
