//! Newton's method on the offsets.

use super::{AGREE_M, couplings, hold, largest, legs, miss_of, solve_with};
use crate::assembly::Assembly;
use crate::steady::{Failed, Solved, Solver};
use crate::tangent::Slopes;
use nalgebra::{DMatrix, DVector};

/// Steps of it: they come down by squares, or lead nowhere.
const STEPS: u32 = 20;
/// So far along an answer, as a share of the largest flow and at most in metres of an offset, that a
/// law is told from its tangent by rounding alone.
const NUDGE: f64 = 1e-7;
const NUDGE_M: f64 = 1e-6;
/// A step is halved until the miss falls by this part of what its straight lines promise, or until so
/// little of it is left.
const PROMISED: f64 = 0.1;
const LEAST: f64 = 1e-4;

/// Newton's method on the offsets, its matrix from how the flows answer to each.
pub(super) fn newton(
    solver: &mut Solver,
    mut solved: Solved,
    mut miss: Vec<f64>,
) -> Result<(Solved, Vec<f64>), Failed> {
    let mut held = couplings(&solver.model, &solved.at);
    let n = held.len();
    let ends: Vec<(usize, usize)> = legs(&solver.model).collect();
    for _ in 0..STEPS {
        if largest(&miss) <= AGREE_M {
            break;
        }
        let slopes = Slopes::of(&solver.model, &solved.at, &solved.survey.lines);
        let mut matrix = DMatrix::zeros(n, n);
        let Solver { model, assembly, .. } = &mut *solver;
        let assembly = assembly.get_or_insert_with(|| Assembly::new(model));
        let Some(answers) = slopes.answers(model, assembly, &slopes.left_over(model), &ends) else {
            return Ok((solved, miss));
        };
        for (column, (answer, &(line, side))) in answers[1..].iter().zip(&ends).enumerate() {
            let mut answer: Vec<f64> = (0..slopes.parts.len())
                .map(|line| slopes.change(&solver.model, line, answer))
                .collect();
            answer[line] += slopes.parts[line].d_end[side];
            // So far along the answer that no law is told from its tangent.
            let mut nudge = NUDGE * largest(&solved.at.flow) / largest(&answer);
            nudge = nudge.min(NUDGE_M).copysign(miss[column]);
            let mut moved = solved.at.clone();
            for (flow, answer) in moved.flow.iter_mut().zip(&answer) {
                *flow += nudge * answer;
            }
            let mut values = held.clone();
            values[column] += nudge;
            hold(&solver.model, &mut moved, &values);
            let now = miss_of(&solver.model, &moved);
            for (row, now) in now.iter().enumerate() {
                matrix[(row, column)] = (now - miss[row]) / nudge;
            }
        }
        let Some(direction) = matrix.lu().solve(&-DVector::from_column_slice(&miss)) else { break };
        let mut accepted = false;
        let mut cut = 1.0;
        while cut > LEAST {
            let next: Vec<f64> = held.iter().zip(&direction).map(|(h, d)| h + cut * d).collect();
            let trial = solve_with(solver, &solved.at, &next)?;
            let trial_miss = miss_of(&solver.model, &trial.at);
            if largest(&trial_miss) < (1.0 - PROMISED * cut) * largest(&miss) {
                (solved, held, miss) = (trial, next, trial_miss);
                accepted = true;
                break;
            }
            cut *= 0.5;
        }
        if !accepted {
            break;
        }
    }
    Ok((solved, miss))
}
