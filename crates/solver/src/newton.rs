//! The search on the heads: damped Newton steps on the continuity of every node.
//!
//! Each line's flow is a continuous function of what stands at its two ends, rising with the
//! upstream head and falling with the downstream one, and what a downspout takes falls with the
//! head at its foot. So the imbalance is a monotone function of the heads, and adding to the
//! diagonal always turns a Newton step into one that lessens it.

use crate::assembly::{Assembly, left_over};
use crate::line::Through;
use crate::model::{Iterate, Model};
use crate::tank::Letting;

/// The share of the scale that is added to each diagonal entry at first: what a place without any way
/// out needs to have a pivot at all, and far less than any line conducts.
const DAMPING: f64 = 1e-9;
/// By how much it grows where the matrix has no stable factor, what a step that has one leaves of it,
/// and how large it may become before there is none.
const DAMPING_GROWS: f64 = 100.0;
const DAMPING_FALLS: f64 = 0.1;
const DAMPING_ENDS: f64 = 1e12;

/// A walk along a step ends once the imbalance in its direction is down to this share.
const PULL_LEFT: f64 = 0.5;
/// By how much a walk is lengthened that still finds all pulling on, the margin that a secant keeps to
/// either end of its bracket, and how many places it looks at: more than it takes to halve a step of
/// [`LONGEST_M`] to the last digits that count.
const WALK_ON: f64 = 4.0;
const WALK_EDGE: f64 = 0.1;
const WALK_MOST: u32 = 30;

/// Less imbalance than this share of the scale a filling does not ask for: what it leaves is for the
/// steps on flows and heads.
const FILLED: f64 = 1e-9;
/// What a time step that led on leaves of the storage (longer steps), what one that did not makes of
/// it (shorter ones), and its bounds over the scale: below, it is as good as none; above, nothing moves.
const STORAGE_FALLS: f64 = 0.25;
const STORAGE_GROWS: f64 = 4.0;
const STORAGE: [f64; 2] = [1e-9, 1e6];
/// A time step is solved where its errors are down to this share of those it began with, or of the
/// scale; where no shorter step lessens them, this much is enough to go on from.
const STEP_SOLVED: f64 = 1e-6;
const STEP_SMALL: f64 = 1e-10;
const STEP_ENOUGH: f64 = 1e-2;
/// Newton steps of one time step: they come down by squares, or the time step is too long.
const STEP_MOST: u32 = 60;
/// A Newton step is shortened by this until its errors fall by this part of what its straight lines
/// promise; a shorter one than the last leads nowhere.
const SHORTER: f64 = 0.4;
const PROMISED: f64 = 0.1;
const SHORTEST: f64 = 1e-5;

/// What a search does with the moving tanks' levels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Levels {
    Held,
    /// Found with the heads.
    Free,
}

/// The state that a set of heads gives: flows, what is taken, and how both answer to the heads.
#[derive(Clone)]
struct Evaluated {
    at: Iterate,
    lines: Vec<Through>,
    takes: Vec<f64>,
    lettings: Vec<Letting>,
    net: Vec<f64>,
    size: f64,
    levels: Levels,
}

impl Evaluated {
    /// Sets the matrix to how all answers to the heads and levels.
    fn assemble(&self, model: &Model, assembly: &mut Assembly) {
        assembly.matrix.clear();
        for (line, through) in self.lines.iter().enumerate() {
            assembly.add_line(model, line, through.d_end);
        }
        for (d, slope) in self.takes.iter().enumerate() {
            assembly.matrix.add(d, -slope);
        }
        for (place, letting) in self.lettings.iter().enumerate() {
            assembly.add_tank(model, place, letting);
        }
    }
}

/// What leaves the moving tanks, read off their levels; where an overflow without a pipe joins two
/// waters, off what it receives.
fn by_levels(model: &Model, at: &Iterate) -> Vec<Letting> {
    if model.moving.is_empty() {
        return Vec::new();
    }
    let receipts = model.receipts(at);
    let letting = |&tank: &usize| {
        let (level_m, beyond) = (at.water[tank]?, model.beyond(at, tank));
        let (received, overflow) = (receipts.net[tank], receipts.overflow[tank]);
        let this = &model.tanks[tank];
        Some(match this.pipe {
            Some(_) => this.by_level(level_m, received, beyond),
            None => this.by_flow(level_m, received, overflow, beyond, 0.0),
        })
    };
    model.moving.iter().filter_map(letting).collect()
}

fn evaluate(model: &Model, mut at: Iterate, levels: Levels) -> Evaluated {
    if levels == Levels::Free {
        model.hold_levels(&mut at);
    }
    let lines: Vec<Through> = (0..model.lines.len())
        .map(|l| {
            let ends = [model.far(&at, l, 0), model.far(&at, l, 1)];
            model.lines[l].through(ends, at.flow[l])
        })
        .collect();
    for (flow, through) in at.flow.iter_mut().zip(&lines) {
        *flow = through.flow;
    }
    let takes = (model.lips.iter().enumerate())
        .map(|(d, downspout)| {
            let (admitted, slope) = downspout.admits(at.head[d], at.admitted[d]);
            at.admitted[d] = admitted;
            slope
        })
        .collect();
    let held = || vec![Letting::held(); model.moving.len()];
    let lettings = if levels == Levels::Held { held() } else { by_levels(model, &at) };
    let mut net = left_over(model, at.admitted.iter().copied(), at.flow.iter().copied(), &lettings);
    if levels == Levels::Held {
        net[model.nodes..].fill(0.0);
    }
    let size = net.iter().map(|n| n.abs()).sum();
    Evaluated { at, lines, takes, lettings, net, size, levels }
}

/// Moves the heads until the imbalance of all nodes together is below `enough` of the scale, or
/// no step lessens it. Returns the state, its imbalance over the scale, and the steps taken.
pub(crate) fn search(
    model: &Model,
    assembly: &mut Assembly,
    start: Iterate,
    levels: Levels,
    enough: f64,
    most_steps: u32,
) -> (Iterate, f64, u32) {
    let mut now = evaluate(model, start, levels);
    let mut best = now.clone();
    let mut damping = DAMPING * model.scale;
    let mut steps = 0;
    while now.size > enough * model.scale && steps < most_steps {
        steps += 1;
        now.assemble(model, assembly);
        let step = loop {
            if let Some(step) = assembly.matrix.solve(&now.net, damping) {
                break Some(step);
            }
            damping *= DAMPING_GROWS;
            if damping > DAMPING_ENDS * model.scale {
                break None;
            }
        };
        let Some(step) = step else { break };
        damping = (DAMPING_FALLS * damping).max(DAMPING * model.scale);
        match along(model, &now, &step) {
            Some(next) => now = next,
            None => break,
        }
        if now.size < best.size {
            best = now.clone();
        }
    }
    (best.at, best.size / model.scale, steps)
}

/// The farthest that a step moves any head, in metres.
const LONGEST_M: f64 = 20.0;

/// Walks along a step to about where the imbalance in its direction is used up.
///
/// Where nothing breaks a line this is the slope of a convex function along the step, which rises
/// through zero at the function's least value; the walk stops once half of it is gone.
fn along(model: &Model, from: &Evaluated, step: &[f64]) -> Option<Evaluated> {
    let pull = |net: &[f64]| net.iter().zip(step).map(|(n, s)| n * s).sum::<f64>();
    let first = pull(&from.net);
    if first.is_nan() || first <= 0.0 {
        return None;
    }
    let longest = step.iter().fold(0.0_f64, |m, s| m.max(s.abs()));
    let most = LONGEST_M / longest;
    let (mut low, mut low_pull) = (0.0, first);
    let mut high: Option<(f64, f64)> = None;
    let mut share = most.min(1.0);
    let mut last = None;
    for _ in 0..WALK_MOST {
        let mut at = from.at.clone();
        model.step(&mut at, step, share);
        let next = evaluate(model, at, from.levels);
        let here = pull(&next.net);
        let done = here.abs() <= PULL_LEFT * first || (here > 0.0 && share >= most);
        last = Some(next);
        if done {
            break;
        }
        if here > 0.0 {
            (low, low_pull) = (share, here);
        } else {
            high = Some((share, here));
        }
        share = match high {
            None => (WALK_ON * share).min(most),
            Some((high, high_pull)) => {
                let secant = low + (high - low) * low_pull / (low_pull - high_pull);
                let edge = WALK_EDGE * (high - low);
                secant.max(low + edge).min(high - edge)
            }
        };
    }
    last
}

/// Lets the imbalance fill the nodes as if each were a tank, in time steps that grow: the way to
/// the steady state that water itself takes. Slower than [`search`], but sure where crests break
/// lines: with a little storage at every node each step's equations are strictly monotone, and a
/// Newton step lessens their sum of errors as far as it is short enough.
pub(crate) fn fill(
    model: &Model,
    assembly: &mut Assembly,
    start: Iterate,
    levels: Levels,
    enough: f64,
    most_steps: u32,
) -> (Iterate, f64, u32) {
    let mut now = evaluate(model, start, levels);
    let mut best = now.clone();
    let mut steps = 0;
    let mut storage = model.scale;
    let enough = enough.max(FILLED);
    while now.size > enough * model.scale && steps < most_steps {
        match fill_once(model, assembly, &now, storage, &mut steps) {
            Some(next) => {
                now = next;
                steps += 1;
                storage *= STORAGE_FALLS;
            }
            None => {
                steps += 1;
                storage *= STORAGE_GROWS;
                if storage > STORAGE[1] * model.scale {
                    break;
                }
            }
        }
        storage = storage.max(STORAGE[0] * model.scale);
        if now.size < best.size {
            best = now.clone();
        }
    }
    (best.at, best.size / model.scale, steps)
}

/// One time step: heads at which what flows in over the step fills the nodes' storage.
fn fill_once(
    model: &Model,
    assembly: &mut Assembly,
    from: &Evaluated,
    storage: f64,
    steps: &mut u32,
) -> Option<Evaluated> {
    let left = |at: &Evaluated| -> Vec<f64> {
        let mut left = at.net.clone();
        for ((left, head), before) in left.iter_mut().zip(&at.at.head).zip(&from.at.head) {
            *left -= storage * (head - before);
        }
        left
    };
    let size = |left: &[f64]| left.iter().map(|l| l.abs()).sum::<f64>();
    let mut now = from.clone();
    let mut errors = left(&now);
    let first = size(&errors);
    for _ in 0..STEP_MOST {
        let total = size(&errors);
        if total <= STEP_SOLVED * first || total <= STEP_SMALL * model.scale {
            return Some(now);
        }
        *steps += 1;
        now.assemble(model, assembly);
        let step = assembly.matrix.solve(&errors, storage)?;
        let longest = step.iter().fold(0.0_f64, |m, s| m.max(s.abs()));
        let mut share = (LONGEST_M / longest).min(1.0);
        let mut next = None;
        while share > SHORTEST {
            let mut at = now.at.clone();
            model.step(&mut at, &step, share);
            let trial = evaluate(model, at, from.levels);
            let trial_errors = left(&trial);
            if size(&trial_errors) < (1.0 - PROMISED * share) * total {
                next = Some((trial, trial_errors));
                break;
            }
            share *= SHORTER;
        }
        match next {
            Some(next) => (now, errors) = next,
            None => return (total <= STEP_ENOUGH * first).then_some(now),
        }
    }
    None
}
