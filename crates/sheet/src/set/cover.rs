//! The cover: verdict, what the job is and what it was asked to carry, every downspout.

use super::{Block, Part, Table, or_dash};
use crate::input::SheetInput;
use crate::values::{Margin, governing, level_unit, margin, opening_name};
use wetrun_solver::{FrictionLaw, TankState};
use wetrun_units::UnitSystem;

/// Downspouts that the cover holds together with all else.
const MOST_ON_COVER: usize = 14;

pub(super) fn part(input: &SheetInput<'_>) -> Part {
    let mut blocks = vec![verdict(input), Block::Facts(facts(input))];
    let unprintable = crate::missing::unprintable(input).len();
    if unprintable > 0 {
        blocks.push(Block::Cautions(vec![lacking(unprintable)]));
    }
    let table = [Block::Heading("Downspouts".to_owned()), Block::Table(downspouts(input))];
    // A table that needs a page of its own comes after what still fits this one.
    if input.network.downspouts().len() > MOST_ON_COVER {
        blocks.push(Block::Contents);
        blocks.extend(table);
    } else {
        blocks.extend(table);
        blocks.push(Block::Contents);
    }
    if !input.job.documents.is_empty() {
        blocks.push(Block::Heading("Stated with the design".to_owned()));
        blocks.push(Block::Facts(input.job.documents.clone()));
    }
    let signers = ["Designed by, date", "Checked by, date", "Set out by, date"];
    blocks.push(Block::Signatures(signers.map(str::to_owned).to_vec()));
    Part { title: "Wet rainwater line: summary".to_owned(), wide: false, blocks }
}

/// Margin and rain first: they say more than a pass.
pub(super) fn verdict(input: &SheetInput<'_>) -> Block {
    let fails = input.findings.iter().filter(|f| f.outcome == crate::Outcome::Fail).count();
    let Some(id) = governing(input) else {
        let sentence = "The site has no downspout.".to_owned();
        return Block::Verdict { good: fails == 0, word: "Nothing to carry.".to_owned(), sentence };
    };
    let units = input.units;
    let downspout = input.network.downspout(id);
    let state = &input.steady.downspouts[id.index()];
    let class = margin(state, input.freeboard);
    let storm = units.show_intensity(input.scenario.intensity);
    let room = units.show_height(wetrun_units::Length::m(state.headroom.to_m().abs()));
    let side = if state.headroom.to_m() < 0.0 { "above" } else { "below" };
    let mut sentence = format!(
        "Worst downspout {}: in the {storm} storm water stands {room} {side} the {}",
        downspout.tag,
        opening_name(downspout)
    );
    sentence.push_str(&match class {
        Margin::Spills => format!(" and {} spills.", units.show_flow(state.spilled)),
        Margin::Thin => {
            format!("; the freeboard wanted is {}.", units.show_height(input.freeboard))
        }
        Margin::Ample => ".".to_owned(),
    });
    if let Some(rain) = input.spill_rains.get(id.index()).copied().flatten() {
        sentence.push_str(&format!(" It spills from {} on.", units.show_intensity(rain)));
    }
    match fails {
        0 => {}
        1 => sentence.push_str(" One item of the review does not conform."),
        n => sentence.push_str(&format!(" {n} items of the review do not conform.")),
    }
    let word = match class {
        Margin::Spills => "Does not hold.",
        Margin::Thin => "Short of freeboard.",
        Margin::Ample => "Holds.",
    };
    Block::Verdict { good: class == Margin::Ample, word: word.to_owned(), sentence }
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
        ("Datum", or_dash(&input.job.datum)),
        (
            "Storm",
            format!("{}, {total} on all roofs together", units.show_intensity(scenario.intensity)),
        ),
        ("Storm basis", or_dash(&input.storm_basis)),
        ("Tanks in the storm", tanks.to_owned()),
        (
            "Freeboard wanted",
            format!("{} ({})", units.show_height(input.freeboard), or_dash(&input.freeboard_basis)),
        ),
        (
            "Friction law",
            format!("{law}; water at {}", units.show_temperature(scenario.temperature)),
        ),
        ("Units", system.to_owned()),
        ("Revision", or_dash(&input.job.revision)),
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

fn downspouts(input: &SheetInput<'_>) -> Table {
    let units = input.units;
    let level = level_unit(units);
    let (small, flow, rain) = match units {
        UnitSystem::Us => ("in", "gpm", "in/h"),
        UnitSystem::Si => ("mm", "L/s", "mm/h"),
    };
    let mut table = Table::new(&[
        ("Downspout", "", false),
        ("Demand", flow, true),
        ("Spilled", flow, true),
        ("Opening", level, true),
        ("Standing level", level, true),
        ("Headroom", small, true),
        ("Spills from", rain, true),
        ("Result", "", false),
    ]);
    for (index, (d, state)) in
        input.network.downspouts().iter().zip(&input.steady.downspouts).enumerate()
    {
        let rain = input.spill_rains.get(index).copied().flatten();
        table.row([
            d.tag.clone(),
            units.show_flow(state.demand).number,
            units.show_flow(state.spilled).number,
            units.show_level(d.opening()).number,
            units.show_level(state.standing_level).number,
            units.show_height(state.headroom).number,
            rain.map_or("not found".to_owned(), |r| units.show_intensity(r).number),
            margin(state, input.freeboard).words().to_owned(),
        ]);
    }
    table
}
