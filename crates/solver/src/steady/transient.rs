//! Pseudo-transient continuation: the way to the steady state that water itself takes.
//!
//! Every place is given a little storage, and what is left over at it fills that in time steps. With
//! it the equations of a step are strictly monotone, wherever crests break lines, and they shrink what
//! is left over in all. So each step is the Newton step of the steady state with the storage on the
//! diagonal; as what is left over falls the storage fades, the steps grow long, and the last are
//! Newton's own.
//!
//! From still water that stands at every brim this is a rain that grows: water rises, and of several
//! states the lowest is reached.

use crate::assembly::Assembly;
use crate::heads::{Evaluated, Reading, evaluate};
use crate::model::{Iterate, Model};

/// The storage at first: the rain of a second lifts a place by so much, in metres.
const FIRST_M: f64 = 1.0;
/// What a time step that leads on leaves of the storage besides what it leaves of the imbalance, and the
/// least that it leaves.
const FADES: f64 = 0.35;
const FADES_TO: f64 = 0.05;
/// What one that does not lead on makes of it, and its bounds over the scale: below the first it is as
/// good as none, above the second nothing moves.
const GROWS: f64 = 5.0;
const BOUNDS: [f64; 2] = [1e-9, 1e12];

/// Newton steps of one time step: mostly the first is enough, and where so many are not the time step
/// is too long.
const NEWTON: u32 = 6;
/// A time step is solved where so little of what was left over before it is in error.
const SOLVED: f64 = 0.1;
/// A Newton step is shortened by this until its errors fall by this part of what its straight lines
/// promise, or until so little is left of it.
const SHORTER: f64 = 0.4;
const PROMISED: f64 = 0.1;
const SHORTEST: f64 = 0.05;
/// The farthest that a Newton step moves any head, in metres: the height of a house. A pool that nothing
/// drains yet is let rise to its crest, not thrown far over it; meshes of hundreds need that.
const LONGEST_M: f64 = 20.0;

/// Lets water move until what is left over at all places together is below `enough` of the scale, or
/// nothing moves. Returns the state and the steps taken.
pub(super) fn transient(
    model: &Model,
    assembly: &mut Assembly,
    mut start: Iterate,
    reading: Reading,
    enough: f64,
    most_steps: u32,
) -> (Iterate, u32) {
    let [none, all] = BOUNDS.map(|bound| bound * model.scale);
    lift(model, &mut start);
    let mut now = evaluate(model, start, reading);
    let mut storage = model.scale / FIRST_M;
    let mut steps = 0;
    while now.size > enough * model.scale && steps < most_steps && storage < all {
        match time_step(model, assembly, &now, storage, &mut steps, most_steps) {
            Some(next) => {
                let left = (FADES * next.size / now.size).clamp(FADES_TO, 1.0);
                storage = (left * storage).max(none);
                now = next;
            }
            None => storage *= GROWS,
        }
    }
    (now.at, steps)
}

/// Lifts every head to the lowest invert at its place: one below says no more, and would have to be
/// filled up again.
fn lift(model: &Model, at: &mut Iterate) {
    for node in 0..model.nodes {
        let ends = model.incidence.at(node).iter();
        let inverts =
            ends.map(|&(line, side)| model.lines[line].end_level(side) - at.offset[line][side]);
        let lowest = inverts.fold(f64::INFINITY, f64::min);
        if lowest.is_finite() {
            at.head[node] = at.head[node].max(lowest);
        }
    }
}

/// Heads at which what flows in over a time step about fills the places' storage; `None` where the
/// step is too long to find them.
fn time_step(
    model: &Model,
    assembly: &mut Assembly,
    from: &Evaluated,
    storage: f64,
    steps: &mut u32,
    most_steps: u32,
) -> Option<Evaluated> {
    let errors = |at: &Evaluated| -> Vec<f64> {
        let mut errors = at.net.clone();
        for ((error, head), before) in errors.iter_mut().zip(&at.at.head).zip(&from.at.head) {
            *error -= storage * (head - before);
        }
        errors
    };
    let size = |errors: &[f64]| errors.iter().map(|error| error.abs()).sum::<f64>();
    let mut now = from.clone();
    let mut left = errors(&now);
    for _ in 0..NEWTON.min(most_steps - *steps) {
        *steps += 1;
        now.assemble(model, assembly);
        let mut step = assembly.matrix.solve(&left, storage)?;
        for change in &mut step {
            *change = change.clamp(-LONGEST_M, LONGEST_M);
        }
        let total = size(&left);
        let mut share = 1.0;
        loop {
            let mut at = now.at.clone();
            model.step(&mut at, &step, share);
            let next = evaluate(model, at, from.reading);
            left = errors(&next);
            if size(&left) < (1.0 - PROMISED * share) * total {
                now = next;
                break;
            }
            share *= SHORTER;
            if share < SHORTEST {
                return None;
            }
        }
        if now.size <= from.size || size(&left) < SOLVED * from.size {
            return Some(now);
        }
    }
    None
}
