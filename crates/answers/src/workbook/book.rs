//! The sheets of a workbook: cells by place, with what they hold and how they look.

use super::ex::Ex;
use std::collections::BTreeMap;

/// A workbook.
#[derive(Debug, Default)]
pub(super) struct Book {
    pub(super) sheets: Vec<Sheet>,
}

/// A sheet; rows and columns count from 0.
#[derive(Debug)]
pub(super) struct Sheet {
    pub(super) name: &'static str,
    pub(super) cells: BTreeMap<(u32, u32), Cell>,
    /// Widths of its columns in characters, from the first.
    pub(super) widths: Vec<f64>,
    /// How many rows stay in sight above the others.
    pub(super) heads: u32,
}

/// What a cell holds.
#[derive(Clone, Debug)]
pub(super) enum Holds {
    Text(String),
    Number(f64),
    Formula(Ex),
}

/// How a cell looks; in the order of the styles in the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Look {
    Plain,
    Title,
    Head,
    /// A number that may be changed.
    Input,
    /// A number that was solved for: it stays as it was when an input is changed.
    Solved,
    /// A level or length to three decimals.
    Level,
    /// A small number.
    Small,
    /// What is left over.
    Residual,
    Note,
}

/// A cell.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    pub(super) holds: Holds,
    pub(super) look: Look,
}

impl Book {
    /// Whether every number is one.
    pub(super) fn is_finite(&self) -> bool {
        let cells = self.sheets.iter().flat_map(|sheet| sheet.cells.values());
        cells.into_iter().all(|cell| match &cell.holds {
            Holds::Text(_) => true,
            Holds::Number(value) => value.is_finite(),
            Holds::Formula(ex) => ex.value.is_finite(),
        })
    }
}

impl Sheet {
    pub(super) fn new(name: &'static str, widths: &[f64], heads: u32) -> Self {
        Self { name, cells: BTreeMap::new(), widths: widths.to_vec(), heads }
    }

    /// Puts a text; none acts as a formula where a cell is opened.
    pub(super) fn text(&mut self, row: u32, column: u32, text: &str, look: Look) {
        let holds = Holds::Text(crate::render::csv::guarded(text));
        self.cells.insert((row, column), Cell { holds, look });
    }

    /// Puts a row of names.
    pub(super) fn heads(&mut self, row: u32, names: &[&str]) {
        for (column, name) in names.iter().enumerate() {
            self.text(row, column as u32, name, Look::Head);
        }
    }

    /// Puts a number, and gives what refers to it.
    pub(super) fn number(&mut self, row: u32, column: u32, value: f64, look: Look) -> Ex {
        let value: f64 = format!("{value:.14e}").parse().unwrap_or(value);
        self.cells.insert((row, column), Cell { holds: Holds::Number(value), look });
        self.refer(row, column, value)
    }

    /// Puts a formula, and gives what refers to it.
    pub(super) fn formula(&mut self, row: u32, column: u32, ex: &Ex, look: Look) -> Ex {
        let value = ex.value;
        self.cells.insert((row, column), Cell { holds: Holds::Formula(ex.clone()), look });
        self.refer(row, column, value)
    }

    /// What refers to a cell that holds a number.
    pub(super) fn value(&self, row: u32, column: u32) -> Option<Ex> {
        let value = match &self.cells.get(&(row, column))?.holds {
            Holds::Text(_) => return None,
            Holds::Number(value) => *value,
            Holds::Formula(ex) => ex.value,
        };
        Some(self.refer(row, column, value))
    }

    fn refer(&self, row: u32, column: u32, value: f64) -> Ex {
        let name =
            if self.name.contains(' ') { format!("'{}'", self.name) } else { self.name.to_owned() };
        Ex { text: format!("{name}!${}${}", letters(column), row + 1), value }
    }
}

/// A column's name: A, B, … Z, AA.
pub(super) fn letters(column: u32) -> String {
    let (mut left, mut name) = (column + 1, Vec::new());
    while left > 0 {
        let digit = (left - 1) % 26;
        name.push(char::from(b'A' + u8::try_from(digit).unwrap_or_default()));
        left = (left - 1) / 26;
    }
    name.iter().rev().collect()
}
