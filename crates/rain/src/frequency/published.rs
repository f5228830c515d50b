//! The precipitation-frequency table of the US weather service, as it is downloaded.

use super::number::{Period, duration, number, period};
use super::read::Line;
use super::{Depth, FrequencyTable, Printed, Series, TableFault, fault, in_words, short};
use crate::cells::Cell;
use wetrun_units::{Length, Time, UnitSystem};

/// How the first line starts, in small letters.
pub(super) const TITLE: &str = "point precipitation frequency estimates";
/// How the header starts, in small letters.
const HEADER: &str = "by duration for";
/// The longest duration that the service prints.
const LONGEST: Time = Time::s(60.0 * 86_400.0);

/// What the lines above the table say.
#[derive(Default)]
struct Head {
    kind: Option<Kind>,
    series: Option<Series>,
    station: Option<String>,
    place: Option<String>,
    latitude: Option<String>,
    longitude: Option<String>,
    edition: Option<String>,
    /// The last line that is no `key: value`: what the table below it is.
    title: Option<(usize, usize, String)>,
}

#[derive(Clone, Copy, PartialEq)]
struct Kind {
    units: UnitSystem,
    intensities: bool,
}

/// Reads the lines of a table; `whole` is whether the last of them has its end.
pub(super) fn read(lines: &[Line], whole: bool) -> Result<FrequencyTable, TableFault> {
    let Some((first, rest)) = lines.split_first() else {
        return fault(1, 1, "this file is empty");
    };
    let mut head = Head { kind: Some(kind(first)?), ..Head::default() };
    let Some(at) = rest.iter().position(is_header) else {
        let last = lines.last().unwrap_or(first);
        let message = "the table's header is missing: `by duration for ARI (years):, 1,2,5,...`";
        return fault(last.number, last.length + 1, message);
    };
    for line in &rest[..at] {
        head.line(line)?;
    }
    if let Some((line, column, title)) = &head.title
        && title.to_ascii_lowercase().contains("bound")
    {
        let message = "this is a bound of the confidence interval, not the estimate: download the \
                       estimates";
        return fault(*line, *column, message);
    }
    let header = &rest[at];
    let (years, series) = columns(header, head.series)?;
    let kind = head.kind.unwrap_or(Kind { units: UnitSystem::Us, intensities: false });
    let below = &rest[at + 1..];
    let count = below.iter().position(|line| duration(line.first()).is_none());
    let (rows, after) = below.split_at(count.unwrap_or(below.len()));
    let mut printed: Vec<Printed> = Vec::new();
    for line in rows {
        let row = row(line, &years, kind)?;
        if printed.last().is_some_and(|before| before.duration.to_s() >= row.duration.to_s()) {
            let message = "this duration is not longer than the one above it";
            return fault(line.number, line.column(), message);
        }
        printed.push(row);
    }
    let Some(last) = printed.last() else {
        let line = below.first().unwrap_or(header);
        let message = "rows such as `5-min:, 0.409,0.485,...` belong below the header";
        return fault(line.number, line.column(), message);
    };
    let mut cautions = Vec::new();
    let (ended, bounds) = after_table(after)?;
    if bounds {
        cautions.push("the bounds of the confidence interval are not used".to_owned());
    }
    if !ended && (!whole || last.duration.to_s() < LONGEST.to_s()) {
        let end = in_words(last.duration);
        cautions.push(format!(
            "the table ends at {end} and without the date that the service puts below it: is the \
             file cut off?"
        ));
    }
    Ok(FrequencyTable {
        station: head.station,
        place: head.place,
        coordinates: head.latitude.zip(head.longitude),
        edition: head.edition,
        series: Some(series),
        units: kind.units,
        intensities: kind.intensities,
        cautions,
        years,
        rows: printed,
    })
}

/// The unit in the title's brackets.
fn kind(title: &Line) -> Result<Kind, TableFault> {
    let text = title.joined();
    let unit = text.split_once('(').and_then(|(_, rest)| rest.split_once(')'));
    let unit = unit.map(|(unit, _)| unit.trim().to_ascii_lowercase());
    let (units, intensities) = match unit.as_deref() {
        Some("inches") => (UnitSystem::Us, false),
        Some("inches/hour") => (UnitSystem::Us, true),
        Some("millimeters") => (UnitSystem::Si, false),
        Some("millimeters/hour") => (UnitSystem::Si, true),
        _ => {
            let message = "the unit of the table is missing or unknown: `(inches)`, \
                           `(inches/hour)`, `(millimeters)` or `(millimeters/hour)`";
            return fault(title.number, title.column(), message);
        }
    };
    Ok(Kind { units, intensities })
}

impl Head {
    fn line(&mut self, line: &Line) -> Result<(), TableFault> {
        let text = line.joined();
        let Some((key, value)) = text.split_once(':') else {
            if self.title.is_none() && self.edition.is_none() && !is_title(&text) {
                self.edition = Some(text);
            } else {
                self.title = Some((line.number, line.column(), text));
            }
            return Ok(());
        };
        let (key, value) = (key.trim().to_ascii_lowercase(), value.trim());
        let said = || (!matches!(value, "" | "-" | "None" | "None None")).then(|| value.to_owned());
        match key.as_str() {
            "data type" => self.data_type(line, value)?,
            "time series type" => self.series = Some(series(line, value)?),
            "station name" => self.station = said(),
            "latitude" => self.latitude = said().map(degrees),
            "longitude" => self.longitude = said().map(degrees),
            key if key.starts_with("location name") => self.place = said(),
            _ => {}
        }
        Ok(())
    }

    fn data_type(&mut self, line: &Line, value: &str) -> Result<(), TableFault> {
        let intensities = match value.to_ascii_lowercase().as_str() {
            "precipitation depth" => false,
            "precipitation intensity" => true,
            _ => {
                let message = format!(
                    "`{}` is neither `Precipitation depth` nor `Precipitation intensity`",
                    short(value)
                );
                return fault(line.number, line.column(), message);
            }
        };
        if self.kind.is_some_and(|kind| kind.intensities != intensities) {
            let message = "this contradicts the unit in the first line";
            return fault(line.number, line.column(), message);
        }
        Ok(())
    }
}

fn is_title(text: &str) -> bool {
    text.to_ascii_lowercase().starts_with("precipitation frequency estimates")
}

fn degrees(text: String) -> String {
    let text = text.trim_end_matches("Degree").trim_end();
    text.trim_end_matches(['°', '\u{fffd}']).trim_end().to_owned()
}

fn series(line: &Line, value: &str) -> Result<Series, TableFault> {
    match value.to_ascii_lowercase().as_str() {
        "partial duration" => Ok(Series::PartialDuration),
        "annual maximum" => Ok(Series::AnnualMaximum),
        _ => {
            let value = short(value);
            let message = format!("`{value}` is neither `Partial duration` nor `Annual maximum`");
            fault(line.number, line.column(), message)
        }
    }
}

/// Whether a line is the table's header: by its words, or where a spreadsheet has lost them by its
/// return periods.
fn is_header(line: &Line) -> bool {
    let first = line.first().to_ascii_lowercase();
    let periods = line.cells.iter().skip(1).filter(|cell| period(&cell.text).is_some()).count();
    first.starts_with(HEADER) || (first.is_empty() && periods > 1)
}

/// The return periods of a header, and what they are counted by.
fn columns(header: &Line, told: Option<Series>) -> Result<(Vec<f64>, Series), TableFault> {
    let words = header.first().to_ascii_lowercase();
    let by_words = match (words.contains("aep"), words.contains("ari")) {
        (true, false) => Some(Series::AnnualMaximum),
        (false, true) => Some(Series::PartialDuration),
        _ => None,
    };
    let mut years: Vec<f64> = Vec::new();
    let mut series = told.or(by_words);
    for cell in header.cells.iter().skip(1) {
        let at = |message: String| fault(header.number, cell.column, message);
        let Some(period) = period(&cell.text) else {
            return at(format!(
                "`{}` is no return period such as `10` or `1/10`",
                short(&cell.text)
            ));
        };
        let by_cell = match period {
            Period::Years(_) => Series::PartialDuration,
            Period::Probability(_) => Series::AnnualMaximum,
        };
        if series.is_some_and(|series| series != by_cell) || by_words.is_some_and(|w| w != by_cell)
        {
            let message = "an annual-maximum series has probabilities (`1/10`), a partial-duration \
                           series years (`10`): this contradicts what is said above";
            return at(message.to_owned());
        }
        series = Some(by_cell);
        if years.last().is_some_and(|before| *before >= period.years()) {
            return at("this return period is not longer than the one before it".to_owned());
        }
        years.push(period.years());
    }
    match series {
        Some(series) if !years.is_empty() => Ok((years, series)),
        _ => fault(header.number, header.length + 1, "the header names no return periods"),
    }
}

fn row(line: &Line, years: &[f64], kind: Kind) -> Result<Printed, TableFault> {
    let Some(duration) = duration(line.first()) else {
        return fault(line.number, line.column(), "this is no duration such as `5-min:`");
    };
    let values = line.cells.get(1..).unwrap_or_default();
    if let Some(more) = values.get(years.len()) {
        let message = format!("this row has more values than the header's {} columns", years.len());
        return fault(line.number, more.column, message);
    }
    if values.len() < years.len() {
        let (has, columns) = (values.len(), years.len());
        let message =
            format!("this row has {has} values for {columns} columns: is the file cut off?");
        return fault(line.number, line.length + 1, message);
    }
    let cells: Result<Vec<Depth>, TableFault> =
        values.iter().map(|cell| depth(line, cell, duration, kind)).collect();
    Ok(Printed { duration, cells: cells?, line: line.number })
}

fn depth(line: &Line, cell: &Cell, duration: Time, kind: Kind) -> Result<Depth, TableFault> {
    let Some(number) = number(&cell.text) else {
        let message = match cell.text.as_str() {
            "" => "a value is missing here".to_owned(),
            text => format!("`{}` is no amount of rain such as `0.409`", short(text)),
        };
        return fault(line.number, cell.column, message);
    };
    // Long durations of little rain are printed as 0 mm/h.
    if number.value <= 0.0 && !kind.intensities {
        return fault(line.number, cell.column, "a depth of rain must be more than 0");
    }
    Ok(Depth {
        depth: length(number.value, duration, kind),
        rounding: length(number.rounding(), duration, kind),
        column: cell.column,
    })
}

fn length(amount: f64, duration: Time, kind: Kind) -> Length {
    let length = match kind.units {
        UnitSystem::Us => Length::m(amount * 254.0 / 1e4),
        UnitSystem::Si => Length::m(amount / 1e3),
    };
    if kind.intensities { length * (duration.to_s() / 3600.0) } else { length }
}

/// What stands below the table: the service's date, or bounds in the same form. Anything else has
/// no place. Says whether the date is there, and whether bounds are.
fn after_table(lines: &[Line]) -> Result<(bool, bool), TableFault> {
    let (mut ended, mut bounds) = (false, false);
    for line in lines {
        let text = line.joined().to_ascii_lowercase();
        let at = |message: &str| fault(line.number, line.column(), message);
        if text.starts_with("date/time") || text.starts_with("pyruntime") {
            ended = true;
        } else if text.starts_with("precipitation frequency estimates") {
            if !text.contains("bound") {
                return at("a second table starts here: one file, one table");
            }
            bounds = true;
        } else if !bounds || (!is_header(line) && duration(line.first()).is_none()) {
            return at("this is neither a row such as `5-min:, ...` nor a line of the service's");
        }
    }
    Ok((ended, bounds))
}
