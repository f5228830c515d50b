//! The owner's page: a map, what to clean, drain and flush and when, and what never to do.

use super::{Block, Part, Table};
use crate::input::SheetInput;

pub(super) fn part(input: &SheetInput<'_>) -> Part {
    let map = crate::plan::map(input, 520.0, 230.0);
    let mut table = Table::new(&[
        ("When", "", false),
        ("Where", "", false),
        ("What", "", false),
        ("Done, date", "", false),
    ]);
    for row in &input.upkeep {
        table.row([row.when.clone(), row.place.clone(), row.work.clone(), String::new()]);
    }
    let mut blocks = vec![
        Block::Text("The pipes under your ground stay full of water between storms. Rain lifts the water in the downspouts a little, and that pushes it up into the tank; there is no pump. Keep it clean, drain it before frost, and it looks after itself.".to_owned()),
        Block::Figure(map),
    ];
    if !input.upkeep.is_empty() {
        blocks.push(Block::Heading("What to do, and when".to_owned()));
        blocks.push(Block::Table(table));
    }
    if !input.owner_notes.is_empty() {
        blocks.push(Block::Heading("Stated with the design".to_owned()));
        blocks.push(Block::Facts(input.owner_notes.clone()));
    }
    if !input.cautions.is_empty() {
        blocks.push(Block::Heading("What to beware of".to_owned()));
        blocks.push(Block::Cautions(input.cautions.clone()));
    }
    Part { title: "For the owner".to_owned(), wide: false, blocks }
}
