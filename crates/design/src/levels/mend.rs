//! What one level could be set to so that a site that falls short passes after all.

use super::drawn::{Drawn, State, Trial};
use super::limit::edge_between;
use super::set_point::SetPoint;
use wetrun_solver::NotSolved;
use wetrun_units::Length;

/// What one level can do for a site that falls short.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WinBack {
    /// Which level.
    pub set_point: SetPoint,
    /// Where it stands.
    pub from: Length,
    /// Where it would have to be set.
    pub to: Length,
    /// What the worst downspout then lacks of its freeboard; zero where all pass.
    pub lacks: Length,
}

/// Distances that are tried; nobody sets a level farther away from the drawing.
const STEPS_M: [f64; 8] = [0.005, 0.02, 0.05, 0.1, 0.2, 0.4, 0.7, 1.0];
/// A level helps as long as each metre it moves wins back this much of a metre.
const HELPS_RATIO: f64 = 0.02;
/// A level that is not enough alone is worth a word where it wins back this share of what is
/// lacking.
const HELPS_SHARE: f64 = 0.1;

/// For each of `candidates` that can do it alone within a metre, the nearest level at which the
/// site passes, the smallest move first. Where none can, those that help most, the best first.
///
/// # Errors
/// [`NotSolved`] where the edge of what passes lies beside a trial without a steady state.
pub fn win_back(
    drawn: &Drawn,
    state: &State,
    candidates: &[SetPoint],
) -> Result<Vec<WinBack>, NotSolved> {
    let mut enough = Vec::new();
    let mut helps = Vec::new();
    for &set_point in candidates {
        for sign in [-1.0, 1.0] {
            match alone(drawn, state, set_point, sign)? {
                Some(found) if found.lacks.to_m() <= 0.0 => enough.push(found),
                Some(found) => helps.push(found),
                None => {}
            }
        }
    }
    let distance_m = |found: &WinBack| (found.to - found.from).to_m().abs();
    enough.sort_by(|a, b| distance_m(a).total_cmp(&distance_m(b)));
    helps.sort_by(|a, b| a.lacks.to_m().total_cmp(&b.lacks.to_m()));
    Ok(if enough.is_empty() { helps } else { enough })
}

/// What one level can do when it moves one way.
fn alone(
    drawn: &Drawn,
    state: &State,
    set_point: SetPoint,
    sign: f64,
) -> Result<Option<WinBack>, NotSolved> {
    let from = set_point.level(&drawn.network);
    let (low, high) = set_point.valid(&drawn.network);
    let reach_m = if sign < 0.0 { from.to_m() - low } else { high - from.to_m() };
    let level = |distance_m: f64| from + Length::m(sign * distance_m);
    let attempt = |distance_m: f64| drawn.attempt(&[(set_point, level(distance_m))]);
    let mut short = (0.0, Trial::Solved(state.clone()));
    let mut best = (0.0, state.slack_m());
    for distance_m in STEPS_M.into_iter().filter(|d| *d <= reach_m) {
        let trial = attempt(distance_m);
        let Trial::Solved(moved) = &trial else { break };
        if moved.passes() {
            let to_m = edge_between((distance_m, moved.slack_m()), short.0, short.1, attempt)?;
            let found = WinBack { set_point, from, to: level(to_m), lacks: Length::ZERO };
            return Ok(Some(found));
        }
        // No more is to be had this way once it stops helping.
        if moved.slack_m() <= best.1 + HELPS_RATIO * (distance_m - best.0) {
            break;
        }
        best = (distance_m, moved.slack_m());
        short = (distance_m, trial);
    }
    let helps = best.1 > state.slack_m() * (1.0 - HELPS_SHARE);
    let lacks = Length::m(-best.1);
    Ok(helps.then_some(WinBack { set_point, from, to: level(best.0), lacks }))
}
