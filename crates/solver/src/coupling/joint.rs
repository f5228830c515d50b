//! What wyes and tees add, found in the same step as heads and flows.
//!
//! The offsets follow the flows, and the flows answer to the offsets as to any head at their ends.
//! Both answers are put in one small system, so that the matrix of the step stays that of the
//! lines alone.

use super::{legs, miss_of};
use crate::assembly::Assembly;
use crate::model::{Iterate, Model};
use crate::tangent::Slopes;
use nalgebra::{DMatrix, DVector};

/// The farthest that a step moves an offset, in metres.
const LONGEST_M: f64 = 1.0;

/// Moves the offsets to where, along the straight lines of a step, the flows ask for them, and the
/// lines' parts with them. Where those lines tell of no such place all stays as it is.
pub(crate) fn move_offsets(
    model: &Model,
    assembly: &mut Assembly,
    at: &mut Iterate,
    slopes: &mut Slopes,
) {
    let Some(moves) = moves(model, assembly, at, slopes) else { return };
    for ((line, side), change) in legs(model).zip(&moves) {
        let change = change.clamp(-LONGEST_M, LONGEST_M);
        at.offset[line][side] += change;
        let part = &mut slopes.parts[line];
        part.base += part.d_end[side] * change;
    }
}

fn moves(
    model: &Model,
    assembly: &mut Assembly,
    at: &Iterate,
    slopes: &Slopes,
) -> Option<DVector<f64>> {
    let ends: Vec<(usize, usize)> = legs(model).collect();
    let answers = slopes.answers(model, assembly, &ends)?;
    let (step, answers) = answers.split_first()?;
    let inward = |(_, side): (usize, usize), flow: f64| if side == 1 { flow } else { -flow };
    let led = |end: (usize, usize)| {
        let line = end.0;
        let now = slopes.parts[line].base + slopes.change(model, line, step);
        inward(end, now - at.flow[line])
    };
    let led: Vec<f64> = ends.iter().map(|&end| led(end)).collect();
    let asks: Vec<[[f64; 3]; 3]> =
        model.junctions.iter().map(|junction| junction.slopes(&at.flow, model.scale)).collect();
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
    let mut right = DVector::from_vec(miss_of(model, at));
    for leg in 0..ends.len() {
        right[leg] += asked(leg, &|of| led[of]);
    }
    let moves = matrix.lu().solve(&right)?;
    moves.iter().all(|change| change.is_finite()).then_some(moves)
}
