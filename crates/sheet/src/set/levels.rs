//! The level schedule: what to set, how far off it may be, and room for what was read.

use super::{Block, Part, Table};
use crate::input::{LevelRow, SheetInput};
use crate::values::{level, level_unit, watertight_to};
use wetrun_network::DownspoutId;

pub(super) fn part(input: &SheetInput<'_>) -> Part {
    let units = input.units;
    let unit = level_unit(units);
    let mut blocks = Vec::new();
    if !input.benchmarks.is_empty() {
        let mut table =
            Table::new(&[("Benchmark", "", false), ("Level", unit, true), ("Where", "", false)]);
        for b in &input.benchmarks {
            table.row([b.tag.clone(), level(units, b.level), b.at.clone()]);
        }
        blocks.push(Block::Table(table));
    }
    let limits = if input.levels.is_empty() {
        ""
    } else {
        "Lowest and highest say how far that one level alone may go with everything else as drawn."
    };
    blocks.push(Block::Text(format!(
        "Levels are above the datum: {}. Height of instrument = benchmark level + rod reading on it; the rod reads height of instrument − level when the place is right. {limits}",
        super::or_dash(&input.job.datum)
    )));
    if let Some(tolerance) = input.tolerance_all {
        blocks.push(Block::Text(format!(
            "All levels at once may be off by {} either way, in the worst combination.",
            units.show_height(tolerance)
        )));
    }
    blocks.push(Block::Table(schedule(input)));
    blocks.push(Block::Heading("Watertight up to".to_owned()));
    blocks.push(Block::Text(
        "Every joint below this level stands under water in the storm and must hold it, the part above ground as well.".to_owned(),
    ));
    let mut table = Table::new(&[
        ("Downspout", "", false),
        ("Watertight up to", unit, true),
        ("Standing level in the storm", unit, true),
    ]);
    for (index, (d, state)) in
        input.network.downspouts().iter().zip(&input.steady.downspouts).enumerate()
    {
        let to = watertight_to(input, DownspoutId::new(index));
        table.row([d.tag.clone(), level(units, to), level(units, state.standing_level)]);
    }
    blocks.push(Block::Table(table));
    Part { title: "Level schedule".to_owned(), wide: false, blocks }
}

fn schedule(input: &SheetInput<'_>) -> Table {
    let units = input.units;
    let unit = level_unit(units);
    let limited = !input.levels.is_empty();
    let mut columns = vec![("Tag", "", false), ("Level of", "", false), ("Set to", unit, true)];
    if limited {
        columns.extend([("Lowest", unit, true), ("Highest", unit, true)]);
    }
    columns.extend([
        ("Rod reading to set", unit, true),
        ("Rod reading as built", unit, true),
        ("Level as built", unit, true),
        ("By, date", "", false),
    ]);
    let mut table = Table::new(&columns);
    let own = if limited { Vec::new() } else { own_levels(input) };
    for row in if limited { &input.levels } else { &own } {
        let limit =
            |l: Option<wetrun_units::Length>| l.map_or("–".to_owned(), |l| level(units, l));
        let mut cells = vec![row.tag.clone(), row.level.clone(), level(units, row.design)];
        if limited {
            cells.extend([limit(row.lowest), limit(row.highest)]);
        }
        table.row(cells);
    }
    table
}

/// The network's own levels, where nobody worked out how far they may go.
fn own_levels(input: &SheetInput<'_>) -> Vec<LevelRow> {
    let network = input.network;
    let mut rows = Vec::new();
    let mut add = |tag: &str, level: &str, design: Option<wetrun_units::Length>| {
        if let Some(design) = design {
            let row = LevelRow {
                tag: tag.to_owned(),
                level: level.to_owned(),
                design,
                lowest: None,
                highest: None,
            };
            rows.push(row);
        }
    };
    for t in network.tanks() {
        add(&t.tag, "inlet", Some(t.inlet));
        add(&t.tag, "overflow.level", t.overflow.as_ref().map(|o| o.level));
        add(&t.tag, "floor", t.floor);
        add(&t.tag, "rim", t.rim);
    }
    for p in network.points() {
        add(&p.tag, "level", Some(p.level));
    }
    for l in network.lines() {
        let inside = l.profile.len().saturating_sub(1);
        for (index, station) in l.profile.iter().enumerate().take(inside).skip(1) {
            add(&l.tag, &format!("profile[{index}].level"), Some(station.level));
        }
    }
    for d in network.downspouts() {
        add(&d.tag, "outlet", Some(d.outlet));
        add(&d.tag, "leaf_head", d.leaf_head);
        add(&d.tag, "foot", Some(d.foot));
    }
    rows
}
