//! The one tolerance for all levels at once, in the worst combination.
//!
//! A margin moves in one direction with each level: an opening does harm low, as a vent or a cap
//! does; an inlet, an overflow or a crest does harm high. So the worst of all combinations within ± t is a corner,
//! known beforehand: openings low, all else high. A few levels have no fixed direction: a low
//! foot makes its own downspout longer, a high one may stand as a crest; a tank that feeds a line
//! does more harm low. For these both sides are solved at the tolerance found, the worse side is
//! taken into the corner, and the tolerance is found anew until no side is worse.

use super::drawn::{Drawn, State, Trial};
use super::limit;
use super::set_point::SetPoint;
use wetrun_solver::NotSolved;
use wetrun_units::Length;

/// A corner: for each set-point whether it is low.
type Corner = Vec<bool>;

/// A side is worse where it takes this much more: the solver's own rounding is less.
const WORSE_M: f64 = 3e-7;
/// Corners looked at in the end; each new one lowers the tolerance.
const MOST_CORNERS: usize = 40;

/// The largest ± for all of `set_points` at once; `None` where no limit lies within 5 m or where
/// only an invalid network would stop it. The site must pass as drawn.
pub(crate) fn all(
    drawn: &Drawn,
    state: &State,
    set_points: &[SetPoint],
) -> Result<Option<Length>, NotSolved> {
    if set_points.is_empty() {
        return Ok(None);
    }
    let first: Corner = set_points.iter().map(|s| s.worst_low()).collect();
    let mut corners = vec![first];
    // An opening and a foot that go towards each other meet half-way.
    let apart = drawn.network.downspouts().iter().map(|d| 0.5 * (d.opening() - d.foot).to_m());
    let reach_m = apart.fold(limit::REACH_M, f64::min);
    loop {
        let at = |t_m: f64| worst(drawn, set_points, &corners, t_m);
        let found = limit::farthest(state.slack_m(), reach_m, at)?;
        let Some(tolerance_m) = found.map(|edge| edge.at_m) else { return Ok(None) };
        let worse = worse_corner(drawn, set_points, &corners, tolerance_m);
        match worse.filter(|_| corners.len() < MOST_CORNERS) {
            Some(corner) => corners.push(corner),
            // Less what a corner may take that was not found worse.
            None => return Ok(Some(Length::m((tolerance_m - WORSE_M).max(0.0)))),
        }
    }
}

/// The corner's levels at ± `t_m`.
fn moves(
    drawn: &Drawn,
    set_points: &[SetPoint],
    corner: &[bool],
    t_m: f64,
) -> Vec<(SetPoint, Length)> {
    let sided = set_points.iter().zip(corner);
    sided
        .map(|(set_point, low)| {
            let move_m = if *low { -t_m } else { t_m };
            (*set_point, drawn.level(*set_point) + Length::m(move_m))
        })
        .collect()
}

fn attempt(drawn: &Drawn, set_points: &[SetPoint], corner: &[bool], t_m: f64) -> Trial {
    drawn.attempt(&moves(drawn, set_points, corner, t_m))
}

/// The trial of the corner that leaves least.
fn worst(drawn: &Drawn, set_points: &[SetPoint], corners: &[Corner], t_m: f64) -> Trial {
    let mut worst: Option<Trial> = None;
    for corner in corners {
        let trial = attempt(drawn, set_points, corner, t_m);
        let Some(slack_m) = trial.slack_m() else { return trial };
        if worst.as_ref().and_then(Trial::slack_m).is_none_or(|least_m| slack_m < least_m) {
            worst = Some(trial);
        }
    }
    worst.unwrap_or(Trial::Invalid)
}

/// A corner that fails at a tolerance at which the known ones pass: from each of these, every
/// level is tried on its other side, and stays there where that leaves less.
fn worse_corner(
    drawn: &Drawn,
    set_points: &[SetPoint],
    corners: &[Corner],
    t_m: f64,
) -> Option<Corner> {
    corners.iter().rev().find_map(|known| {
        let mut corner = known.clone();
        let mut least_m = attempt(drawn, set_points, &corner, t_m).slack_m()?.min(0.0);
        let mut worse = false;
        for index in 0..corner.len() {
            corner[index] = !corner[index];
            match attempt(drawn, set_points, &corner, t_m).slack_m() {
                Some(slack_m) if slack_m < least_m - WORSE_M => (least_m, worse) = (slack_m, true),
                _ => corner[index] = !corner[index],
            }
        }
        worse.then_some(corner)
    })
}
