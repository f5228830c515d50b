//! A fallback: damped Newton steps on the heads, each as long as it lessens the imbalance in its own
//! direction.
//!
//! Where no crest breaks a line the imbalance is the slope of a convex function of the heads, and such
//! steps come down to its least value from anywhere.

use crate::assembly::Assembly;
use crate::heads::{Evaluated, Reading, evaluate};
use crate::model::{Iterate, Model};

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

/// Moves the heads until the imbalance of all nodes together is below `enough` of the scale, or
/// no step lessens it. Returns the state and the steps taken.
pub(super) fn search(
    model: &Model,
    assembly: &mut Assembly,
    start: Iterate,
    reading: Reading,
    enough: f64,
    most_steps: u32,
) -> (Iterate, u32) {
    let mut now = evaluate(model, start, reading);
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
    (best.at, steps)
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
        let next = evaluate(model, at, from.reading);
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
