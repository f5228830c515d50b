//! The file of points surveyed on site: comma-separated, a header with units, matched by description.

use crate::context::Context;
use crate::diagnostic::{Code, Diagnostic, Diagnostics};
use crate::read::text_of;
use crate::readings::{Reading, ReadingNames};
use crate::source::{Source, Span};
use crate::values::short;
use std::collections::BTreeMap;
use std::sync::Arc;
use wetrun_units::{Length, nearest};

/// A point surveyed on site.
#[derive(Clone, Debug, PartialEq)]
pub struct SurveyPoint {
    /// The level that its description names, as a reading.
    pub reading: Reading,
    /// Northing and easting, where the file has both.
    pub place: Option<(Length, Length)>,
}

/// No level and no coordinate is farther from the site's own corner, in metres.
const FARTHEST_M: f64 = 2e7;
/// No level is farther from the datum, in metres.
const HIGHEST_M: f64 = 20_000.0;

const FORM: &str =
    "a header such as `number,northing_m,easting_m,level_m,description`; `_ft` where it is in feet";

/// Whether a file holds surveyed points: its first line is a header with a description.
pub fn is_survey_points(bytes: &[u8], file_name: &str) -> bool {
    let csv = file_name.get(file_name.len().saturating_sub(4)..);
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let said = |line: &&[u8]| !line.trim_ascii().is_empty() && !line.starts_with(b"#");
    let first = bytes.split(|b| *b == b'\n').find(said).unwrap_or_default();
    let first = String::from_utf8_lossy(first).to_ascii_lowercase();
    csv.is_some_and(|end| end.eq_ignore_ascii_case(".csv"))
        || first.split(',').any(|cell| cell.trim().trim_matches('"') == "description")
}

/// Reads a file of surveyed points.
///
/// The header says which column is which, and its unit: `level_m` or `level_ft` and `description`
/// are needed, `northing_…`, `easting_…` and others may be there. The description is the tag and
/// the key of a level (`T1 inlet`). Blank lines and lines that begin with `#` are left out.
///
/// # Errors
/// [`Diagnostics`] with every independent fault in the file.
///
/// # Example
/// ```
/// use wetrun_site::{ReadingNames, read_survey_points};
///
/// let names = ReadingNames {
///     levels: vec![("T1".to_owned(), "inlet".to_owned())],
///     ..ReadingNames::default()
/// };
/// let text = "number,northing_m,easting_m,level_m,description\n7,12.5,3.25,2.605,T1 inlet\n";
/// assert_eq!(read_survey_points(text, "points.csv", &names)?.len(), 1);
/// # Ok::<(), wetrun_site::Diagnostics>(())
/// ```
pub fn read_survey_points(
    bytes: impl AsRef<[u8]>,
    file_name: &str,
    names: &ReadingNames,
) -> Result<Vec<SurveyPoint>, Diagnostics> {
    let source = Arc::new(text_of(bytes.as_ref(), file_name)?);
    let mut cx = Context::new(&source);
    let found = points(&mut cx, names);
    if cx.has_errors() { Err(Diagnostics::new(Arc::clone(&source), cx.faults)) } else { Ok(found) }
}

/// A cell: its text without quotes, and where it stands.
struct Cell {
    text: String,
    span: Span,
}

fn points(cx: &mut Context<'_>, names: &ReadingNames) -> Vec<SurveyPoint> {
    let source = cx.source;
    let mut rows = rows(source);
    let Some((first, line)) = rows.next() else {
        fault(cx, Code::Syntax, Span::NOWHERE, "this file holds no points", FORM);
        return Vec::new();
    };
    let Some(header) = split(cx, first, line).and_then(|cells| Header::read(cx, &cells)) else {
        return Vec::new();
    };
    let known: BTreeMap<String, usize> = (names.levels.iter().enumerate())
        .map(|(index, (tag, key))| (plain(&format!("{tag} {key}")), index))
        .collect();
    let mut measured = BTreeMap::new();
    let mut found = Vec::new();
    let mut rows_seen = 0;
    for (start, line) in rows {
        if cx.is_full() {
            break;
        }
        rows_seen += 1;
        let Some(cells) = split(cx, start, line) else { continue };
        if cells.len() != header.columns {
            let at = Span::new(start, line.len());
            let message = format!("this row has {} cells", cells.len());
            let expected =
                format!("{} cells, as the header has; decimals with a point", header.columns);
            fault(cx, Code::Shape, at, message, expected);
            continue;
        }
        let place = match (header.northing, header.easting) {
            (Some(north), Some(east)) => {
                let [north, east] = [(north, "northing"), (east, "easting")]
                    .map(|((at, unit), what)| number(cx, &cells[at], unit, what, FARTHEST_M));
                north.zip(east)
            }
            _ => None,
        };
        let (at, unit) = header.level;
        let level = number(cx, &cells[at], unit, "level", HIGHEST_M);
        let Some((tag, key)) = described(cx, &cells[header.description], names, &known) else {
            continue;
        };
        let span = cells[header.description].span;
        if let Some(first) = measured.insert((tag, key), span) {
            let message = format!("`{} {}` is measured twice", short(tag), short(key));
            let fault = Diagnostic::new(Code::TagTwice, span, message);
            cx.report(fault.expected("each level once").label(first, "it is measured here first"));
            continue;
        }
        if let Some(found_at) = level {
            let (tag, level) = (tag.to_owned(), key.to_owned());
            found.push(SurveyPoint {
                reading: Reading::Measured { tag, level, found: found_at },
                place,
            });
        }
    }
    if rows_seen == 0 {
        fault(
            cx,
            Code::Shape,
            Span::new(first, line.len()),
            "no point stands below this header",
            "a row for each point",
        );
    }
    found
}

/// The lines that hold something: where each starts, and its text.
fn rows(source: &Source) -> impl Iterator<Item = (usize, &str)> {
    let mut at = 0;
    let lines = source.text.split_inclusive('\n').map(move |line| {
        let start = at;
        at += line.len();
        (start, line.trim_end_matches(['\n', '\r']))
    });
    lines.filter(|(_, line)| !line.trim().is_empty() && !line.starts_with('#'))
}

/// Which columns hold what, and what a metre is in each.
struct Header {
    columns: usize,
    level: (usize, f64),
    description: usize,
    northing: Option<(usize, f64)>,
    easting: Option<(usize, f64)>,
}

impl Header {
    fn read(cx: &mut Context<'_>, cells: &[Cell]) -> Option<Self> {
        let named = |name: &str| cells.iter().position(|cell| cell.text.eq_ignore_ascii_case(name));
        for (index, cell) in cells.iter().enumerate() {
            let before = cells[..index].iter().find(|c| c.text.eq_ignore_ascii_case(&cell.text));
            if let Some(before) = before.filter(|_| !cell.text.is_empty()) {
                let message = format!("`{}` stands twice in the header", short(&cell.text));
                let fault = Diagnostic::new(Code::DuplicateKey, cell.span, message);
                cx.report(fault.label(before.span, "it stands here first"));
                return None;
            }
        }
        let mut measure = |what: &str, needed: bool| {
            let both = [("_ft", 0.3048), ("_m", 1.0)]
                .map(|(unit, size_m)| named(&format!("{what}{unit}")).map(|index| (index, size_m)));
            match both {
                [Some((_, _)), Some((second, _))] => {
                    let message = format!("both feet and metres stand here as {what}");
                    fault(cx, Code::DuplicateKey, cells[second].span, message, "one of them");
                    Err(())
                }
                [None, None] if needed => {
                    let whole = Span::new(cells[0].span.range().start, 0);
                    let message =
                        format!("the first line names no column `{what}_m` or `{what}_ft`");
                    fault(cx, Code::MissingKey, whole, message, FORM);
                    Err(())
                }
                [feet, metres] => Ok(feet.or(metres)),
            }
        };
        let level = measure("level", true);
        let (northing, easting) = (measure("northing", false), measure("easting", false));
        let description = named("description");
        if description.is_none() {
            let whole = Span::new(cells[0].span.range().start, 0);
            fault(
                cx,
                Code::MissingKey,
                whole,
                "the first line names no column `description`",
                FORM,
            );
        }
        Some(Self {
            columns: cells.len(),
            level: level.ok()??,
            description: description?,
            northing: northing.ok()?,
            easting: easting.ok()?,
        })
    }
}

/// The level that a description names: as it is, else without regard to case.
fn described<'n>(
    cx: &mut Context<'_>,
    cell: &Cell,
    names: &'n ReadingNames,
    known: &BTreeMap<String, usize>,
) -> Option<(&'n str, &'n str)> {
    let said = plain(&cell.text);
    let loosely = || {
        let mut alike = known.iter().filter(|(name, _)| name.to_lowercase() == said.to_lowercase());
        alike.next().filter(|_| alike.next().is_none()).map(|(_, index)| index)
    };
    let Some(index) = known.get(&said).or_else(loosely) else {
        let message = match said.is_empty() {
            true => "this point has no description".to_owned(),
            false => format!("no level here is called `{}`", short(&cell.text)),
        };
        let near = nearest(&said, known.keys().map(String::as_str));
        let expected = "the tag and the key of a level, such as `T1 inlet`; `#` begins a line that is left out";
        let fault = Diagnostic::new(Code::Reference, cell.span, message);
        cx.report(fault.expected(expected).nearest(near));
        return None;
    };
    names.levels.get(*index).map(|(tag, key)| (tag.as_str(), key.as_str()))
}

/// A description without what a table puts before a text that begins with a sign.
fn plain(text: &str) -> String {
    let text = text.strip_prefix('\'').unwrap_or(text);
    text.replace(";'", ";").split_whitespace().collect::<Vec<_>>().join(" ")
}

fn number(
    cx: &mut Context<'_>,
    cell: &Cell,
    unit_m: f64,
    what: &str,
    farthest_m: f64,
) -> Option<Length> {
    let digits = cell.text.chars().all(|c| c.is_ascii_digit() || "+-.eE".contains(c));
    let Some(number) = cell.text.parse::<f64>().ok().filter(|n| n.is_finite() && digits) else {
        let message = match cell.text.is_empty() {
            true => format!("this point has no {what}"),
            false => format!("`{}` is no {what}", short(&cell.text)),
        };
        fault(
            cx,
            Code::Value,
            cell.span,
            message,
            "a number alone, such as `98.65`: the header says the unit",
        );
        return None;
    };
    let metres = number * unit_m;
    if metres.abs() > farthest_m {
        let message = format!("a {what} of `{}` is out of range", short(&cell.text));
        let expected = format!("within {} km", farthest_m / 1000.0);
        fault(cx, Code::Range, cell.span, message, expected);
        return None;
    }
    Some(Length::m(metres))
}

fn fault(
    cx: &mut Context<'_>,
    code: Code,
    at: Span,
    message: impl Into<String>,
    expected: impl Into<String>,
) {
    cx.report(Diagnostic::new(code, at, message).expected(expected));
}

/// The cells of a line, quotes taken off and blanks trimmed.
fn split(cx: &mut Context<'_>, start: usize, line: &str) -> Option<Vec<Cell>> {
    let mut cells = Vec::new();
    let (mut text, mut cell_at, mut quoted_at) = (String::new(), 0, None);
    let mut chars = line.char_indices().peekable();
    let cell = |text: &mut String, from: usize, to: usize| {
        let raw = line.get(from..to).unwrap_or_default();
        let blanks = raw.len() - raw.trim_start().len();
        let span = Span::new(start + from + blanks, raw.trim().len());
        Cell { text: std::mem::take(text).trim().to_owned(), span }
    };
    while let Some((index, c)) = chars.next() {
        match (c, quoted_at) {
            ('"', Some(_)) if chars.next_if(|(_, next)| *next == '"').is_some() => text.push('"'),
            ('"', Some(_)) => quoted_at = None,
            ('"', None) if text.trim().is_empty() => quoted_at = Some(index),
            (',', None) => {
                cells.push(cell(&mut text, cell_at, index));
                cell_at = index + 1;
            }
            (c, _) => text.push(c),
        }
    }
    if let Some(index) = quoted_at {
        let message = "this quotation mark is not closed on its line";
        fault(cx, Code::Syntax, Span::new(start + index, 1), message, "a second one");
        return None;
    }
    cells.push(cell(&mut text, cell_at, line.len()));
    Some(cells)
}
