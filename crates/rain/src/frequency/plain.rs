//! A plain table: `duration` and one column a return period, the unit in the header.

use super::number::{Period, duration, number, period};
use super::read::Line;
use super::{Depth, FrequencyTable, Printed, Series, TableFault, fault, short};
use crate::cells::Cell;
use wetrun_units::{Length, Time, UnitSystem};

/// A column of depths or intensities.
struct Column {
    period: Period,
    unit: String,
    intensities: bool,
    /// Its place in a row.
    place: usize,
}

/// Reads the lines of a table.
pub(super) fn read(lines: &[Line]) -> Result<FrequencyTable, TableFault> {
    let Some((header, rows)) = lines.split_first() else {
        return fault(1, 1, "this file is empty");
    };
    let unit = duration_unit(header)?;
    let columns = columns(header)?;
    let series = match columns.first().map(|column| column.period) {
        Some(Period::Probability(_)) => Some(Series::AnnualMaximum),
        _ => None,
    };
    let mut printed = Vec::new();
    for line in rows {
        printed.push(row(line, unit.as_deref(), &columns, header.cells.len())?);
    }
    if printed.is_empty() {
        let message = "there is no row below the header";
        return fault(header.number, header.length + 1, message);
    }
    printed.sort_by(|a: &Printed, b: &Printed| a.duration.to_s().total_cmp(&b.duration.to_s()));
    let twice = printed.windows(2).find(|pair| pair[0].duration == pair[1].duration);
    if let Some([_, again]) = twice {
        return fault(again.line, 1, "this duration stands twice");
    }
    let imperial = columns.iter().all(|column| column.unit.starts_with("in"));
    Ok(FrequencyTable {
        station: None,
        place: None,
        coordinates: None,
        edition: None,
        series,
        units: if imperial { UnitSystem::Us } else { UnitSystem::Si },
        intensities: columns.iter().any(|column| column.intensities),
        cautions: Vec::new(),
        years: columns.iter().map(|column| column.period.years()).collect(),
        rows: printed,
    })
}

/// The unit of the durations where the header has it: `duration (min)`.
fn duration_unit(header: &Line) -> Result<Option<String>, TableFault> {
    let first = header.first();
    let (name, unit) = bracketed(first);
    let known = unit.is_none_or(|unit| duration(&format!("1 {unit}")).is_some());
    if !name.eq_ignore_ascii_case("duration") || !known {
        let message =
            format!("`{}` is neither `duration` nor such as `duration (min)`", short(first));
        return fault(header.number, header.column(), message);
    }
    Ok(unit.map(str::to_owned))
}

/// The columns of return periods, the shortest first.
fn columns(header: &Line) -> Result<Vec<Column>, TableFault> {
    let mut columns = Vec::new();
    for (place, cell) in header.cells.iter().enumerate().skip(1) {
        columns.push(column(header, cell, place)?);
    }
    if columns.is_empty() {
        let message = "a column a return period belongs here, headed such as `10 yr (mm)`";
        return fault(header.number, header.length + 1, message);
    }
    columns.sort_by(|a: &Column, b: &Column| a.period.years().total_cmp(&b.period.years()));
    for pair in columns.windows(2) {
        let column = header.cells.get(pair[1].place).map_or(1, |cell| cell.column);
        if pair[0].period.years() >= pair[1].period.years() {
            return fault(header.number, column, "this return period stands twice");
        }
        if pair[0].intensities != pair[1].intensities {
            return fault(header.number, column, "one table has either depths or intensities");
        }
        let kind = |column: &Column| matches!(column.period, Period::Probability(_));
        if kind(&pair[0]) != kind(&pair[1]) {
            let message = "one table has either years (`10 yr`) or probabilities (`1/10`)";
            return fault(header.number, column, message);
        }
    }
    Ok(columns)
}

fn column(header: &Line, cell: &Cell, place: usize) -> Result<Column, TableFault> {
    const EXPECTED: &str = "a column is headed such as `10 yr (mm)` or `10 yr (in/h)`";
    let at = |message: String| fault(header.number, cell.column, message);
    let (name, unit) = bracketed(&cell.text);
    let Some(unit) = unit else {
        return at(format!("`{}` does not say its unit: {EXPECTED}", short(&cell.text)));
    };
    let (unit, intensities) = match unit.to_ascii_lowercase().as_str() {
        "mm" | "millimeters" | "millimetres" => ("mm", false),
        "cm" | "centimeters" | "centimetres" => ("cm", false),
        "in" | "inch" | "inches" => ("in", false),
        "mm/h" | "mm/hr" | "mm/hour" | "millimeters/hour" | "millimetres/hour" => ("mm/h", true),
        "in/h" | "in/hr" | "in/hour" | "inches/hour" => ("in/h", true),
        other => return at(format!("`{}` is no unit of rain: {EXPECTED}", short(other))),
    };
    let lower = name.to_ascii_lowercase();
    let words = ["years", "year", "yrs", "yr"];
    let number = words.iter().find_map(|word| lower.strip_suffix(word));
    let number = number.map(|rest| rest.trim_end_matches([' ', '-']));
    let period = match (number, period(&lower)) {
        (Some(number), _) => period(number).filter(|p| matches!(p, Period::Years(_))),
        (None, found) => found.filter(|p| matches!(p, Period::Probability(_))),
    };
    match period {
        Some(period) => Ok(Column { period, unit: unit.to_owned(), intensities, place }),
        None => at(format!("`{}` is no return period: {EXPECTED}", short(name))),
    }
}

/// A header's name, and what stands in brackets behind it.
fn bracketed(text: &str) -> (&str, Option<&str>) {
    for (open, close) in [('(', ')'), ('[', ']')] {
        if let Some((name, rest)) = text.split_once(open)
            && let Some(unit) = rest.trim_end().strip_suffix(close)
        {
            return (name.trim(), Some(unit.trim()));
        }
    }
    (text.trim(), None)
}

fn row(
    line: &Line,
    unit: Option<&str>,
    columns: &[Column],
    width: usize,
) -> Result<Printed, TableFault> {
    let first = line.first();
    let told = match unit {
        Some(unit) if number(first).is_some() => duration(&format!("{first} {unit}")),
        _ => duration(first),
    };
    let Some(duration) = told else {
        let message = match number(first) {
            Some(_) => {
                format!("`{first}` needs a unit: `{first} min`, or a header `duration (min)`")
            }
            None => format!("`{}` is no duration such as `5 min`", short(first)),
        };
        return fault(line.number, line.column(), message);
    };
    if let Some(more) = line.cells.get(width) {
        return fault(line.number, more.column, "this value stands under no header");
    }
    let mut cells = Vec::new();
    for column in columns {
        let Some(cell) = line.cells.get(column.place) else {
            let message = "a value is missing here: is the file cut off?";
            return fault(line.number, line.length + 1, message);
        };
        cells.push(depth(line, cell, column, duration)?);
    }
    Ok(Printed { duration, cells, line: line.number })
}

fn depth(line: &Line, cell: &Cell, column: &Column, duration: Time) -> Result<Depth, TableFault> {
    let Some(number) = number(&cell.text) else {
        let message = match cell.text.as_str() {
            "" => "a value is missing here".to_owned(),
            text => format!("`{}` is no amount of rain such as `12.5`", short(text)),
        };
        return fault(line.number, cell.column, message);
    };
    if number.value <= 0.0 && !column.intensities {
        return fault(line.number, cell.column, "a depth of rain must be more than 0");
    }
    let length = |amount: f64| {
        let length = match column.unit.as_str() {
            "in" | "in/h" => Length::m(amount * 254.0 / 1e4),
            "cm" => Length::m(amount / 1e2),
            _ => Length::m(amount / 1e3),
        };
        if column.intensities { length * (duration.to_s() / 3600.0) } else { length }
    };
    let rounding = length(number.rounding());
    Ok(Depth { depth: length(number.value), rounding, column: cell.column })
}
