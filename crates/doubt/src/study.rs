//! Everything that is asked of a doubted drawing, in one go.

use crate::advice::{Advice, advice};
use crate::drawing::{Drawing, Drawn};
use crate::faults::{Harm, faults};
use crate::input::{Amount, Input, PipeType, chance_beyond, inputs};
use crate::law::Law;
use crate::nearest::{self, Field, norm};
use crate::sample::{Asked, Chance, Outcome, design, outcome, outcomes, quantile};
use crate::shares::{Column, shares};
use wetrun_network::DownspoutId;
use wetrun_solver::NotSolved;
use wetrun_units::Length;

/// How sure a drawing is.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Study {
    /// How many samples were drawn.
    pub samples: usize,
    /// From which seed.
    pub seed: u64,
    /// The inputs that are doubted.
    pub inputs: Vec<Input>,
    /// The pipe types that they speak of.
    pub types: Vec<PipeType>,
    /// The chance that a check fails.
    pub fails: Chance,
    /// The chance that any downspout spills.
    pub spills: Chance,
    /// One for each downspout.
    pub downspouts: Vec<AtDownspout>,
    /// What the variance of the least headroom is owed to, the largest first.
    pub owed_to: Vec<Owed>,
    /// The nearest failure; `None` where none lies within six standard deviations.
    pub nearest: Option<NearestFailure>,
    /// The distance of the nearest of the samples at which a downspout spills, as a check on the
    /// search for [`Study::nearest`]; `None` where none spills.
    pub nearest_sample: Option<f64>,
    /// Plain faults by their harm.
    pub faults: Vec<Harm>,
    /// What would lower the chance.
    pub advice: Vec<Advice>,
    /// Samples that no state was found for.
    pub not_solved: usize,
}

/// How sure a downspout is.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct AtDownspout {
    /// The chance that water leaves there.
    pub spills: Chance,
    /// The chance that it lacks freeboard.
    pub short: Chance,
    /// The headroom below which it lies in 5, 50 and 95 of 100 cases; `None` where no sample was
    /// solved.
    pub headroom: Option<[Length; 3]>,
}

/// An input's shares of the variance of the least headroom.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Owed {
    /// Its place among the inputs.
    pub input: usize,
    /// What it alone explains.
    pub first: f64,
    /// What would be left if it alone were not known.
    pub total: f64,
}

/// The combination of inputs closest to the drawing at which a downspout spills.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct NearestFailure {
    /// Its distance, in standard deviations of every input.
    pub distance: f64,
    /// The downspout.
    pub at: DownspoutId,
    /// The chance that a plane there would have.
    pub chance: f64,
    /// The inputs that moved, the farthest first.
    pub moved: Vec<Moved>,
}

/// An input that moved.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Moved {
    /// Its place among the inputs.
    pub input: usize,
    /// By how much.
    pub by: Amount,
    /// The same in its standard deviations.
    pub deviations: f64,
}

/// Studies a drawing; `None` where nobody waits any more.
///
/// # Errors
/// [`NotSolved`] where the drawing itself has no state.
pub fn study(drawn: &Drawn<'_>, asked: &Asked) -> Result<Option<Study>, NotSolved> {
    let drawing = Drawing::new(drawn);
    let steady = wetrun_solver::solve(drawn.network, &drawn.scenario)?;
    let inputs = inputs(drawn.network, drawn.facts, &drawn.scenario, &drawing.types);
    let samples = design(&inputs, asked);
    let found = outcomes(&drawing, &inputs, &samples, asked.threads);
    if !(drawn.wanted)() {
        return Ok(None);
    }
    let solved: Vec<&Outcome> = found.iter().flatten().collect();
    let chance = |of: &dyn Fn(&Outcome) -> bool| {
        Chance::of(solved.iter().filter(|outcome| of(outcome)).count(), solved.len())
    };
    let downspouts = (0..drawn.network.downspouts().len())
        .map(|d| AtDownspout {
            spills: chance(&|outcome| outcome.spills[d]),
            short: chance(&|outcome| outcome.short[d]),
            headroom: headroom(&solved, d),
        })
        .collect();
    let owed = owed(&drawing, &inputs, &samples, &found, asked);
    let totals: Vec<f64> = owed.iter().map(|owed| owed.total).collect();
    let advice = advice(&drawing, &inputs, &totals, &samples, &found, asked.threads);
    let spilled = spilled(&samples, &found);
    let mut owed_to = owed;
    owed_to.sort_by(|a, b| b.total.total_cmp(&a.total).then(b.first.total_cmp(&a.first)));
    let study = Study {
        samples: asked.samples,
        seed: asked.seed,
        fails: chance(&|outcome| outcome.fails),
        spills: chance(&Outcome::spills_anywhere),
        downspouts,
        owed_to,
        nearest: nearest_failure(&drawing, &inputs, &spilled, asked.threads),
        nearest_sample: spilled.iter().map(|z| norm(z)).min_by(f64::total_cmp),
        faults: faults(&drawing, &steady, asked.threads),
        advice,
        not_solved: found.len() - solved.len(),
        inputs,
        types: drawing.types,
    };
    Ok((drawn.wanted)().then_some(study))
}

fn headroom(solved: &[&Outcome], downspout: usize) -> Option<[Length; 3]> {
    let mut sorted: Vec<f64> = solved.iter().map(|outcome| outcome.headroom_m[downspout]).collect();
    sorted.sort_by(f64::total_cmp);
    let at = |share: f64| Length::m(quantile(&sorted, share));
    (!sorted.is_empty()).then(|| [at(0.05), at(0.5), at(0.95)])
}

/// The shares of every input, in the order of the inputs.
fn owed(
    drawing: &Drawing<'_>,
    inputs: &[Input],
    samples: &[Vec<f64>],
    found: &[Option<Outcome>],
    asked: &Asked,
) -> Vec<Owed> {
    let both = samples.iter().zip(found);
    let (samples, results): (Vec<Vec<f64>>, Vec<f64>) = both
        .filter_map(|(z, outcome)| Some((z.clone(), outcome.as_ref()?.least_headroom_m())))
        .unzip();
    let columns: Vec<Column<'_>> =
        inputs.iter().map(|input| Column { name: &input.name, law: input.law }).collect();
    let run = |z: &[f64]| Some(outcome(drawing, inputs, z)?.least_headroom_m());
    let shares = shares(&columns, &samples, &results, run, (asked.seed, asked.threads));
    let each = shares.iter().enumerate();
    each.map(|(input, share)| Owed { input, first: share.first, total: share.total }).collect()
}

/// The samples at which a downspout spills.
fn spilled<'s>(samples: &'s [Vec<f64>], found: &[Option<Outcome>]) -> Vec<&'s [f64]> {
    let spills = |outcome: &Option<Outcome>| outcome.as_ref().is_some_and(Outcome::spills_anywhere);
    let both = samples.iter().zip(found).filter(|(_, outcome)| spills(outcome));
    both.map(|(z, _)| z.as_slice()).collect()
}

fn nearest_failure(
    drawing: &Drawing<'_>,
    inputs: &[Input],
    spilled: &[&[f64]],
    threads: usize,
) -> Option<NearestFailure> {
    let laws: Vec<Law> = inputs.iter().map(|input| input.law).collect();
    let field = Field {
        left: |z: &[f64]| drawing.left_m(inputs, z),
        failing: |z: &[f64]| drawing.spilling(inputs, z),
    };
    let nearest = nearest::search(&laws, &field, spilled, threads)?;
    let mut moved: Vec<Moved> = (nearest.z.iter().enumerate())
        .filter(|(_, z)| **z != 0.0)
        .map(|(input, z)| Moved { input, by: inputs[input].shown(*z), deviations: *z })
        .collect();
    moved.sort_by(|a, b| b.deviations.abs().total_cmp(&a.deviations.abs()));
    debug_assert!((norm(&nearest.z) - nearest.distance).abs() < 1e-9);
    Some(NearestFailure {
        distance: nearest.distance,
        at: DownspoutId::new(nearest.place),
        chance: chance_beyond(nearest.distance),
        moved,
    })
}
