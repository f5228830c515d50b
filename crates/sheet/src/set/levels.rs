//! The level schedule: what to set, how far off it may be, and room for what was read.

use super::{Block, Part, Table};
use crate::input::{LevelRow, SheetInput};
use crate::values::{level, level_unit, watertight_to};
use wetrun_network::DownspoutId;
use wetrun_units::{Length, UnitSystem, whole_steps_down, whole_steps_up};

pub(super) fn part(input: &SheetInput<'_>) -> Part {
    let units = input.units;
    let unit = level_unit(units);
    let mut blocks = Vec::new();
    if !input.facts.benchmarks.is_empty() {
        let mut table =
            Table::new(&[("Benchmark", "", false), ("Level", unit, true), ("Where", "", false)]);
        for b in &input.facts.benchmarks {
            table.row([b.tag.clone(), level(units, b.level), b.at.clone().unwrap_or_default()]);
        }
        blocks.push(Block::Table(table));
    }
    blocks.push(Block::Text(format!(
        "Levels are above the datum: {}. {}",
        super::or_dash(input.datum()),
        set_up(input)
    )));
    blocks.push(Block::Table(schedule(input)));
    blocks.push(Block::Text(legend(input)));
    if let Some(tolerance) = input.tolerance_all {
        let step_m = if units == UnitSystem::Us { 0.00254 } else { 0.001 };
        let tolerance = inwards(tolerance, step_m, whole_steps_down);
        blocks.push(Block::Text(format!(
            "All levels at once may be off by {} either way, in the worst combination.",
            units.show_height(tolerance)
        )));
    }
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
        // Upwards, so that what is printed is tight enough, but never above the opening.
        let up =
            inwards(watertight_to(input, DownspoutId::new(index)), step_m(units), whole_steps_up);
        let to = if up < d.opening() { up } else { d.opening() };
        table.row([d.tag.clone(), level(units, to), level(units, state.standing_level)]);
    }
    blocks.push(Block::Table(table));
    blocks.extend(water_test(input));
    if !input.cautions.is_empty() {
        blocks.push(Block::Heading("What to beware of".to_owned()));
        blocks.push(Block::Cautions(input.cautions.clone()));
    }
    Part { title: "Level schedule".to_owned(), wide: false, blocks }
}

/// The last place that a level is printed to.
fn step_m(units: UnitSystem) -> f64 {
    if units == UnitSystem::Us { 0.003048 } else { 0.001 }
}

/// Where the instrument stands, or how to come by its height.
fn set_up(input: &SheetInput<'_>) -> String {
    match &input.rod {
        Some(rod) => format!(
            "{} A high level reads small; a minus means the rod upside down, its foot on the level. Set up again, and these readings no longer hold.",
            rod.set_up
        ),
        None => "Height of instrument = benchmark level + rod reading on it; the rod reads height of instrument − level when the place is right.".to_owned(),
    }
}

/// What the columns of limits mean, as far as they are there.
fn legend(input: &SheetInput<'_>) -> String {
    if input.levels.is_empty() {
        return "How far each level may go was not worked out for this sheet; `wetrun levels` does.".to_owned();
    }
    let limits = if input.verdict.holds() {
        "Lowest and highest say how far that one level alone may go with everything else as drawn before the verdict or a rule of the review turns; a dash, where 5 m (16 ft) do no harm."
    } else {
        "The site fails as drawn, so there is no room for error. \"Would have to be\" says where that one level alone would make all hold, with everything else as drawn; a dash, where no such level was found within 5 m (16 ft)."
    };
    let rods = match (&input.rod, input.verdict.holds()) {
        (Some(_), true) => " Least and most are the readings at the highest and the lowest level.",
        _ => "",
    };
    format!(
        "{limits}{rods} A lip moves with its outlet; line ends move with the point, foot or inlet that they stand at."
    )
}

fn schedule(input: &SheetInput<'_>) -> Table {
    let units = input.units;
    let unit = level_unit(units);
    let limited = !input.levels.is_empty();
    let holds = input.verdict.holds();
    let mut columns = vec![("Tag", "", false), ("Level of", "", false), ("Set to", unit, true)];
    match (limited, holds) {
        (true, true) => columns.extend([("Lowest", unit, true), ("Highest", unit, true)]),
        (true, false) => columns.push(("Would have to be", unit, true)),
        (false, _) => {}
    }
    let rod_unit = input.rod.as_ref().map_or(unit, |rod| rod.unit.as_str());
    columns.push(("Rod", rod_unit, true));
    let rod_limits = input.rod.is_some() && limited && holds;
    if rod_limits {
        columns.extend([("Least", rod_unit, true), ("Most", rod_unit, true)]);
    }
    columns.extend([
        ("Rod as built", rod_unit, true),
        ("Level as built", unit, true),
        ("By, date", "", false),
    ]);
    let mut table = Table::new(&columns);
    let on_a_phone: &[&str] = match (input.rod.is_some(), holds) {
        (true, true) => &["Tag", "Level of", "Set to", "Rod", "Least", "Most"],
        (true, false) => &["Tag", "Level of", "Set to", "Would have to be", "Rod"],
        (false, _) => &["Tag", "Level of", "Set to", "Lowest", "Highest", "Would have to be"],
    };
    table.narrow(on_a_phone);
    let own = if limited { Vec::new() } else { own_levels(input) };
    for row in if limited { &input.levels } else { &own } {
        let dash = || "–".to_owned();
        let limit = |limit: Option<Length>, round: fn(f64) -> f64| {
            limit.map_or_else(dash, |l| level(units, inwards(l, step_m(units), round)))
        };
        let mut cells = vec![row.tag.clone(), words(input, row), level(units, row.design)];
        match (limited, holds) {
            (true, true) => {
                cells.extend([
                    limit(row.lowest, whole_steps_up),
                    limit(row.highest, whole_steps_down),
                ]);
            }
            (true, false) => cells.push(row.needed.map_or_else(dash, |l| level(units, l))),
            (false, _) => {}
        }
        if let Some(rod) = &row.rod {
            cells.push(rod.set.clone());
            if rod_limits {
                let shown =
                    [&rod.least, &rod.most].map(|r| if r.is_empty() { dash() } else { r.clone() });
                cells.extend(shown);
            }
        }
        table.row(cells);
    }
    table
}

/// The level that each group of pipes is tested at.
fn water_test(input: &SheetInput<'_>) -> Vec<Block> {
    let groups = input.network.test_levels();
    if groups.is_empty() {
        return Vec::new();
    }
    let mut table = Table::new(&[
        ("Test level", level_unit(input.units), true),
        ("Lowest opening", "", false),
        ("Lines of the group", "", false),
    ]);
    for group in groups {
        let lines: Vec<&str> =
            group.lines.iter().map(|&l| input.network.line(l).tag.as_str()).collect();
        let at = input.network.end_tag(group.mouth.end());
        let mouth = format!("{at} {}", group.mouth.words());
        table.row([level(input.units, group.level), mouth, lines.join(", ")]);
    }
    let words = "Plug every inlet at its tank, fill with water, and hold it at the test level while joints are looked at, before the trench is closed. Test with water, never with air.";
    vec![
        Block::Heading("Water test".to_owned()),
        Block::Text(words.to_owned()),
        Block::Table(table),
    ]
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
    Length::m(step_m * round(limit.to_m() / step_m))
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
                needed: None,
                rod: None,
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
    for (p, shown) in network.points().iter().zip(&input.facts.points) {
        add(&p.tag, "vent.level", shown.vent.and_then(|v| v.level));
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
        assert_eq!(mm(12.3401, whole_steps_up), 12341.0);
        assert_eq!(mm(12.3409, whole_steps_down), 12340.0);
        assert_eq!(mm(12.340, whole_steps_up), 12340.0);
        assert_eq!(mm(-0.0501, whole_steps_down), -51.0);
    }
}
