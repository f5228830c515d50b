//! The file of measured rain: comma-separated days with a header, every fault with its place.

use crate::date::Date;
use wetrun_units::Length;

/// The rain of every day from the first to the last of a file.
#[derive(Clone, Debug, PartialEq)]
pub struct Rain {
    /// The first day.
    pub first: Date,
    /// The depth of each day from then on; nothing where the file has no sound value.
    pub days: Vec<Option<Length>>,
}

/// The unit of a column that does not name it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RainUnit {
    /// Millimetres.
    Mm,
    /// Tenths of a millimetre.
    TenthMm,
    /// Inches.
    In,
}

impl RainUnit {
    fn depth(self, number: f64) -> Length {
        Length::m(match self {
            Self::Mm => number / 1e3,
            Self::TenthMm => number / 1e4,
            Self::In => number * 254.0 / 1e4,
        })
    }
}

/// What is wrong with a rain file, and where.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}, column {column}: {message}")]
pub struct RainError {
    /// Line, from 1.
    pub line: usize,
    /// Character of the line, from 1.
    pub column: usize,
    /// What is wrong.
    pub message: String,
}

/// No run is longer, in days: five centuries.
const MOST_DAYS: usize = 183_000;
/// No day's rain is deeper, in metres: the most that was ever measured is 1.825 m.
const MOST_M: f64 = 2.0;

/// Reads the text of a rain file. `unit` is what the caller says of a column `PRCP`.
///
/// # Errors
/// The first fault, with its line and column.
pub fn read(text: &str, unit: Option<RainUnit>) -> Result<Rain, RainError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut lines = text.lines().enumerate().map(|(index, line)| (index + 1, line));
    let first_line = lines.next().unwrap_or((1, ""));
    let header = Header::read(first_line.0, first_line.1, unit)?;
    let mut read = Vec::new();
    for (line, row) in lines.filter(|(_, row)| !row.trim().is_empty()) {
        read.push(header.day(line, row)?);
    }
    read.sort_by_key(|day| (day.date, day.line));
    if let Some([_, again]) =
        read.windows(2).find(|w| w[0].date == w[1].date).map(|w| [&w[0], &w[1]])
    {
        return fault(again.line, again.column, format!("the day {} stands twice", again.date));
    }
    let (Some(start), Some(end)) = (read.first(), read.last()) else {
        return fault(first_line.0, 1, "there is no day below the header".to_owned());
    };
    let span = usize::try_from(end.date.days_since(start.date)).unwrap_or(0) + 1;
    if span > MOST_DAYS {
        let message = format!("{span} days from {} on are more than {MOST_DAYS}", start.date);
        return fault(end.line, end.column, message);
    }
    let mut days = vec![None; span];
    for day in &read {
        let at = usize::try_from(day.date.days_since(start.date)).ok();
        if let Some(slot) = at.and_then(|at| days.get_mut(at)) {
            *slot = day.depth;
        }
    }
    Ok(Rain { first: start.date, days })
}

/// Which columns hold what.
struct Header {
    date: usize,
    rain: usize,
    unit: RainUnit,
    /// Measurement, quality and source flags of the public form.
    flags: Option<usize>,
}

/// A row.
struct Day {
    date: Date,
    depth: Option<Length>,
    line: usize,
    column: usize,
}

impl Header {
    fn read(line: usize, text: &str, unit: Option<RainUnit>) -> Result<Self, RainError> {
        let cells = split(line, text)?;
        let find = |name: &str| cells.iter().position(|(_, cell)| cell.eq_ignore_ascii_case(name));
        let Some(date) = find("date") else {
            return fault(line, 1, "the header has no column `date` (or `DATE`)".to_owned());
        };
        let named = [
            ("rain_mm", Some(RainUnit::Mm)),
            ("rain_in", Some(RainUnit::In)),
            ("precipitation", Some(RainUnit::Mm)),
            ("PRCP", None),
        ];
        let mut found = named.iter().filter_map(|(name, own)| Some((*name, find(name)?, *own)));
        let Some((name, rain, own)) = found.next() else {
            let message = "the header has no column of rain: `rain_mm`, `rain_in`, \
                           `precipitation` or `PRCP`";
            return fault(line, 1, message.to_owned());
        };
        let column = cells.get(rain).map_or(1, |(column, _)| *column);
        if let Some((other, ..)) = found.next() {
            return fault(line, column, format!("both `{name}` and `{other}` are columns of rain"));
        }
        let unit = match (own, unit) {
            (Some(own), Some(said)) if own != said => {
                return fault(line, column, format!("`{name}` is not in the unit asked for"));
            }
            (Some(own), _) => own,
            (None, Some(said)) => said,
            (None, None) => {
                let message = "`PRCP` does not say its unit: add `--rain-unit mm`, `tenth-mm` or \
                               `in`, as the file was ordered";
                return fault(line, column, message.to_owned());
            }
        };
        let flags = find("PRCP_ATTRIBUTES").filter(|_| own.is_none());
        Ok(Self { date, rain, unit, flags })
    }

    fn day(&self, line: usize, row: &str) -> Result<Day, RainError> {
        let cells = split(line, row)?;
        let end = row.chars().count() + 1;
        let cell = |index: usize| cells.get(index).map(|(column, cell)| (*column, cell.as_str()));
        let Some((column, text)) = cell(self.date) else {
            return fault(line, end, "this row has no date".to_owned());
        };
        let Some(date) = Date::read(text) else {
            return fault(line, column, format!("`{}` is no date such as 2024-07-31", short(text)));
        };
        let failed = self.flags.and_then(cell).is_some_and(|(_, flags)| {
            flags.split(',').nth(1).is_some_and(|quality| !quality.trim().is_empty())
        });
        let depth = match cell(self.rain) {
            Some((at, text)) if !failed && !text.is_empty() => Some(self.depth(line, at, text)?),
            _ => None,
        };
        Ok(Day { date, depth, line, column })
    }

    fn depth(&self, line: usize, column: usize, text: &str) -> Result<Length, RainError> {
        let number = text.parse::<f64>().ok().filter(|number| number.is_finite());
        let Some(number) = number else {
            return fault(line, column, format!("`{}` is no depth of rain", short(text)));
        };
        let depth = self.unit.depth(number);
        if number < 0.0 {
            return fault(line, column, format!("a day's rain cannot be `{}`", short(text)));
        }
        if depth.to_m() > MOST_M {
            let message =
                format!("`{}` is more than 2 m of rain in a day: another unit?", short(text));
            return fault(line, column, message);
        }
        Ok(depth)
    }
}

/// The cells of a row with the character each starts at.
fn split(line: usize, row: &str) -> Result<Vec<(usize, String)>, RainError> {
    match wetrun_rain::cells(row) {
        Ok(cells) => Ok(cells.into_iter().map(|cell| (cell.start, cell.text)).collect()),
        Err(column) => {
            fault(line, column, "this quotation mark is not closed on its line".to_owned())
        }
    }
}

fn short(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).take(24).collect()
}

fn fault<T>(line: usize, column: usize, message: String) -> Result<T, RainError> {
    Err(RainError { line, column, message })
}
