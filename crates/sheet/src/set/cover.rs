//! The cover: verdict, what the job is and what it was asked to carry, every downspout.

use super::{Block, Part, Table, or_dash};
use crate::input::SheetInput;
use crate::values::{level_unit, mouth_name, mouths, outcome, spills_from};
use wetrun_network::DownspoutId;
use wetrun_solver::{FrictionLaw, TankState};
use wetrun_units::{Intensity, UnitSystem};
use wetrun_verdict::first_rain;

/// So many things that fail are told on the cover; the checklist tells all.
const MOST_TOLD: usize = 8;

pub(super) fn part(input: &SheetInput<'_>) -> Part {
    let mut blocks = vec![verdict(input)];
    blocks.extend(failures(input));
    blocks.extend(super::review::counts(input).map(Block::Text));
    blocks.push(Block::Table(downspouts(input)));
    if input.network.openings().next().is_some() {
        blocks.push(Block::Table(openings(input)));
    }
    let mut cautions = crate::plan::mislaid(input);
    let unprintable = crate::missing::unprintable(input).len();
    if unprintable > 0 {
        cautions.push(lacking(unprintable));
    }
    if !cautions.is_empty() {
        blocks.push(Block::Cautions(cautions));
    }
    blocks.push(Block::Facts(facts(input)));
    blocks.push(Block::Contents);
    blocks.extend(crate::section::left_out(input).map(Block::Text));
    if !input.job.documents.is_empty() {
        blocks.push(Block::Heading("Stated with the design".to_owned()));
        blocks.push(Block::Facts(input.job.documents.clone()));
    }
    let signers = ["Designed by, date", "Checked by, date", "Set out by, date"];
    blocks.push(Block::Signatures(signers.map(str::to_owned).to_vec()));
    Part { title: "Wet rainwater line: summary".to_owned(), wide: false, blocks }
}

/// The verdict and what decides it.
fn verdict(input: &SheetInput<'_>) -> Block {
    let good = input.verdict.holds();
    let word = if good { "HOLDS" } else { "FAILS" };
    let storm = input.units.show_intensity(input.scenario.intensity);
    let tanks = match input.scenario.tanks {
        TankState::Full => "full",
        TankState::Empty => "empty",
    };
    let sentence = format!("In {storm} of rain, tanks {tanks}: {}.", input.verdict_words);
    Block::Verdict { good, word: word.to_owned(), sentence }
}

/// What fails, with what mends it.
fn failures(input: &SheetInput<'_>) -> Option<Block> {
    let all = &input.failures;
    if all.is_empty() {
        return None;
    }
    let what = if input.verdict.holds() { "Fails the review" } else { "Fails" };
    let mut table = Table::new(&[(what, "", false), ("What mends it", "", false)]);
    let told = if all.len() > MOST_TOLD { MOST_TOLD - 1 } else { all.len() };
    for row in &all[..told] {
        let mend = row.mend.clone().unwrap_or_else(|| "–".to_owned());
        table.row([row.what.clone(), mend]);
    }
    if told < all.len() {
        table.row([format!("{} more: see the review checklist", all.len() - told)]);
    }
    Some(Block::Table(table))
}

fn facts(input: &SheetInput<'_>) -> Vec<(String, String)> {
    let units = input.units;
    let scenario = &input.scenario;
    let law = match scenario.law {
        FrictionLaw::DarcyWeisbach => "Darcy-Weisbach with Colebrook-White",
        FrictionLaw::HazenWilliams => "Hazen-Williams",
    };
    let tanks = match scenario.tanks {
        TankState::Full => "every tank stands at its overflow",
        TankState::Empty => "every tank stands below its inlets",
    };
    let system = match units {
        UnitSystem::Us => "feet and inches (US customary); gallons are US gallons",
        UnitSystem::Si => "metres and millimetres (SI)",
    };
    let total: f64 = input.steady.downspouts.iter().map(|d| d.demand.to_m3_per_s()).sum();
    let total = units.show_flow(wetrun_units::Flow::m3_per_s(total));
    let facts = [
        ("Datum", or_dash(input.datum())),
        (
            "Storm",
            format!("{}, {total} on all roofs together", units.show_intensity(scenario.intensity)),
        ),
        ("Storm basis", or_dash(input.storm_basis())),
        ("Tanks in the storm", tanks.to_owned()),
        (
            "Freeboard wanted",
            format!(
                "{} ({})",
                units.show_height(input.freeboard()),
                or_dash(&input.freeboard_basis)
            ),
        ),
        (
            "Friction law",
            format!("{law}; water at {}", units.show_temperature(scenario.temperature)),
        ),
        ("Units", system.to_owned()),
        ("Revision", or_dash(input.revision())),
        ("Site file", format!("hash {}", or_dash(&input.job.file_hash))),
    ];
    facts.into_iter().map(|(name, text)| (name.to_owned(), text)).collect()
}

/// Said where the font cannot show all of the site file.
fn lacking(texts: usize) -> String {
    let count =
        if texts == 1 { "One name or text".to_owned() } else { format!("{texts} names or texts") };
    format!(
        "{count} of the site file may not show in full: the font of this set lacks some of the characters and shows \u{FFFD} in their place."
    )
}

/// Units of small heights, flows and rains.
fn small_units(units: UnitSystem) -> (&'static str, &'static str, &'static str) {
    match units {
        UnitSystem::Us => ("in", "gpm", "in/h"),
        UnitSystem::Si => ("mm", "L/s", "mm/h"),
    }
}

/// A rain, or how far was looked for one.
fn rain_cell(input: &SheetInput<'_>, rain: Option<Intensity>) -> String {
    let shown = first_rain(input.units, rain, input.scenario.intensity);
    shown.map_or("–".to_owned(), |shown| shown.number)
}

fn downspouts(input: &SheetInput<'_>) -> Table {
    let units = input.units;
    let level = level_unit(units);
    let (small, flow, rain) = small_units(units);
    let mut table = Table::new(&[
        ("Downspout", "", false),
        ("Demand", flow, true),
        ("Spilled", flow, true),
        ("Opening", level, true),
        ("Standing level", level, true),
        ("Headroom", small, true),
        ("Spills at", rain, true),
        ("Result", "", false),
    ]);
    let all = input.network.downspouts().iter().zip(&input.steady.downspouts);
    for (index, (d, state)) in all.enumerate() {
        let id = DownspoutId::new(index);
        table.row([
            d.tag.clone(),
            units.show_flow(state.demand).number,
            units.show_flow(state.spilled).number,
            units.show_level(d.opening()).number,
            units.show_level(state.standing_level).number,
            units.show_height(state.headroom).number,
            rain_cell(input, spills_from(input, id)),
            outcome(input, id),
        ]);
    }
    table
}

/// Vents and open caps.
fn openings(input: &SheetInput<'_>) -> Table {
    let units = input.units;
    let level = level_unit(units);
    let (small, flow, rain) = small_units(units);
    let mut table = Table::new(&[
        ("Other opening", "", false),
        ("Lets out", flow, true),
        ("Level", level, true),
        ("Headroom", small, true),
        ("Lets out at", rain, true),
        ("Result", "", false),
    ]);
    for (id, mouth) in mouths(input) {
        let tag = &input.network.point(id).tag;
        let leaks = mouth.escapes.is_some();
        table.row([
            format!("{tag} {}", mouth_name(mouth.opening.kind)),
            mouth.escapes.map_or("–".to_owned(), |f| units.show_flow(f).number),
            units.show_level(mouth.opening.level).number,
            units.show_height(mouth.headroom).number,
            rain_cell(input, mouth.from),
            if leaks { "water comes out" } else { "holds" }.to_owned(),
        ]);
    }
    table
}
