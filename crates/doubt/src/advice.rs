//! What to measure or do next so that the chance falls most, each worked out by the samples again.

use crate::drawing::Drawing;
use crate::input::{Input, Subject};
use crate::sample::{Chance, Outcome, outcomes};
use wetrun_network::DownspoutId;
use wetrun_units::Length;

/// Something that makes inputs better known.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Step {
    /// Survey the level of one opening to this.
    SurveyOpening(DownspoutId, Length),
    /// Survey all openings, inlets and overflows to this.
    SurveyLevels(Length),
    /// Measure the roofs on site: areas to a hundredth.
    MeasureRoofs,
    /// Ask the maker for the measured losses of the fittings: to a tenth.
    MakersFittings,
    /// Measure the bores of the pipes delivered: to a thousandth.
    MeasureBores,
    /// Flush the lines: no silt.
    Flush,
}

/// A step and what the chance becomes by it, the number being found as drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Advice {
    /// What to do.
    pub step: Step,
    /// The chance of what `of` says, before and after.
    pub chance: [Chance; 2],
    /// Whether the chance is of a spill; else of any failure.
    pub of_spills: bool,
}

/// How well a level can be surveyed (common practice: a levelling instrument, twice the standard
/// deviation).
const SURVEYED: Length = Length::m(0.002);
/// How well the others can be known (common practice), as shares.
const ROOFS: f64 = 0.01;
const FITTINGS: f64 = 0.10;
const BORES: f64 = 0.001;

/// An input that is owed less of the variance is not worth a visit.
const WORTH: f64 = 0.005;

/// The steps that lower the chance, the one that lowers it most first. `totals` are the inputs' total
/// shares.
pub(crate) fn advice(
    drawing: &Drawing<'_>,
    inputs: &[Input],
    totals: &[f64],
    samples: &[Vec<f64>],
    found: &[Option<Outcome>],
    threads: usize,
) -> Vec<Advice> {
    let seen = |of: &dyn Fn(&Outcome) -> bool, found: &[Option<Outcome>]| {
        let solved: Vec<&Outcome> = found.iter().flatten().collect();
        Chance::of(solved.iter().filter(|outcome| of(outcome)).count(), solved.len())
    };
    let spills = |outcome: &Outcome| outcome.spills_anywhere();
    let fails = |outcome: &Outcome| outcome.fails;
    let of_spills = found.iter().flatten().any(spills);
    let of: &dyn Fn(&Outcome) -> bool = if of_spills { &spills } else { &fails };
    let before = seen(of, found);
    // What always happens or never does is not a matter of knowing.
    if before.chance <= 0.0 || before.chance >= 1.0 {
        return Vec::new();
    }
    let mut all = Vec::new();
    for step in steps(inputs, totals) {
        let known: Vec<Input> = inputs.iter().map(|input| better(step, input)).collect();
        let again = outcomes(drawing, &known, samples, threads);
        if falls(of, found, &again) {
            let after = seen(of, &again);
            all.push(Advice { step, chance: [before, after], of_spills });
        }
    }
    all.sort_by(|a, b| a.chance[1].chance.total_cmp(&b.chance[1].chance));
    all
}

/// Whether a chance falls by more than the draw of the samples tells: of those in which it turns, so
/// many more turn for the better as two standard deviations of a fair coin's heads would not give.
fn falls(
    of: &dyn Fn(&Outcome) -> bool,
    before: &[Option<Outcome>],
    after: &[Option<Outcome>],
) -> bool {
    let (mut better, mut worse) = (0.0, 0.0);
    for (before, after) in before.iter().zip(after) {
        let (Some(before), Some(after)) = (before, after) else { continue };
        match (of(before), of(after)) {
            (true, false) => better += 1.0,
            (false, true) => worse += 1.0,
            _ => {}
        }
    }
    better - worse > 2.0 * libm::sqrt(better + worse)
}

/// The steps that bear on an input worth a visit.
fn steps(inputs: &[Input], totals: &[f64]) -> Vec<Step> {
    let opening = |input: &Input| match input.subject {
        Subject::Opening(id) => Some(id),
        _ => None,
    };
    let openings = inputs.iter().zip(totals).filter_map(|(input, total)| {
        Some((opening(input)?, *total)).filter(|(_, total)| *total >= WORTH)
    });
    let first = openings.rev().max_by(|a, b| a.1.total_cmp(&b.1));
    let mut steps: Vec<Step> =
        first.map(|(id, _)| Step::SurveyOpening(id, SURVEYED)).into_iter().collect();
    steps.extend([
        Step::SurveyLevels(SURVEYED),
        Step::MeasureRoofs,
        Step::MakersFittings,
        Step::MeasureBores,
        Step::Flush,
    ]);
    steps.retain(|step| {
        let bears = inputs.iter().filter(|input| width(*step, input).is_some());
        let single = matches!(step, Step::SurveyOpening(..));
        let others = bears.clone().filter(|input| first.map(|f| f.0) != opening(input)).count();
        let worth: f64 = (inputs.iter().zip(totals))
            .filter(|(input, _)| width(*step, input).is_some())
            .map(|(_, total)| total)
            .sum();
        worth >= WORTH && (single || first.is_none() || others > 0)
    });
    steps
}

/// The input as it is known after a step.
fn better(step: Step, input: &Input) -> Input {
    let known = width(step, input).and_then(|width| input.known_to(width));
    known.unwrap_or_else(|| input.clone())
}

/// How well a step makes an input known, where it bears on it.
fn width(step: Step, input: &Input) -> Option<f64> {
    let level = |to: Length| Some(to.to_m());
    match (step, &input.subject) {
        (Step::SurveyOpening(of, to), Subject::Opening(id)) if of == *id => level(to),
        (Step::SurveyLevels(to), Subject::Opening(_) | Subject::Inlet(_)) => level(to),
        (Step::MeasureRoofs, Subject::Area(_)) => Some(ROOFS),
        (
            Step::MakersFittings,
            Subject::Fitting(_) | Subject::LineK(_) | Subject::DownspoutK(_),
        ) => Some(FITTINGS),
        (Step::MeasureBores, Subject::Bores(_)) => Some(BORES),
        (Step::Flush, Subject::Silt | Subject::SiltOf(_)) => Some(0.0),
        _ => None,
    }
}
