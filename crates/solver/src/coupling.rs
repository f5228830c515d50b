//! The combining loss of a wye or tee, which hangs on three flows.
//!
//! It is found in the same steps as heads and flows. Where these lead nowhere it is held while heads
//! and flows are solved, then set anew from the flows until it settles.

mod branches;
mod joint;
mod newton;
mod sweep;

use crate::gap::{Flowing, Gap, HEAD_M, Survey, Worst, rises, with_rises};
use crate::model::{Iterate, Model};
use crate::steady::{Failed, Solved, Solver};
use newton::newton;
use sweep::one_by_one;

pub(crate) use joint::{Asks, Pull, asks, move_offsets, moves};

/// What a search does with what wyes and tees add.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Offsets {
    Held,
    /// Found with the heads.
    Found,
}

/// Looks over a state; offsets that are to be found are part of its gap.
pub(crate) fn look(model: &Model, at: &Iterate, offsets: Offsets) -> Survey {
    look_over(model, at, rises(model, at), offsets)
}

/// The same where the lines' rises are known.
pub(crate) fn look_over(
    model: &Model,
    at: &Iterate,
    lines: Vec<Flowing>,
    offsets: Offsets,
) -> Survey {
    let mut survey = with_rises(model, at, lines);
    if offsets == Offsets::Found {
        let miss = miss_of(model, at);
        if largest(&miss) > survey.gap.head_m {
            survey.gap.head_m = largest(&miss);
            survey.gap.worst = worst_line(model, &miss);
        }
    }
    survey
}

/// How closely held and renewed couplings agree in the end, in metres.
const AGREE_M: f64 = 0.01 * HEAD_M;

/// Offsets are moved to what the flows ask for, by half as much each time that leaves more than this
/// share of their miss, so many times, or until they would be moved by less than that.
const FALLS_TO: f64 = 0.7;
const RENEWALS: u32 = 60;
const LEAST_MOVE: f64 = 0.2;
/// How often Newton's steps and one offset at a time take turns.
const TURNS: u32 = 8;

/// Sets the tanks' levels from the flows.
pub(crate) fn set_water(model: &Model, at: &mut Iterate) {
    if !model.moving.is_empty() {
        at.water = model.levels(&model.receipts(at).net);
    }
}

/// Whether the tanks' levels are those that the flows ask for.
pub(crate) fn levels_agree(model: &Model, at: &Iterate) -> bool {
    let renewed = model.levels(&model.receipts(at).net);
    let mut levels = renewed.iter().flatten().zip(at.water.iter().flatten());
    levels.all(|(new, held)| (new - held).abs() <= AGREE_M)
}

/// Sets what wyes and tees add to their points' heads from the flows.
pub(crate) fn set_offsets(model: &Model, at: &mut Iterate) {
    for junction in &model.junctions {
        for (&(line, side), offset) in junction.legs.iter().zip(junction.offsets(&at.flow)) {
            at.offset[line][side] = offset;
        }
    }
}

/// Solves heads, levels and flows, then offsets, until all agree. From a start that is `near` it
/// keeps to the state there, if it can: setting anew what the flows ask for may lead to another.
pub(crate) fn settle(solver: &mut Solver, start: Iterate, near: bool) -> Result<Solved, Failed> {
    let mut at = start;
    set_offsets(&solver.model, &mut at);
    let mut solved = if solver.model.junctions.is_empty() {
        solver.inner(at)?
    } else if let Some(solved) = solver.jointly(&at, near) {
        solved
    } else {
        let solved = solver.inner(at)?;
        settle_offsets(solver, solved, near)?
    };
    finish(solver, &mut solved);
    Ok(solved)
}

/// The same where a few steps of all together do it.
pub(crate) fn settle_at_once(solver: &mut Solver, mut start: Iterate) -> Option<Solved> {
    set_offsets(&solver.model, &mut start);
    let mut solved = solver.jointly(&start, true)?;
    finish(solver, &mut solved);
    Some(solved)
}

fn finish(solver: &Solver, solved: &mut Solved) {
    // The levels that the report shows are those of the flows it shows.
    let held = solved.at.water.clone();
    set_water(&solver.model, &mut solved.at);
    if !levels_agree(&solver.model, &solved.at) {
        solved.at.water = held;
    }
    set_offsets(&solver.model, &mut solved.at);
}

fn settle_offsets(solver: &mut Solver, mut solved: Solved, near: bool) -> Result<Solved, Failed> {
    let mut held = couplings(&solver.model, &solved.at);
    let mut miss = miss_of(&solver.model, &solved.at);
    let mut step = 1.0;
    for _ in 0..if near { 0 } else { RENEWALS } {
        if largest(&miss) <= AGREE_M {
            break;
        }
        let next: Vec<f64> = held.iter().zip(&miss).map(|(h, m)| h + step * m).collect();
        let trial = solve_with(solver, &solved.at, &next)?;
        let trial_miss = miss_of(&solver.model, &trial.at);
        if largest(&trial_miss) > FALLS_TO * largest(&miss) {
            step *= 0.5;
            if step < LEAST_MOVE {
                break;
            }
        }
        if largest(&trial_miss) < largest(&miss) {
            (solved, held, miss) = (trial, next, trial_miss);
        }
    }
    // Newton's steps are quick near the answer, one offset at a time is sure far from it.
    let mut best = (solved.clone(), miss.clone());
    for _ in 0..TURNS {
        for way in [newton, one_by_one] {
            if largest(&best.1) <= AGREE_M {
                break;
            }
            (solved, miss) = way(solver, solved, miss)?;
            if largest(&miss) < largest(&best.1) {
                best = (solved.clone(), miss.clone());
            }
        }
        if largest(&best.1) <= HEAD_M {
            break;
        }
    }
    let (solved, miss) = best;
    if largest(&miss) > HEAD_M {
        let worst = worst_line(&solver.model, &miss);
        let gap = Gap { head_m: largest(&miss), worst, ..solved.survey.gap };
        return Err(Failed { gap });
    }
    Ok(solved)
}

/// The offsets of a state in one list.
fn couplings(model: &Model, at: &Iterate) -> Vec<f64> {
    legs(model).map(|(line, side)| at.offset[line][side]).collect()
}

/// A flow along a line from its first end, as what comes inward at one of its ends.
fn inward(side: usize, flow: f64) -> f64 {
    if side == 1 { flow } else { -flow }
}

/// The ends of lines at wyes and tees.
pub(crate) fn legs(model: &Model) -> impl Iterator<Item = (usize, usize)> + '_ {
    model.junctions.iter().flat_map(|junction| junction.legs)
}

/// By how much the offsets that the flows ask for differ from those held.
fn miss_of(model: &Model, at: &Iterate) -> Vec<f64> {
    let asked = model.junctions.iter().flat_map(|junction| junction.offsets(&at.flow));
    asked.zip(legs(model)).map(|(asked, (line, side))| asked - at.offset[line][side]).collect()
}

fn solve_with(solver: &mut Solver, near: &Iterate, couplings: &[f64]) -> Result<Solved, Failed> {
    let mut at = near.clone();
    hold(&solver.model, &mut at, couplings);
    solver.inner(at)
}

/// Holds offsets at the given values.
fn hold(model: &Model, at: &mut Iterate, couplings: &[f64]) {
    for ((line, side), value) in legs(model).zip(couplings) {
        at.offset[line][side] = *value;
    }
}

fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |m, v| if v.is_nan() { f64::INFINITY } else { m.max(v.abs()) })
}

/// The line to name when the offsets do not settle.
fn worst_line(model: &Model, miss: &[f64]) -> Worst {
    let index = (0..miss.len()).max_by(|&a, &b| miss[a].abs().total_cmp(&miss[b].abs()));
    let line = index.and_then(|index| legs(model).nth(index)).map_or(0, |(line, _)| line);
    Worst::Line(line)
}
