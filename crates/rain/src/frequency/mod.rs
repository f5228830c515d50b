//! A table of rain by duration and return period, as weather services publish it.

mod number;
mod pick;
mod plain;
mod published;
mod read;
mod sound;

pub use pick::{NoRain, Note, Picked, Row};
pub use read::read;

use wetrun_units::{Length, Time, UnitSystem};

/// What is wrong with the text of a table, and where.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}, column {column}: {message}")]
pub struct TableFault {
    /// Line, from 1.
    pub line: usize,
    /// Character of the line, from 1.
    pub column: usize,
    /// What is wrong.
    pub message: String,
}

/// What the rains of a table are counted by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Series {
    /// Every heavy rain counts: a return period is the mean time between two.
    PartialDuration,
    /// The heaviest of each year counts: a return period is the inverse of a year's probability.
    AnnualMaximum,
}

/// Depths of rain by duration and return period.
#[derive(Clone, Debug, PartialEq)]
pub struct FrequencyTable {
    /// The station, as the file says it.
    pub station: Option<String>,
    /// The place, as the file says it.
    pub place: Option<String>,
    /// Latitude and longitude, as the file says them.
    pub coordinates: Option<(String, String)>,
    /// The edition, as the file says it.
    pub edition: Option<String>,
    /// What its rains are counted by, where it says that.
    pub series: Option<Series>,
    /// The system of the units that it prints.
    pub units: UnitSystem,
    /// Whether it prints intensities, not depths.
    pub intensities: bool,
    /// What of the text was not used, in words.
    pub cautions: Vec<String>,
    /// Return periods, rising.
    years: Vec<f64>,
    /// Durations, rising.
    rows: Vec<Printed>,
}

/// A row of the table.
#[derive(Clone, Debug, PartialEq)]
struct Printed {
    duration: Time,
    /// One for each return period.
    cells: Vec<Depth>,
    line: usize,
}

/// A depth as it was printed.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Depth {
    depth: Length,
    /// How far the printed digits may be off to either side, as a depth.
    rounding: Length,
    /// Where it stands on its line.
    column: usize,
}

impl FrequencyTable {
    /// The return periods of its columns in years, rising.
    #[must_use]
    pub fn years(&self) -> &[f64] {
        &self.years
    }

    /// The durations of its rows, rising.
    pub fn durations(&self) -> impl Iterator<Item = Time> + '_ {
        self.rows.iter().map(|row| row.duration)
    }
}

fn fault<T>(line: usize, column: usize, message: impl Into<String>) -> Result<T, TableFault> {
    Err(TableFault { line, column, message: message.into() })
}

/// A text short enough for a message, without what could command a terminal.
fn short(text: &str) -> String {
    let mut short: String = text.chars().filter(|c| !c.is_control()).take(33).collect();
    if short.chars().count() == 33 {
        short.pop();
        short.push_str("...");
    }
    short
}

/// A duration in words, in the unit that weather services print it in.
#[must_use]
pub fn in_words(duration: Time) -> String {
    let seconds = duration.to_s();
    let (size, unit) = match seconds {
        s if s < 60.0 => (1.0, "s"),
        s if s < 7200.0 => (60.0, "min"),
        s if s <= 86_400.0 => (3600.0, "h"),
        _ => (86_400.0, "d"),
    };
    format!("{} {unit}", plainly(seconds / size, 7))
}

/// A number with at most so many significant digits, and no more than it needs.
#[must_use]
pub fn plainly(number: f64, digits: usize) -> String {
    let rounded: f64 = format!("{number:.*e}", digits.saturating_sub(1)).parse().unwrap_or(number);
    rounded.to_string()
}
