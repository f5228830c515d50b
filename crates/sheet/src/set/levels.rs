//! The level schedule: what to set, how far off it may be, and room for what was read.

use super::{Block, Part, Table};
use crate::input::{LevelRow, SheetInput};
use crate::values::{level, level_unit, watertight_to};
use wetrun_network::DownspoutId;
use wetrun_units::{Length, UnitSystem};

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
        let step_m = if units == UnitSystem::Us { 0.00254 } else { 0.001 };
        let tolerance = inwards(tolerance, step_m, f64::floor);
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
    // The last place that a level is printed to.
    let step_m = if units == UnitSystem::Us { 0.003048 } else { 0.001 };
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
        let dash = || "–".to_owned();
        let lowest = row.lowest.map_or_else(dash, |l| level(units, inwards(l, step_m, f64::ceil)));
        let highest =
            row.highest.map_or_else(dash, |l| level(units, inwards(l, step_m, f64::floor)));
        let mut cells = vec![row.tag.clone(), words(input, row), level(units, row.design)];
        if limited {
            cells.extend([lowest, highest]);
        }
        table.row(cells);
    }
    table
}

/// What a level is, in the words of the trade; a key that has none stays as it is.
fn words(input: &SheetInput<'_>, row: &LevelRow) -> String {
    let plain = match row.level.as_str() {
        "inlet" => "inlet invert",
        "overflow.level" => "overflow invert",
        "outlet" => "gutter outlet",
        "leaf_head" => "leaf head rim",
        "foot" => "invert at the foot",
        "level" => "invert",
        "from_level" => "invert at its start",
        "to_level" => "invert at its end",
        "vent.level" => "top of the vent",
        "drain_outlet.level" => "outlet of the drain",
        key => return station(input, row).unwrap_or_else(|| key.to_owned()),
    };
    plain.to_owned()
}

/// A level inside a line, by its distance from the line's start.
fn station(input: &SheetInput<'_>, row: &LevelRow) -> Option<String> {
    let index = row.level.strip_prefix("profile[")?.strip_suffix("].level")?.parse::<usize>();
    let line = input.network.lines().iter().find(|l| l.tag == row.tag)?;
    let at = line.profile.get(index.ok()?)?.at;
    Some(format!("invert {} from its start", input.units.show_length(at)))
}

/// A limit rounded to a step of what is printed, so that the printed one still holds.
fn inwards(limit: Length, step_m: f64, round: fn(f64) -> f64) -> Length {
    // A limit that stands on a step but for the last bits stays there.
    const BITS: f64 = 1e-6;
    let steps = limit.to_m() / step_m;
    let near = steps.round();
    Length::m(step_m * if (steps - near).abs() < BITS { near } else { round(steps) })
}

/// The network's own levels, where nobody worked out how far they may go.
fn own_levels(input: &SheetInput<'_>) -> Vec<LevelRow> {
    let network = input.network;
    let mut rows = Vec::new();
    let mut add = |tag: &str, level: &str, design: Option<Length>| {
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
    for (p, vent) in network.points().iter().zip(&input.vents) {
        add(&p.tag, "vent.level", vent.and_then(|v| v.top));
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_printed_limit_is_never_beyond_the_limit() {
        let mm = |m: f64, round| (inwards(Length::m(m), 0.001, round).to_m() * 1000.0).round();
        assert_eq!(mm(12.3401, f64::ceil), 12341.0);
        assert_eq!(mm(12.3409, f64::floor), 12340.0);
        assert_eq!(mm(12.340, f64::ceil), 12340.0);
        assert_eq!(mm(-0.0501, f64::floor), -51.0);
    }
}
