//! Newton's method on the couplings.

use super::{AGREE_M, Bounds, coupled, couplings, ends, hold, largest, miss_of, solve_with};
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
    let bounds = Bounds::of(solver);
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
            if bounds.within(column, held[column] + nudge) != held[column] + nudge {
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
                .map(|(i, (h, d))| bounds.within(i, h + cut * d))
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
    let received = model.receipts(at).net;
    for (left, tank) in left.iter_mut().zip(coupled(model)) {
        let this = &model.tanks[tank];
        let (Some(full_m), Some(level_m)) = (this.full_m, at.water[tank]) else { continue };
        if this.pipe.is_none() {
            continue;
        }
        let beyond = this.to.and_then(|to| at.water[to]);
        let base_m = beyond.map_or(full_m, |beyond| full_m.max(beyond)).min(this.rim_m);
        let spare = (received[tank] - this.passes(level_m, beyond)) / model.scale;
        // Water that stands at its lowest, or at the rim, may have any less, or more.
        let free = if level_m <= base_m { spare.max(0.0) } else { spare };
        let free = if level_m >= this.rim_m { free.min(0.0) } else { free };
        *left = free + (base_m - level_m).max(0.0);
    }
    left
}
