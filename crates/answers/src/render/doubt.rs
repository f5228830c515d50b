//! Words that the text and the JSON of a doubt share: what inputs rest on, what a step says.

use wetrun_doubt::{Input, Step, Subject};
use wetrun_network::Network;
use wetrun_units::{Length, UnitSystem};

/// What an input's width rests on, and how well that is known.
pub(crate) fn basis(input: &Input) -> String {
    match (&input.basis, input.given) {
        (Some(basis), _) => basis.clone(),
        (None, true) => "site file".to_owned(),
        (None, false) => usual(&input.subject).to_owned(),
    }
}

/// What the built-in widths rest on. None of them is a law: each says where a job's own number would
/// come from.
fn usual(subject: &Subject) -> &'static str {
    match subject {
        Subject::Rain => {
            "a rain table read between stations, and its own sampling (common practice)"
        }
        Subject::Runoff => "what a roof holds back or splashes off (common practice)",
        Subject::Area(_) => "a roof measured off drawings (common practice)",
        Subject::Roughness(_) => {
            "published roughness of one material spans some three times either way (recalled)"
        }
        Subject::C(_) => "published coefficients of new smooth pipe, 140 to 155 (recalled)",
        Subject::Bores(_) => "wall tolerance of pipe standards (recalled)",
        Subject::Fitting(_) | Subject::DownspoutK(_) | Subject::LineK(_) => {
            "published coefficients of one fitting differ by that and more (read: `wetrun list \
             fittings`)"
        }
        Subject::Junctions => "published relations of wyes and tees differ by about 0.2 (read)",
        Subject::Opening(_) => "a gutter or leaf head set with a level (common practice)",
        Subject::Inlet(_) => "a tank set and drilled with a level (common practice)",
        Subject::Temperature => "rain and soil through the year (common practice)",
        Subject::Silt | Subject::SiltOf(_) => "flushed lines (common practice)",
        _ => "common practice",
    }
}

/// What a step says to do, with the tag and the number.
pub(crate) fn step(units: UnitSystem, network: &Network, step: Step) -> String {
    let to = |level: Length| match units {
        UnitSystem::Si => units.show_height(level).to_string(),
        UnitSystem::Us => wetrun_units::UnitSystem::Us.show_size(level).to_string(),
    };
    match step {
        Step::SurveyOpening(id, level) => {
            let this = network.downspout(id);
            let what = if this.leaf_head.is_some() { "leaf head" } else { "outlet" };
            format!("survey the {what} of {} to {}", this.tag, to(level))
        }
        Step::SurveyLevels(level) => {
            format!("survey every outlet, leaf head and tank inlet to {}", to(level))
        }
        Step::MeasureRoofs => "measure every roof on site to 1 %".to_owned(),
        Step::MakersFittings => "get the makers' measured losses of the fittings, to 10 %".to_owned(),
        Step::MeasureBores => "measure the bores of the pipe delivered to 0.1 %".to_owned(),
        Step::Flush => "flush the lines, so that no silt lies in them".to_owned(),
        _ => String::new(),
    }
}
