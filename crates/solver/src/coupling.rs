//! The combining loss of a wye or tee, which hangs on three flows.
//!
//! It is found in the same steps as heads and flows. Where these lead nowhere it is held while heads
//! and flows are solved, then set anew from the flows until it settles.

mod branches;
mod joint;
mod newton;

use crate::gap::{Flowing, Gap, HEAD_M, Survey, Worst, rises, with_rises};
use crate::model::{Iterate, Model};
use crate::steady::{Failed, Solved, Solver};
use newton::newton;

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
        settle_offsets(solver, solved)?
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

/// Sets the offsets around solved heads and flows until the flows ask for no others.
fn settle_offsets(solver: &mut Solver, solved: Solved) -> Result<Solved, Failed> {
    let miss = miss_of(&solver.model, &solved.at);
    let (solved, miss) = newton(solver, solved, miss)?;
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
