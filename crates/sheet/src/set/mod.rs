//! The printed set as parts and blocks; pages and HTML are two ways to lay the same blocks out.

mod calculation;
mod cover;
mod levels;
mod owner;
pub(crate) mod page;
mod review;
mod routes;
mod table;
mod wrap;

use crate::draw::Drawing;
use crate::input::SheetInput;

/// One part of the set; it starts on a new page.
#[derive(Clone, Debug)]
pub(crate) struct Part {
    /// Its title.
    pub title: String,
    /// Whether its page lies on its side.
    pub wide: bool,
    /// What stands on it.
    pub blocks: Vec<Block>,
}

/// A piece of a part.
#[derive(Clone, Debug)]
pub(crate) enum Block {
    /// The verdict in large letters: holds or not, and the sentence after it.
    Verdict { good: bool, word: String, sentence: String },
    /// A heading.
    Heading(String),
    /// Running text.
    Text(String),
    /// An equation or a definition, set in.
    Formula(String),
    /// Names and values.
    Facts(Vec<(String, String)>),
    /// A table.
    Table(Table),
    /// A drawing.
    Figure(Drawing),
    /// Warnings, each with a mark.
    Cautions(Vec<String>),
    /// Lines to sign on.
    Signatures(Vec<String>),
    /// The list of parts with their pages, filled in when pages are known.
    Contents,
}

/// A table.
#[derive(Clone, Debug, Default)]
pub(crate) struct Table {
    /// Columns.
    pub columns: Vec<Column>,
    /// Rows.
    pub rows: Vec<Row>,
}

/// A column's head.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    /// Name.
    pub name: String,
    /// Unit of its values; may be empty.
    pub unit: String,
    /// Whether it holds numbers (set to the right) or words.
    pub numbers: bool,
    /// Whether it stays where a narrow screen shows a row in one line.
    pub narrow: bool,
}

/// A row.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    /// One cell for each column.
    pub cells: Vec<String>,
    /// How it stands out.
    pub kind: RowKind,
}

/// How a row stands out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum RowKind {
    /// It does not.
    Plain,
    /// A sum or a result: bold, with a rule above.
    Total,
    /// A heading across the table: its first cell only.
    Group,
}

impl Table {
    /// A table with these columns: name, unit, whether numbers.
    pub(crate) fn new(columns: &[(&str, &str, bool)]) -> Self {
        let column = |&(name, unit, numbers): &(&str, &str, bool)| Column {
            name: name.to_owned(),
            unit: unit.to_owned(),
            numbers,
            narrow: false,
        };
        Self { columns: columns.iter().map(column).collect(), rows: Vec::new() }
    }

    /// On a narrow screen a row of this table is one line, of these columns alone.
    pub(crate) fn narrow(&mut self, names: &[&str]) {
        for column in &mut self.columns {
            column.narrow = names.contains(&column.name.as_str());
        }
    }

    /// Adds a plain row.
    pub(crate) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.push(cells, RowKind::Plain);
    }

    /// Adds a row that stands out.
    pub(crate) fn push(&mut self, cells: impl IntoIterator<Item = String>, kind: RowKind) {
        let mut cells: Vec<String> = cells.into_iter().map(|c| crate::draw::clean(&c)).collect();
        cells.resize(self.columns.len(), String::new());
        self.rows.push(Row { cells, kind });
    }
}

/// The whole set, in order.
pub(crate) fn parts(input: &SheetInput<'_>) -> Vec<Part> {
    let mut parts = vec![cover::part(input)];
    parts.extend(crate::plan::drawings(input).into_iter().map(drawing_part));
    parts.extend(crate::section::drawings(input).into_iter().map(drawing_part));
    parts.push(calculation::part(input));
    parts.push(routes::part(input));
    parts.push(levels::part(input));
    parts.extend(review::part(input));
    parts.push(owner::part(input));
    parts
}

fn drawing_part(drawing: Drawing) -> Part {
    Part { title: drawing.title.clone(), wide: true, blocks: vec![Block::Figure(drawing)] }
}

/// A dash where there is nothing to say.
pub(crate) fn or_dash(text: &str) -> String {
    if text.trim().is_empty() { "–".to_owned() } else { text.to_owned() }
}
