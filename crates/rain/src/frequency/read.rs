//! The one door into the text of a table: the published form or the plain one.

use super::{FrequencyTable, TableFault, fault, plain, published, sound};
use crate::cells::{Cell, cells};

/// No table is longer, in lines.
const MOST_LINES: usize = 10_000;
/// No line of a table is longer, in bytes.
const LONGEST_LINE: usize = 20_000;

/// A line of the text that holds something, as cells.
pub(super) struct Line {
    /// Its number, from 1.
    pub(super) number: usize,
    /// Its cells, without empty ones at the end; at least one.
    pub(super) cells: Vec<Cell>,
    /// How many characters it has, blanks at the end left out.
    pub(super) length: usize,
}

impl Line {
    pub(super) fn first(&self) -> &str {
        self.cells.first().map_or("", |cell| cell.text.as_str())
    }

    /// Where its first cell that holds something stands.
    pub(super) fn column(&self) -> usize {
        self.cells.iter().find(|cell| !cell.text.is_empty()).map_or(1, |cell| cell.column)
    }

    /// The whole line as one text, however a spreadsheet has parted it.
    pub(super) fn joined(&self) -> String {
        let texts: Vec<&str> = self.cells.iter().map(|cell| cell.text.as_str()).collect();
        texts.join(", ")
    }
}

/// Reads the text of a table: the precipitation-frequency estimates of the US weather service as
/// they are downloaded, or plain comma-separated values with a header `duration` and a column a
/// return period, such as `10 yr (mm)`.
///
/// # Errors
/// The first fault, with its line and column: what has no place in either form, a depth that falls
/// as the duration grows or the return period shrinks, by more than the printed digits are rounded.
///
/// # Example
/// ```
/// let text = "duration,2 yr (mm),10 yr (mm)\n5 min,9.5,14.2\n10 min,14.0,21.5\n";
/// let picked = wetrun_rain::frequency::read(text)?.of(10.0)?;
/// assert_eq!(picked.rows[1].depth.to_m(), 0.0215);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn read(text: &str) -> Result<FrequencyTable, TableFault> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let lines = lines(text)?;
    let Some(first) = lines.first() else {
        return fault(1, 1, "this file is empty");
    };
    let starts = |line: &Line, words: &str| line.joined().to_ascii_lowercase().starts_with(words);
    let table = if starts(first, published::TITLE) {
        published::read(&lines, text.ends_with('\n'))?
    } else if let Some(refusal) = foreign(&lines) {
        return refusal;
    } else if first.first().to_ascii_lowercase().starts_with("duration") {
        plain::read(&lines)?
    } else {
        let message = "this is no rain table: it starts neither with `Point precipitation \
                       frequency estimates (...)` nor with a column `duration`";
        return fault(first.number, first.column(), message);
    };
    sound::check(&table)?;
    Ok(table)
}

/// The lines that hold something; those of a plain table that start with `#` are comments.
fn lines(text: &str) -> Result<Vec<Line>, TableFault> {
    let mut found = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let number = index + 1;
        if number > MOST_LINES {
            return fault(number, 1, format!("a rain table has at most {MOST_LINES} lines"));
        }
        if line.len() > LONGEST_LINE {
            return fault(number, 1, "this line is far longer than any of a rain table");
        }
        let mut cells = match cells(line) {
            Ok(cells) => cells,
            Err(column) => {
                let message = "this quotation mark is not closed on its line";
                return fault(number, column, message);
            }
        };
        while cells.last().is_some_and(|cell| cell.text.is_empty()) {
            cells.pop();
        }
        if !cells.is_empty() && !line.starts_with('#') {
            found.push(Line { number, cells, length: line.trim_end().chars().count() });
        }
    }
    Ok(found)
}

/// Files that people take for a table, and what they are.
fn foreign(lines: &[Line]) -> Option<Result<FrequencyTable, TableFault>> {
    let refuse = |line: &Line, message: &str| Some(fault(line.number, line.column(), message));
    let first = lines.first()?;
    let head = first.joined();
    if head.starts_with('<') {
        return refuse(first, "this is a web page, not the table: download it as CSV");
    }
    if head.starts_with("PK\u{3}\u{4}") {
        return refuse(first, "this is a workbook, not the table: save it as CSV");
    }
    let head_lines =
        || lines.iter().take(40).map(|line| (line, line.joined().to_ascii_lowercase()));
    let nowhere = head_lines().find(|(_, text)| text.contains("not within a project area"));
    if let Some((line, _)) = nowhere {
        return refuse(line, "the service says that it has no table for this place");
    }
    for (line, text) in head_lines() {
        if text.starts_with("result =") || text.starts_with("quantiles =") {
            return refuse(line, "this is what the service's map reads: download the table as CSV");
        }
        if text.contains("precipitation frequency estimates") || text.contains("by duration for") {
            let message = "the table's first line is missing, which says its unit: `Point \
                           precipitation frequency estimates (inches)`";
            return refuse(first, message);
        }
    }
    let semicolons = head.matches(';').count();
    if semicolons > 0 && head.to_ascii_lowercase().starts_with("duration") && !head.contains(',') {
        return refuse(first, "commas must part the columns, and a point the decimals");
    }
    None
}
