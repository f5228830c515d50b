//! What ties lines together beyond their common heads: a full tank's level, which rises with all
//! it receives, and the combining loss of a wye or tee, which hangs on three flows.
//!
//! Both are held while heads and flows are solved, then set anew from the flows. Where that
//! does not settle by itself, Newton's method finds the level at which it does.

use crate::gap::{HEAD_M, Worst};
use crate::laws::critical;
use crate::line::Joint;
use crate::model::{Iterate, Model};
use crate::steady::{Failed, Solved, Solver};
use nalgebra::{DMatrix, DVector};

/// How closely held and renewed couplings agree in the end, in metres.
const AGREE_M: f64 = 0.01 * HEAD_M;

/// The levels that full tanks take for what they receive.
pub(crate) fn water_levels(model: &Model, receipts: &[f64]) -> Vec<Option<f64>> {
    (model.tanks.iter().zip(receipts))
        .map(|(tank, received)| {
            let level = tank.full_m?;
            let Some((bore, k)) = tank.pipe else { return Some(level) };
            Some(level + critical::overflow_head(bore, k, received.max(0.0)).0)
        })
        .collect()
}

/// Sets the tanks' levels from the flows.
pub(crate) fn set_water(model: &Model, at: &mut Iterate) {
    if piped(model).next().is_some() {
        at.water = water_levels(model, &model.receipts(&at.flow));
    }
}

/// Sets what wyes and tees add to their points' heads from the flows.
pub(crate) fn set_offsets(model: &Model, at: &mut Iterate) {
    for junction in &model.junctions {
        for (&(line, side), offset) in junction.legs.iter().zip(junction.offsets(&at.flow)) {
            at.offset[line][side] = offset;
        }
    }
}

/// Solves heads and flows, then levels and offsets, until all agree.
pub(crate) fn settle(solver: &mut Solver, start: Iterate) -> Result<Solved, Failed> {
    let mut at = start;
    set_offsets(&solver.model, &mut at);
    let mut solved = solver.inner(at)?;
    let mut held = couplings(&solver.model, &solved.at);
    let mut miss = miss_of(&solver.model, &solved.at);
    let mut steps = solved.steps;
    let mut step = 1.0;
    for _ in 0..60 {
        if largest(&miss) <= AGREE_M {
            break;
        }
        let next: Vec<f64> = held.iter().zip(&miss).map(|(h, m)| h + step * m).collect();
        let trial = solve_with(solver, &solved.at, &next)?;
        steps += trial.steps;
        let trial_miss = miss_of(&solver.model, &trial.at);
        if largest(&trial_miss) > 0.7 * largest(&miss) {
            step *= 0.5;
            if step < 0.2 {
                break;
            }
        }
        if largest(&trial_miss) < largest(&miss) {
            (solved, held, miss) = (trial, next, trial_miss);
        }
    }
    // Newton's steps are quick near the answer, one coupling at a time is sure far from it.
    for _ in 0..8 {
        if largest(&miss) <= AGREE_M {
            break;
        }
        for measure in [Measure::Levels, Measure::Flows] {
            (solved, miss, steps) = newton(solver, measure, solved, miss, steps)?;
        }
        if largest(&miss) > AGREE_M {
            (solved, miss, steps) = one_by_one(solver, solved, miss, steps)?;
        }
    }
    if largest(&miss) > HEAD_M {
        let worst = worst_line(&solver.model, &miss);
        return Err(Failed { worst, worst_m: largest(&miss), steps });
    }
    solved.steps = steps;
    // The levels that the report shows are those of the flows it shows.
    set_water(&solver.model, &mut solved.at);
    set_offsets(&solver.model, &mut solved.at);
    Ok(solved)
}

/// Newton's method on the couplings, its matrix by differences, each from a solve.
fn newton(
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
    for _ in 0..20 {
        if largest(&miss) <= AGREE_M {
            break;
        }
        let mut matrix = DMatrix::zeros(n, n);
        for column in 0..n {
            let mut nudge = 1e-6_f64.max(1e-3 * miss[column].abs()).copysign(left[column]);
            if held[column] + nudge < floor(column) {
                nudge = -nudge;
            }
            let mut moved = held.clone();
            moved[column] += nudge;
            let trial = solve_with(solver, &solved.at, &moved)?;
            steps += trial.steps;
            let trial_miss = miss_of(&solver.model, &trial.at);
            let now = left_of(measure, &solver.model, &trial.at, &trial_miss);
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
enum Measure {
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

/// Each coupling in turn by false position between two values that miss on either side, in
/// sweeps: a full tank's own level always answers its own miss downward.
fn one_by_one(
    solver: &mut Solver,
    mut solved: Solved,
    mut miss: Vec<f64>,
    mut steps: u32,
) -> Result<(Solved, Vec<f64>, u32), Failed> {
    let mut held = couplings(&solver.model, &solved.at);
    for _sweep in 0..12 {
        for index in 0..held.len() {
            if miss[index].abs() <= 0.1 * AGREE_M {
                continue;
            }
            let (mut near, mut near_miss) = (held[index], miss[index]);
            let mut across: Option<(f64, f64)> = None;
            let mut reach = near_miss;
            for _ in 0..50 {
                held[index] = match across {
                    None => near + reach,
                    Some((far, far_miss)) => {
                        let share = (near_miss / (near_miss - far_miss)).clamp(0.02, 0.98);
                        near + share * (far - near)
                    }
                };
                reach *= 2.0;
                let trial = solve_with(solver, &solved.at, &held)?;
                steps += trial.steps;
                miss = miss_of(&solver.model, &trial.at);
                solved = trial;
                let here = miss[index];
                let narrow = across.is_some_and(|(far, _)| (far - near).abs() <= 1e-13);
                if here.abs() <= 0.1 * AGREE_M || narrow {
                    break;
                }
                if here * near_miss > 0.0 {
                    // Halving the other side's weight keeps the bracket closing from both ends.
                    across = across.map(|(far, far_miss)| (far, 0.5 * far_miss));
                } else {
                    across = Some((near, near_miss));
                }
                (near, near_miss) = (held[index], here);
            }
        }
        if largest(&miss) <= AGREE_M {
            break;
        }
    }
    Ok((solved, miss, steps))
}

/// The couplings of a state in one list: levels of full tanks with a piped overflow, then offsets.
fn couplings(model: &Model, at: &Iterate) -> Vec<f64> {
    let levels = piped(model).filter_map(|t| at.water[t]);
    let offsets =
        model.junctions.iter().flat_map(|j| j.legs).map(|(line, side)| at.offset[line][side]);
    levels.chain(offsets).collect()
}

/// By how much the couplings that the flows ask for differ from those held.
fn miss_of(model: &Model, at: &Iterate) -> Vec<f64> {
    let mut renewed = at.clone();
    set_water(model, &mut renewed);
    set_offsets(model, &mut renewed);
    let held = couplings(model, at);
    couplings(model, &renewed).iter().zip(held).map(|(new, old)| new - old).collect()
}

fn solve_with(solver: &mut Solver, near: &Iterate, couplings: &[f64]) -> Result<Solved, Failed> {
    let mut at = near.clone();
    let mut values = couplings.iter().copied();
    let tanks: Vec<usize> = piped(&solver.model).collect();
    for tank in tanks {
        at.water[tank] = values.next();
    }
    for junction in &solver.model.junctions {
        for (line, side) in junction.legs {
            at.offset[line][side] = values.next().unwrap_or(0.0);
        }
    }
    solver.inner(at)
}

fn piped(model: &Model) -> impl Iterator<Item = usize> + '_ {
    (0..model.tanks.len())
        .filter(|&t| model.tanks[t].full_m.is_some() && model.tanks[t].pipe.is_some())
}

fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |m, v| if v.is_nan() { f64::INFINITY } else { m.max(v.abs()) })
}

/// The line to name when the couplings do not settle.
fn worst_line(model: &Model, miss: &[f64]) -> Worst {
    let index = (0..miss.len()).max_by(|&a, &b| miss[a].abs().total_cmp(&miss[b].abs()));
    let tanks: Vec<usize> = piped(model).collect();
    let legs: Vec<usize> = model.junctions.iter().flat_map(|j| j.legs).map(|(l, _)| l).collect();
    let line = index.map_or(0, |i| match tanks.get(i) {
        Some(&tank) => {
            (model.lines.iter()).position(|l| l.ends.contains(&Joint::Tank(tank))).unwrap_or(0)
        }
        None => legs.get(i - tanks.len()).copied().unwrap_or(0),
    });
    Worst::Line(line)
}
