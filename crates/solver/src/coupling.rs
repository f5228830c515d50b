//! What ties lines together beyond their common heads: a full tank's level, which rises with all
//! it receives and with the level of the tank it overflows into, and the combining loss of a wye or
//! tee, which hangs on three flows.
//!
//! Both are held while heads and flows are solved, then set anew from the flows. Where that
//! does not settle by itself, Newton's method finds the level at which it does.

mod newton;
mod sweep;

use crate::gap::{Gap, HEAD_M, Worst};
use crate::line::Joint;
use crate::model::{Iterate, Model};
use crate::steady::{Failed, Solved, Solver};
use newton::{Measure, newton};
use sweep::one_by_one;

/// How closely held and renewed couplings agree in the end, in metres.
const AGREE_M: f64 = 0.01 * HEAD_M;

/// Sets the tanks' levels from the flows.
pub(crate) fn set_water(model: &Model, at: &mut Iterate) {
    if coupled(model).next().is_some() {
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

/// Solves heads and flows, then levels and offsets, until all agree. From a start that is `near` it
/// keeps to the state there, if it can: setting anew what the flows ask for may lead to another.
pub(crate) fn settle(solver: &mut Solver, start: Iterate, near: bool) -> Result<Solved, Failed> {
    let mut at = start;
    set_offsets(&solver.model, &mut at);
    let mut solved = solver.inner(at)?;
    let mut held = couplings(&solver.model, &solved.at);
    let mut miss = miss_of(&solver.model, &solved.at);
    let mut steps = solved.steps;
    let bounds = Bounds::of(solver);
    let mut step = 1.0;
    for _ in 0..if near { 0 } else { 60 } {
        if largest(&miss) <= AGREE_M {
            break;
        }
        let next: Vec<f64> = (held.iter().zip(&miss).enumerate())
            .map(|(i, (h, m))| bounds.within(i, h + step * m))
            .collect();
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
    // Newton's steps are quick near the answer, one coupling at a time is sure far from it. Where a
    // tank's level hangs on a trickle, the last digits of the heads scatter it: the best is kept.
    let mut best = (solved.clone(), miss.clone());
    for _ in 0..8 {
        for way in [Way::Newton(Measure::Levels), Way::Newton(Measure::Flows), Way::OneByOne] {
            if largest(&best.1) <= AGREE_M {
                break;
            }
            (solved, miss, steps) = match way {
                Way::Newton(measure) => newton(solver, measure, solved, miss, steps)?,
                Way::OneByOne => one_by_one(solver, solved, miss, steps)?,
            };
            if largest(&miss) < largest(&best.1) {
                best = (solved.clone(), miss.clone());
            }
        }
        if largest(&best.1) <= HEAD_M {
            break;
        }
    }
    let (mut solved, miss) = best;
    if largest(&miss) > HEAD_M {
        let worst = worst_line(&solver.model, &miss);
        let gap = Gap { head_m: largest(&miss), worst, ..solved.survey.gap };
        return Err(Failed { gap, steps });
    }
    solved.steps = steps;
    // The levels that the report shows are those of the flows it shows; only what an overflow lets
    // go below a rim hangs on the levels too.
    let held = solved.at.water.clone();
    set_water(&solver.model, &mut solved.at);
    if !levels_agree(&solver.model, &solved.at) {
        solved.at.water = held;
    }
    set_offsets(&solver.model, &mut solved.at);
    Ok(solved)
}

/// Between which values each coupling lies: tanks' levels, then offsets, which may take any.
struct Bounds(Vec<[f64; 2]>);

impl Bounds {
    fn of(solver: &Solver) -> Self {
        let tanks = coupled(&solver.model).filter_map(|t| solver.model.tanks[t].bounds());
        Self(tanks.map(|[low, high]| [low, high.min(solver.top_m)]).collect())
    }

    /// The value nearest to this one that the coupling may take.
    fn within(&self, index: usize, value: f64) -> f64 {
        self.0.get(index).map_or(value, |[low, high]| value.max(*low).min(*high))
    }
}

/// A way to bring couplings to agree.
enum Way {
    Newton(Measure),
    OneByOne,
}

/// The couplings of a state in one list: levels of the full tanks that move, then offsets.
fn couplings(model: &Model, at: &Iterate) -> Vec<f64> {
    let levels = coupled(model).filter_map(|t| at.water[t]);
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
    hold(&solver.model, &mut at, couplings);
    solver.inner(at)
}

/// Holds couplings at the given values.
fn hold(model: &Model, at: &mut Iterate, couplings: &[f64]) {
    let mut values = couplings.iter().copied();
    for tank in coupled(model) {
        at.water[tank] = values.next();
    }
    for junction in &model.junctions {
        for (line, side) in junction.legs {
            at.offset[line][side] = values.next().unwrap_or(0.0);
        }
    }
}

/// For each coupling the ends of lines that meet it.
fn ends(model: &Model) -> Vec<Vec<(usize, usize)>> {
    let at_tank = |tank: usize| {
        let ends = (0..model.lines.len()).flat_map(|line| [(line, 0), (line, 1)]);
        ends.filter(|&(line, side)| model.lines[line].ends[side] == Joint::Tank(tank)).collect()
    };
    let legs = model.junctions.iter().flat_map(|j| j.legs).map(|leg| vec![leg]);
    coupled(model).map(at_tank).chain(legs).collect()
}

/// The full tanks whose level is not always the same.
fn coupled(model: &Model) -> impl Iterator<Item = usize> + '_ {
    (0..model.tanks.len()).filter(|&t| model.tanks[t].full_m.is_some() && model.tanks[t].moves())
}

fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |m, v| if v.is_nan() { f64::INFINITY } else { m.max(v.abs()) })
}

/// The line to name when the couplings do not settle.
fn worst_line(model: &Model, miss: &[f64]) -> Worst {
    let index = (0..miss.len()).max_by(|&a, &b| miss[a].abs().total_cmp(&miss[b].abs()));
    let tanks: Vec<usize> = coupled(model).collect();
    let legs: Vec<usize> = model.junctions.iter().flat_map(|j| j.legs).map(|(l, _)| l).collect();
    let line = index.map_or(0, |i| match tanks.get(i) {
        Some(&tank) => {
            (model.lines.iter()).position(|l| l.ends.contains(&Joint::Tank(tank))).unwrap_or(0)
        }
        None => legs.get(i - tanks.len()).copied().unwrap_or(0),
    });
    Worst::Line(line)
}
