//! What wyes and tees add, found in the same step as heads and flows.
//!
//! The offsets follow the flows, and the flows answer to the offsets as to any head at their ends.
//! Where the unknowns form a tree both are eliminated along its branches; else both answers are put
//! in one small system, so that the matrix of the step stays that of the lines alone.

use super::branches;
use super::{legs, miss_of};
use crate::assembly::Assembly;
use crate::model::{Iterate, Model};
use crate::tangent::Slopes;
use nalgebra::{DMatrix, DVector};

/// The farthest that a step moves an offset, in metres.
const LONGEST_M: f64 = 1.0;

/// What offsets answer to.
pub(crate) struct Pull {
    /// What is left over at each unknown while heads, levels and offsets stay, m³/s.
    pub(crate) net: Vec<f64>,
    /// By how much each leg's flow inward changes then, m³/s.
    pub(crate) led: Vec<f64>,
    /// By how much each offset is asked to change then, m.
    pub(crate) miss: Vec<f64>,
}

/// For each wye how the offset of a leg (first index) answers to the flow inward along another.
pub(crate) type Asks = Vec<[[f64; 3]; 3]>;

/// How the offsets that flows ask for answer to these.
pub(crate) fn asks(model: &Model, at: &Iterate) -> Asks {
    model.junctions.iter().map(|junction| junction.slopes(&at.flow, model.scale)).collect()
}

/// Moves the offsets to where, along the straight lines of a step, the flows ask for them, and the
/// lines' parts with them. Where those lines tell of no such place all stays as it is.
pub(crate) fn move_offsets(
    model: &Model,
    assembly: &mut Assembly,
    at: &mut Iterate,
    slopes: &mut Slopes,
) {
    if model.junctions.is_empty() {
        return;
    }
    let led = legs(model).map(|(line, side)| {
        let change = slopes.parts[line].base - at.flow[line];
        if side == 1 { change } else { -change }
    });
    let pull = Pull { led: led.collect(), net: slopes.left_over(model), miss: miss_of(model, at) };
    let Some(moves) = moves(model, assembly, slopes, &asks(model, at), &pull) else { return };
    for ((line, side), change) in legs(model).zip(&moves) {
        let change = change.clamp(-LONGEST_M, LONGEST_M);
        at.offset[line][side] += change;
        let part = &mut slopes.parts[line];
        part.base += part.d_end[side] * change;
    }
}

/// The change of every offset, along the straight lines of a state.
pub(crate) fn moves(
    model: &Model,
    assembly: &mut Assembly,
    slopes: &Slopes,
    asks: &Asks,
    pull: &Pull,
) -> Option<Vec<f64>> {
    let found = branches::moves(model, assembly, slopes, asks, pull);
    found.or_else(|| at_once(model, assembly, slopes, asks, pull))
}

/// The same where the unknowns form no tree.
fn at_once(
    model: &Model,
    assembly: &mut Assembly,
    slopes: &Slopes,
    asks: &Asks,
    pull: &Pull,
) -> Option<Vec<f64>> {
    let ends: Vec<(usize, usize)> = legs(model).collect();
    let answers = slopes.answers(model, assembly, &pull.net, &ends)?;
    let (step, answers) = answers.split_first()?;
    let inward = |(_, side): (usize, usize), flow: f64| if side == 1 { flow } else { -flow };
    let led =
        |(end, led): (&(usize, usize), &f64)| led + inward(*end, slopes.change(model, end.0, step));
    let led: Vec<f64> = ends.iter().zip(&pull.led).map(led).collect();
    // What the offset of a leg is asked to be more where the flows of its wye change.
    let asked = |leg: usize, change: &dyn Fn(usize) -> f64| {
        let first = leg - leg % 3;
        (0..3).map(|of| asks[leg / 3][leg % 3][of] * change(first + of)).sum::<f64>()
    };
    let mut matrix = DMatrix::identity(ends.len(), ends.len());
    for (column, (answer, &(moved, side))) in answers.iter().zip(&ends).enumerate() {
        let inward = |leg: usize| {
            let line = ends[leg].0;
            let own = if line == moved { slopes.parts[line].d_end[side] } else { 0.0 };
            inward(ends[leg], own + slopes.change(model, line, answer))
        };
        for row in 0..ends.len() {
            matrix[(row, column)] -= asked(row, &inward);
        }
    }
    let mut right = DVector::from_column_slice(&pull.miss);
    for leg in 0..ends.len() {
        right[leg] += asked(leg, &|of| led[of]);
    }
    let moves = matrix.lu().solve(&right)?;
    moves.iter().all(|change| change.is_finite()).then(|| moves.iter().copied().collect())
}
