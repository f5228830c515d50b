//! The owner's page: a map, what to clean, drain and flush and when, and what never to do.

use super::{Block, Part, Table};
use crate::input::SheetInput;

/// Height of the map.
const MAP_PT: f64 = 190.0;

pub(super) fn part(input: &SheetInput<'_>) -> Part {
    let mut blocks = Vec::new();
    let (opening, rest): (Vec<_>, Vec<_>) =
        input.owner_texts.iter().partition(|text| text.heading.is_empty());
    blocks.extend(opening.iter().flat_map(|text| &text.lines).cloned().map(Block::Text));
    blocks.push(Block::Figure(crate::plan::map(input, 520.0, MAP_PT)));
    if !input.owner_cautions.is_empty() {
        blocks.push(Block::Heading("What to beware of".to_owned()));
        blocks.push(Block::Cautions(input.owner_cautions.clone()));
    }
    for text in rest {
        blocks.push(Block::Heading(text.heading.clone()));
        blocks.extend(text.lines.iter().cloned().map(Block::Text));
    }
    if !input.upkeep.is_empty() {
        let mut table = Table::new(&[
            ("When", "", false),
            ("Where", "", false),
            ("What", "", false),
            ("Done, date", "", false),
        ]);
        for row in &input.upkeep {
            table.row([row.when.clone(), row.place.clone(), row.work.clone(), String::new()]);
        }
        blocks.push(Block::Heading("What to do, and when".to_owned()));
        blocks.push(Block::Table(table));
    }
    if !input.owner_notes.is_empty() {
        blocks.push(Block::Heading("Stated with the design".to_owned()));
        blocks.push(Block::Facts(input.owner_notes.clone()));
    }
    Part { title: "For the owner".to_owned(), wide: false, blocks }
}
