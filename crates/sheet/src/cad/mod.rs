//! The drawing for CAD: plan and long sections at their true lengths, every line of the site once.

pub(crate) mod model;
mod plan;
mod section;

use crate::input::SheetInput;
use crate::section::chosen;
use crate::values::{route, travel};
use model::{Layer, Model, at};
use wetrun_network::{DownspoutId, End, LineId, TankId};
use wetrun_units::UnitSystem;

/// The whole drawing: the plan, the sections beside one another to its right, and what they mean.
///
/// In the plan x is east and y north. In a section y is the level above the datum, and x the distance on
/// the level from where it begins. Heights are drawn as large as lengths.
pub(crate) fn model(input: &SheetInput<'_>) -> Model {
    let mut model =
        Model { title: input.job.site.clone(), units: input.units, entities: Vec::new() };
    let mut right_m = plan::draw(&mut model, input);
    let mut first = None;
    for (index, way) in ways(input).iter().enumerate() {
        let section = section::Section::of(input, way);
        let start_m = match right_m {
            // Without a plan the first section begins at nought.
            None if index == 0 => 0.0,
            right_m => right_m.unwrap_or(0.0) + section.left_m(),
        };
        let drawn = section.draw(&mut model, start_m);
        right_m = Some(drawn.right_m);
        let left_m = start_m - section.left_m() * 0.6;
        first.get_or_insert((left_m, drawn, section.height_m));
    }
    if let Some((left_m, drawn, height_m)) = first {
        if !plan::is_surveyed(input) {
            plan::scheme(&mut model, input, at(left_m, drawn.top_m), height_m);
        }
        notes(&mut model, input, left_m, drawn.bottom_m, height_m);
    }
    model
}

/// Lines that follow one another, drawn as one section.
pub(crate) struct Way {
    /// Where it begins.
    pub(crate) from: End,
    /// The lines.
    pub(crate) lines: Vec<LineId>,
}

/// What is drawn as sections: the routes that the printed set shows; of every other one the part up to
/// where it meets what is drawn; then each line that is on no route, and each tank that none of them leads
/// to. So each line and each tank is there.
fn ways(input: &SheetInput<'_>) -> Vec<Way> {
    let network = input.network;
    let mut drawn = vec![false; network.lines().len()];
    let mut ways: Vec<Way> = Vec::new();
    for id in chosen(input) {
        let lines = route(input, id);
        lines.iter().for_each(|line| drawn[line.index()] = true);
        ways.push(Way { from: End::Downspout(id), lines });
    }
    for id in (0..network.downspouts().len()).map(DownspoutId::new) {
        let lines: Vec<LineId> =
            route(input, id).into_iter().take_while(|line| !drawn[line.index()]).collect();
        if !lines.is_empty() {
            lines.iter().for_each(|line| drawn[line.index()] = true);
            ways.push(Way { from: End::Downspout(id), lines });
        }
    }
    for id in (0..network.lines().len()).map(LineId::new).filter(|id| !drawn[id.index()]) {
        let line = network.line(id);
        let from = if matches!(line.to, End::Downspout(_)) { line.to } else { line.from };
        ways.push(Way { from, lines: vec![id] });
    }
    for from in (0..network.tanks().len()).map(|index| End::Tank(TankId::new(index))) {
        if !ways.iter().any(|way| finish(input, way) == from) {
            ways.push(Way { from, lines: Vec::new() });
        }
    }
    ways
}

/// The end that a way leads to.
pub(crate) fn finish(input: &SheetInput<'_>, way: &Way) -> End {
    way.lines.iter().fold(way.from, |at, id| travel(input.network.line(*id), at).0)
}

/// What the drawing is, in which unit, and what its layers hold.
fn notes(model: &mut Model, input: &SheetInput<'_>, left_m: f64, bottom_m: f64, height_m: f64) {
    let unit = match input.units {
        UnitSystem::Us => {
            "All lengths are true, in feet of 0.3048 m: one drawing unit is one foot."
        }
        UnitSystem::Si => {
            "All lengths are true, in millimetres: one drawing unit is one millimetre."
        }
    };
    let revision = match input.revision() {
        "" => String::new(),
        revision => format!(", revision {revision}"),
    };
    let datum = match input.datum() {
        "" => "Levels are above the site's own datum.".to_owned(),
        datum => format!("Levels are above the site's own datum: {datum}."),
    };
    let hash = match input.job.file_hash.as_str() {
        "" => String::new(),
        hash => format!("; site file {hash}"),
    };
    let rain = input.units.show_intensity(input.scenario.intensity);
    let lines = [
        format!("{}{revision}{hash}", input.job.site),
        unit.to_owned(),
        "Long sections: y is the level, x the distance on the level from where the section begins; heights are not exaggerated."
            .to_owned(),
        "Pipes are drawn by their inverts, crowns beside them; tanks are as wide as they are drawn only on paper."
            .to_owned(),
        datum,
        format!("Storm grade line and standing levels: {rain} of rain. {}", input.verdict_words),
        "Check every level on site against the level schedule; buried services first. Local code and licensed practice decide."
            .to_owned(),
    ];
    for (index, line) in lines.iter().enumerate() {
        let y_m = bottom_m - height_m * (3.0 + 1.8 * index as f64);
        model.text(Layer::Text, at(left_m, y_m), height_m, line);
    }
}
