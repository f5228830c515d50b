//! The papers of storms, drains, doubts and days for a screen: their blocks, with drawings for a page that
//! brings its own fonts.

use crate::days::Days;
use crate::doubt::Doubted;
use crate::flush::Flush;
use crate::render::paper::{doubt_part, flush_part, storm_part, year_part};
use crate::storm::Storm;
use wetrun_sheet::paper::{Block, Part, Table};
use wetrun_sheet::svg_element;

/// A sheet for a screen.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct ScreenSheet {
    /// Its title.
    pub title: String,
    /// What stands on it, in order.
    pub blocks: Vec<ScreenBlock>,
}

/// A piece of a sheet.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub enum ScreenBlock {
    /// The answer: whether it is good news, one word or two, and the sentence after it.
    Verdict(bool, String, String),
    /// A heading.
    Heading(String),
    /// Running text.
    Text(String),
    /// Names and values.
    Facts(Vec<(String, String)>),
    /// A table: names and units of its columns, whether each holds numbers, and its rows.
    Table(Vec<(String, String, bool)>, Vec<Vec<String>>),
    /// A drawing: its title, and an SVG element.
    Figure(String, String),
    /// Warnings.
    Cautions(Vec<String>),
}

/// A storm as it passes.
pub fn storm_sheet(storm: &Storm) -> ScreenSheet {
    sheet(storm_part(storm, false))
}

/// What opening the drains does.
pub fn flush_sheet(flush: &Flush) -> ScreenSheet {
    sheet(flush_part(flush))
}

/// How sure the margins are.
pub fn doubt_sheet(doubted: &Doubted) -> ScreenSheet {
    sheet(doubt_part(doubted, false))
}

/// Days of rain.
pub fn year_sheet(days: &Days) -> ScreenSheet {
    sheet(year_part(days, false))
}

fn sheet(part: Part) -> ScreenSheet {
    let blocks = part.blocks.into_iter().filter_map(block).collect();
    ScreenSheet { title: part.title, blocks }
}

fn block(block: Block) -> Option<ScreenBlock> {
    Some(match block {
        Block::Verdict { good, word, sentence } => ScreenBlock::Verdict(good, word, sentence),
        Block::Heading(words) => ScreenBlock::Heading(words),
        Block::Text(words) | Block::Formula(words) => ScreenBlock::Text(words),
        Block::Facts(facts) => ScreenBlock::Facts(facts),
        Block::Table(Table { columns, rows }) => ScreenBlock::Table(
            columns.into_iter().map(|column| (column.name, column.unit, column.numbers)).collect(),
            rows.into_iter().map(|row| row.cells).collect(),
        ),
        Block::Figure(drawing) => ScreenBlock::Figure(drawing.title.clone(), svg_element(&drawing)),
        Block::Cautions(cautions) => ScreenBlock::Cautions(cautions),
        // Nobody signs a screen, and it has no pages.
        Block::Signatures(_) | Block::Contents => return None,
    })
}
