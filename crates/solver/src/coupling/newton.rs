//! Newton's method on the couplings.

use super::{AGREE_M, couplings, ends, hold, largest, miss_of, piped, solve_with};
use crate::laws::critical;
use crate::model::{Iterate, Model};
use crate::newton::Assembly;
use crate::steady::{Failed, Solved, Solver};
use crate::tangent::Slopes;
use nalgebra::{DMatrix, DVector};

/// Newton's method on the couplings, its matrix from how the flows answer to each.
pub(super) fn newton(
    solver: &mut Solver,
    measure: Measure,
    mut solved: Solved,
    mut miss: Vec<f64>,
    mut steps: u32,
) -> Result<(Solved, Vec<f64>, u32), Failed> {
    let mut held = couplings(&solver.model, &solved.at);
    let mut left = left_of(measure, &solver.model, &solved.at, &miss);
    let floor: Vec<f64> =
        piped(&solver.model).filter_map(|t| solver.model.tanks[t].full_m).collect();
    let floor = |index: usize| floor.get(index).copied().unwrap_or(f64::NEG_INFINITY);
    let n = held.len();
    let ends = ends(&solver.model);
    for _ in 0..20 {
        if largest(&miss) <= AGREE_M {
            break;
        }
        let slopes = Slopes::of(&solver.model, &solved);
        let mut matrix = DMatrix::zeros(n, n);
        for (column, ends) in ends.iter().enumerate() {
            let Solver { model, assembly, .. } = solver;
            let assembly = assembly.get_or_insert_with(|| Assembly::new(model));
            let Some(answer) = slopes.answer(model, assembly, ends) else {
                return Ok((solved, miss, steps));
            };
            // So far along the answer that no law is told from its tangent.
            let mut nudge = 1e-7 * largest(&solved.at.flow) / largest(&answer);
            nudge = nudge.min(1e-6).copysign(left[column]);
            if held[column] + nudge < floor(column) {
                nudge = -nudge;
            }
            let mut moved = solved.at.clone();
            for (flow, answer) in moved.flow.iter_mut().zip(&answer) {
                *flow += nudge * answer;
            }
            let mut values = held.clone();
            values[column] += nudge;
            hold(&solver.model, &mut moved, &values);
            let now = left_of(measure, &solver.model, &moved, &miss_of(&solver.model, &moved));
            for (row, now) in now.iter().enumerate() {
                matrix[(row, column)] = (now - left[row]) / nudge;
            }
        }
        let Some(direction) = matrix.lu().solve(&-DVector::from_column_slice(&left)) else { break };
        let mut accepted = false;
        let mut cut = 1.0;
        while cut > 1e-4 {
            let next: Vec<f64> = (held.iter().zip(&direction).enumerate())
                .map(|(i, (h, d))| (h + cut * d).max(floor(i)))
                .collect();
            let trial = solve_with(solver, &solved.at, &next)?;
            steps += trial.steps;
            let trial_miss = miss_of(&solver.model, &trial.at);
            let trial_left = left_of(measure, &solver.model, &trial.at, &trial_miss);
            if largest(&trial_left) < (1.0 - 0.1 * cut) * largest(&left) {
                (solved, held, miss, left) = (trial, next, trial_miss, trial_left);
                accepted = true;
                break;
            }
            cut *= 0.5;
        }
        if !accepted {
            break;
        }
    }
    Ok((solved, miss, steps))
}

/// What Newton's method brings to nothing for a full tank.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Measure {
    /// By how much its level misses that which the flows ask for.
    Levels,
    /// What it receives beyond what its overflow passes at the level held, as a share of all flow:
    /// near no flow the level answers to a trickle by a leap.
    Flows,
}

/// What Newton's method brings to nothing: for a wye or tee what its offset misses.
fn left_of(measure: Measure, model: &Model, at: &Iterate, miss: &[f64]) -> Vec<f64> {
    let mut left = miss.to_vec();
    if measure == Measure::Levels {
        return left;
    }
    let receipts = model.receipts(&at.flow);
    for (left, tank) in left.iter_mut().zip(piped(model)) {
        let (Some(full_m), Some((bore_m, k)), Some(level_m)) =
            (model.tanks[tank].full_m, model.tanks[tank].pipe, at.water[tank])
        else {
            continue;
        };
        let passed = critical::overflow_flow(bore_m, k, level_m - full_m).0;
        let spare = receipts[tank] - passed;
        // A tank that gives water stands at its overflow.
        *left = if level_m > full_m { spare } else { spare.max(0.0) } / model.scale;
    }
    left
}
