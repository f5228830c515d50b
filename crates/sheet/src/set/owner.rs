//! The owner's page: a map, what to clean, drain and flush and when, and what never to do.

use super::{Block, Part, Table};
use crate::input::{SheetInput, UpkeepRow};

pub(super) fn part(input: &SheetInput<'_>) -> Part {
    let map = crate::plan::map(input, 520.0, 230.0);
    let mut table = Table::new(&[
        ("When", "", false),
        ("Where", "", false),
        ("What", "", false),
        ("Done, date", "", false),
    ]);
    let own;
    let rows = if input.upkeep.is_empty() {
        own = own_upkeep(input);
        &own
    } else {
        &input.upkeep
    };
    for row in rows {
        table.row([row.when.clone(), row.place.clone(), row.work.clone(), String::new()]);
    }
    let mut blocks = vec![
        Block::Text("The pipes under your ground stay full of water between storms. Rain lifts the water in the downspouts a little, and that pushes it up into the tank; there is no pump. Keep it clean, drain it before frost, and it looks after itself.".to_owned()),
        Block::Figure(map),
        Block::Heading("What to do, and when".to_owned()),
        Block::Table(table),
    ];
    if !input.cautions.is_empty() {
        blocks.push(Block::Heading("What to beware of".to_owned()));
        blocks.push(Block::Cautions(input.cautions.clone()));
    }
    Part { title: "For the owner".to_owned(), wide: false, blocks }
}

/// What the network itself calls for. Intervals are common practice, not a code.
fn own_upkeep(input: &SheetInput<'_>) -> Vec<UpkeepRow> {
    let network = input.network;
    let tags = |tags: Vec<&str>| tags.join(", ");
    let heads = tags(
        network
            .downspouts()
            .iter()
            .filter(|d| d.leaf_head.is_some())
            .map(|d| d.tag.as_str())
            .collect(),
    );
    let all = tags(network.downspouts().iter().map(|d| d.tag.as_str()).collect());
    let drains = tags(
        network.points().iter().filter(|p| p.drain.is_some()).map(|p| p.tag.as_str()).collect(),
    );
    let cleanouts =
        tags(network.points().iter().filter(|p| p.cleanout).map(|p| p.tag.as_str()).collect());
    let tanks = tags(network.tanks().iter().map(|t| t.tag.as_str()).collect());
    let mut rows = Vec::new();
    let mut add = |when: &str, place: String, work: &str| {
        if !place.is_empty() {
            rows.push(UpkeepRow { when: when.to_owned(), place, work: work.to_owned() });
        }
    };
    add("Twice a year, and after leaf fall", all, "Clean the gutters and their screens.");
    add("Every month or two", heads, "Take leaves off the leaf heads.");
    add(
        "Twice a year",
        drains.clone(),
        "Open the drain and let the line run out until the water is clear.",
    );
    add(
        "Before the first frost",
        drains,
        "Drain the line and leave the drain open, unless the pipe lies below the frost.",
    );
    add("Once a year", cleanouts, "Open, look for silt, flush, close watertight.");
    add(
        "Twice a year",
        tanks.clone(),
        "Look at the inlet screen and the overflow; both must be free.",
    );
    add("Every two to three years", tanks, "Look at the sludge from above. Never climb in.");
    rows
}
