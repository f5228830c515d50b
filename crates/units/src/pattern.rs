//! The grammar of values as regular expressions, for whoever checks a text without reading it.

use crate::kind::Kind;
use crate::placeholder;
use crate::system::UnitSystem;
use crate::table::{UNITS, Unit};

/// Decimals with an exponent, fractions, and mixed numbers.
const NUMBER: &str = r"(?:\d+\.\d*(?:[eE][+-]?\d+)?|\.\d+(?:[eE][+-]?\d+)?|\d+[eE][+-]?\d+|\d+/\d+|\d+(?:(?:-|\s*)(?:[½¼¾⅛⅜⅝⅞]|\d+/\d+))?)";
/// Zeros behind a minus are no less than 0.
const MINUS_ZERO: &str = r"[-−]\s*(?:0+(?:\.0*)?|\.0+)";

/// A regular expression that every value of a kind matches, from its start to its end; `minus` is
/// whether one below 0 does. It matches a few texts that are no values too: numbers too large,
/// parts in the wrong order, fractions over 0.
///
/// The dialect is what ECMAScript and others share: no look-around.
///
/// ```
/// let length = wetrun_units::pattern(wetrun_units::Kind::Level, true);
/// assert!(length.starts_with('^') && length.ends_with('$'));
/// ```
#[must_use]
pub fn pattern(kind: Kind, minus: bool) -> String {
    let sign = if minus { r"[-−+]?\s*" } else { r"\+?\s*" };
    let number =
        if minus { format!("{sign}{NUMBER}") } else { format!("(?:{sign}{NUMBER}|{MINUS_ZERO})") };
    let zero = if has_bare_unit(kind) { "" } else { r"|[-−+]?\s*(?:0+(?:\.0*)?|\.0+)" };
    format!(r"^\s*(?:{number}{}{zero})\s*$", unit_behind(kind))
}

/// Whether a number without a unit is a value; a 0 always is.
fn has_bare_unit(kind: Kind) -> bool {
    kind == Kind::Fraction || UnitSystem::Us.bare_unit(kind).is_some()
}

/// The same, to its end only and with its unit where one is needed, for a value that other text
/// stands before.
#[must_use]
pub fn pattern_behind(kind: Kind) -> String {
    format!(r"\+?\s*{NUMBER}{}\s*$", unit_behind(kind))
}

/// A regular expression that texts match which say 0 of a kind.
#[must_use]
pub fn zero_pattern(kind: Kind) -> String {
    format!(r"^\s*[-−+]?\s*(?:0+(?:\.0*)?|\.0+)(?:{})?\s*$", unit_behind(kind))
}

/// What may stand behind a number: a unit, or nothing where a bare number is one.
fn unit_behind(kind: Kind) -> String {
    let units: Vec<String> = UNITS
        .iter()
        .filter(|unit| unit.kind.same_dimension(kind))
        .flat_map(|unit| unit.spellings.iter().map(|spelling| spelled(spelling)))
        .collect();
    let unit = format!("(?:{})", units.join("|"));
    let unit = match kind {
        Kind::Level | Kind::Size => {
            let imperial = UNITS.iter().filter(|unit| matches!(unit.name(), "in" | "ft" | "yd"));
            let imperial: Vec<String> = imperial.flat_map(Unit::spelled).collect();
            format!(r"{unit}(?:\s*-?\s*{NUMBER}\s*(?:{}))*", imperial.join("|"))
        }
        Kind::Slope => format!(r"(?::\s*{NUMBER}|{unit})"),
        _ => unit,
    };
    if has_bare_unit(kind) { format!(r"(?:\s*{unit})?") } else { format!(r"\s*{unit}") }
}

impl Unit {
    fn spelled(&self) -> impl Iterator<Item = String> + '_ {
        self.spellings.iter().map(|spelling| spelled(spelling))
    }
}

/// A spelling as a regular expression: blanks between its words are free, words have a plural.
fn spelled(spelling: &str) -> String {
    let words: Vec<String> = spelling.split(' ').map(escaped).collect();
    let plural = spelling.ends_with(|c: char| c.is_ascii_lowercase()) && spelling.len() > 1;
    format!("{}{}", words.join(r"\.?\s*"), if plural { "s?" } else { "" })
}

fn escaped(text: &str) -> String {
    let special = |c: char| r".*+?^${}()|[]\/".contains(c);
    text.chars().flat_map(|c| special(c).then_some('\\').into_iter().chain([c])).collect()
}

/// A regular expression that every text matches which only holds the place of one to come
/// ([`crate::holds_a_place`]); it matches some others too.
#[must_use]
pub fn placeholder_pattern() -> String {
    let any_case = |word: &&str| -> String {
        let letter = |c: char| match c {
            'a'..='z' => format!("[{}{c}]", c.to_ascii_uppercase()),
            ' ' => r"\s+".to_owned(),
            c => escaped(&c.to_string()),
        };
        word.trim().chars().map(letter).collect()
    };
    let words: Vec<String> = placeholder::words().iter().map(any_case).collect();
    format!(r"^[^A-Za-z0-9]*(?:(?:{})(?:[^A-Za-z0-9][\s\S]*)?)?$", words.join("|"))
}
