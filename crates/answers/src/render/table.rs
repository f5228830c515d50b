//! Tables of a report: a title over the tags, names and units over the numbers.

use super::show::Show;
use super::wrap::{WIDTH, width, wrap};
use anstyle::Style;
use wetrun_units::{Shown, UnitSystem};

const GAP: usize = 2;
const INDENT: usize = 2;
/// The styles of titles: bold.
pub(crate) const TITLE: Style = Style::new().bold();

/// A table whose rows have one label and numbers in columns, every number to the right.
pub(crate) struct Table {
    title: String,
    heads: Vec<Head>,
    rows: Vec<Row>,
    show: Show,
}

/// A column's name, over one column of numbers for each unit.
struct Head {
    name: String,
    units: Vec<String>,
}

struct Row {
    label: String,
    cells: Vec<String>,
    style: Style,
}

/// A row's cells, added column by column in the order of the heads.
pub(crate) struct Cells {
    cells: Vec<String>,
    show: Show,
}

impl Cells {
    /// No cells yet.
    pub(crate) fn new(show: Show) -> Self {
        Self { cells: Vec::new(), show }
    }

    /// A quantity: one cell, or one for each unit system.
    pub(crate) fn number(mut self, number: impl Fn(UnitSystem) -> Shown) -> Self {
        self.cells.extend(self.show.systems().map(|system| number(system).number));
        self
    }

    /// A quantity that may be missing.
    pub(crate) fn maybe<T: Copy>(
        self,
        value: Option<T>,
        number: impl Fn(UnitSystem, T) -> Shown,
    ) -> Self {
        match value {
            Some(value) => self.number(|system| number(system, value)),
            None => self.words("-"),
        }
    }

    /// Words in place of a quantity.
    pub(crate) fn words(mut self, words: &str) -> Self {
        self.cells.extend(self.show.systems().map(|_| words.to_owned()));
        self
    }

    /// A cell of a column that has no unit.
    pub(crate) fn plain(mut self, text: impl Into<String>) -> Self {
        self.cells.push(text.into());
        self
    }
}

/// A table as a page shows it: in the units of the site.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Rows {
    /// What it is of.
    pub title: String,
    /// Names of the columns with their units; a unit may be empty.
    pub heads: Vec<(String, String)>,
    /// Tag, cells in the order of the columns, and whether something fails there.
    pub rows: Vec<(String, Vec<String>, bool)>,
}

impl Table {
    /// The same for a page; `tags` name the rows.
    pub(crate) fn rows<'t>(self, tags: impl Iterator<Item = &'t str>) -> Rows {
        let unit = |head: &Head| head.units.first().cloned().unwrap_or_default();
        let heads = self.heads.iter().map(|head| (head.name.clone(), unit(head))).collect();
        let row = |(tag, row): (&str, Row)| (tag.to_owned(), row.cells, row.style != Style::new());
        Rows { title: self.title, heads, rows: tags.zip(self.rows).map(row).collect() }
    }

    /// A table under a title.
    pub(crate) fn new(title: &str, show: Show) -> Self {
        Self { title: title.to_owned(), heads: Vec::new(), rows: Vec::new(), show }
    }

    /// Adds a column of quantities; `unit` names the unit in each system.
    pub(crate) fn column(mut self, name: &str, unit: impl Fn(UnitSystem) -> Shown) -> Self {
        let units = self.show.systems().map(|system| unit(system).unit.to_owned()).collect();
        self.heads.push(Head { name: name.to_owned(), units });
        self
    }

    /// Adds a column without a unit.
    pub(crate) fn plain_column(mut self, name: &str) -> Self {
        self.heads.push(Head { name: name.to_owned(), units: vec![String::new()] });
        self
    }

    /// Adds a row.
    pub(crate) fn row(&mut self, label: impl Into<String>, cells: Cells, style: Style) {
        self.rows.push(Row { label: label.into(), cells: cells.cells, style });
    }

    /// The table as lines, each within the page.
    pub(crate) fn render(&self) -> String {
        let (columns, groups) = self.widths();
        let numbers: usize = columns.iter().map(|w| w + GAP).sum();
        let room = WIDTH.saturating_sub(numbers);
        let longest = self.rows.iter().map(|r| INDENT + width(&r.label)).max().unwrap_or(0);
        let first = longest.max(width(&self.title)).min(room);
        let mut out = String::new();
        let names = self.heads.iter().map(|h| h.name.as_str());
        line(&mut out, &self.title, first, names.zip(groups), TITLE);
        let units = self.heads.iter().flat_map(|h| h.units.iter().map(String::as_str));
        if units.clone().any(|unit| !unit.is_empty()) {
            line(&mut out, "", first, units.zip(columns.iter().copied()), Style::new().dimmed());
        }
        for row in &self.rows {
            let label = format!("{}{}", " ".repeat(INDENT), row.label);
            let cells = row.cells.iter().map(String::as_str).zip(columns.iter().copied());
            line(&mut out, &label, first, cells, row.style);
        }
        out
    }

    /// The width of every column of numbers, and of every name over one or two of them.
    fn widths(&self) -> (Vec<usize>, Vec<usize>) {
        let mut columns = Vec::new();
        let mut groups = Vec::new();
        for head in &self.heads {
            let mut group = 0;
            for unit in &head.units {
                let cells = self.rows.iter().filter_map(|r| r.cells.get(columns.len()));
                let widest = cells.map(|c| width(c)).chain([width(unit)]).max().unwrap_or(0);
                group += widest + if group > 0 { GAP } else { 0 };
                columns.push(widest);
            }
            let short = width(&head.name).saturating_sub(group);
            if let Some(last) = columns.last_mut() {
                *last += short;
            }
            groups.push(group + short);
        }
        (columns, groups)
    }
}

/// One line; a label that would run into the first number stands on a line of its own.
fn line<'c>(
    out: &mut String,
    label: &str,
    first: usize,
    cells: impl Iterator<Item = (&'c str, usize)>,
    style: Style,
) {
    let mut numbers = String::new();
    let mut column = first;
    for (cell, cell_width) in cells {
        column += GAP + cell_width;
        let pad = column.saturating_sub(first + width(&numbers) + width(cell));
        numbers.push_str(&" ".repeat(pad));
        numbers.push_str(cell);
    }
    let numbers = numbers.trim_end();
    let blank = numbers.len() - numbers.trim_start().len();
    let fits = width(label) + GAP <= first + blank || (numbers.is_empty() && width(label) <= WIDTH);
    let mut line = String::new();
    if fits {
        line.push_str(label);
    } else {
        let text = wrap(label.trim_start(), INDENT, INDENT + 2);
        out.push_str(&format!("{style}{}{text}{style:#}\n", " ".repeat(INDENT)));
    }
    if !numbers.is_empty() {
        line.push_str(&" ".repeat((first + blank).saturating_sub(width(&line))));
        line.push_str(numbers.trim_start());
    }
    out.push_str(&format!("{style}{line}{style:#}\n"));
}

/// Labels made of parts, each part padded to the widest of its kind.
pub(crate) fn aligned<const N: usize>(rows: &[[String; N]]) -> Vec<String> {
    // A part that ends its row may run on: it makes no column.
    let goes_on = |row: &[String; N], part: usize| row[part + 1..].iter().any(|p| !p.is_empty());
    let widest = |part: usize| {
        let rows = rows.iter().filter(|row| goes_on(row, part));
        rows.map(|row| width(&row[part])).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..N).map(widest).collect();
    let label = |row: &[String; N]| {
        let mut text = String::new();
        for (part, part_width) in row.iter().zip(&widths) {
            text.push_str(part);
            text.push_str(&" ".repeat(part_width.saturating_sub(width(part)) + GAP));
        }
        text.trim_end().to_owned()
    };
    rows.iter().map(label).collect()
}
