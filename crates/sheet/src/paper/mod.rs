//! A printed paper as parts and blocks; pages and HTML are two ways to lay the same blocks out.

pub(crate) mod page;
mod table;
mod wrap;

pub(crate) use wrap::wrap;

use crate::draw::Drawing;
use wetrun_units::UnitSystem;

/// A paper: what stands on every page, and its parts.
#[derive(Clone, Debug)]
pub struct Paper {
    /// Name of the site, the head of every page.
    pub site: String,
    /// The unit system; it chooses the paper (letter or A4).
    pub units: UnitSystem,
    /// What every page says at its foot: which file, which revision, which datum.
    pub foot: Vec<String>,
    /// Its parts, in order.
    pub parts: Vec<Part>,
}

impl Paper {
    /// The drawings alone.
    pub(crate) fn drawings(&self) -> Vec<Drawing> {
        self.parts.iter().flat_map(Part::figures).cloned().collect()
    }
}

/// One part of a paper; it starts on a new page.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its title.
    pub title: String,
    /// Whether its page lies on its side.
    pub wide: bool,
    /// What stands on it.
    pub blocks: Vec<Block>,
}

impl Part {
    /// Its drawings.
    pub(crate) fn figures(&self) -> impl Iterator<Item = &Drawing> {
        self.blocks.iter().filter_map(|block| match block {
            Block::Figure(drawing) => Some(drawing),
            _ => None,
        })
    }
}

/// A piece of a part.
#[derive(Clone, Debug)]
pub enum Block {
    /// The verdict in large letters: holds or not, and the sentence after it.
    Verdict {
        /// Whether it is good news.
        good: bool,
        /// One word or two.
        word: String,
        /// The sentence after it.
        sentence: String,
    },
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
pub struct Table {
    /// Columns.
    pub columns: Vec<Column>,
    /// Rows.
    pub rows: Vec<Row>,
}

/// A column's head.
#[derive(Clone, Debug)]
pub struct Column {
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
pub struct Row {
    /// One cell for each column.
    pub cells: Vec<String>,
    /// How it stands out.
    pub kind: RowKind,
}

/// How a row stands out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RowKind {
    /// It does not.
    Plain,
    /// A sum or a result: bold, with a rule above.
    Total,
    /// A heading across the table: its first cell only.
    Group,
}

impl Table {
    /// A table with these columns: name, unit, whether numbers.
    pub fn new(columns: &[(&str, &str, bool)]) -> Self {
        let column = |&(name, unit, numbers): &(&str, &str, bool)| Column {
            name: name.to_owned(),
            unit: unit.to_owned(),
            numbers,
            narrow: false,
        };
        Self { columns: columns.iter().map(column).collect(), rows: Vec::new() }
    }

    /// On a narrow screen a row of this table is one line, of these columns alone.
    pub fn narrow(&mut self, names: &[&str]) {
        for column in &mut self.columns {
            column.narrow = names.contains(&column.name.as_str());
        }
    }

    /// Adds a plain row.
    pub fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.push(cells, RowKind::Plain);
    }

    /// Adds a row that stands out.
    pub fn push(&mut self, cells: impl IntoIterator<Item = String>, kind: RowKind) {
        let mut cells: Vec<String> = cells.into_iter().map(|c| crate::draw::clean(&c)).collect();
        cells.resize(self.columns.len(), String::new());
        self.rows.push(Row { cells, kind });
    }
}

/// A dash where there is nothing to say.
pub(crate) fn or_dash(text: &str) -> String {
    if text.trim().is_empty() { "–".to_owned() } else { text.to_owned() }
}

/// The foot of every page: the file by its hash, the revision where one is given, the datum.
pub fn foot(file_hash: &str, revision: &str, datum: &str) -> Vec<String> {
    let mut words = vec![format!("site file {}", or_dash(file_hash))];
    if !revision.trim().is_empty() {
        words.push(format!("revision {revision}"));
    }
    words.push(format!("datum: {}", or_dash(datum)));
    words
}
