//! How far one quantity may go before the site no longer passes, to a ten-thousandth of a
//! millimetre.

use super::drawn::Trial;
use super::judgement::Broken;
use wetrun_solver::NotSolved;

/// No limit is looked for farther away.
pub(crate) const REACH_M: f64 = 5.0;
/// How closely a limit is known.
const CLOSE_M: f64 = 1e-7;
/// How closely a limit by the rules is known: close enough that one at a round level is printed
/// as that.
const CLOSE_BY_RULES_M: f64 = 1e-10;
/// A limit by the rules is given so much inside. Where a rule leaves levels this close be, what is
/// printed is still the round number; where it does not, it is the one before.
const WITHIN_M: f64 = 5e-10;
/// Limits nearer to each other than this are one.
pub(crate) const SAME_PLACE_M: f64 = 1e-5;
/// A valid range is looked at up to this far from its end, lest rounding lead beyond it.
pub(crate) const INSIDE_M: f64 = 1e-9;
/// Distances tried outward: a state near the drawn one is solved more surely than one far off.
const STEPS_M: [f64; 5] = [0.01, 0.08, 0.4, 1.5, REACH_M];

/// The last place that passes, and what comes of the next.
pub(crate) struct Edge {
    /// The farthest distance at which everything holds.
    pub(crate) at_m: f64,
    /// The trial just beyond.
    pub(crate) failed: Trial,
}

/// The farthest distance from 0 up to `reach_m` at which the trial still passes; `None` where all
/// the way does. At 0 it must pass, with a slack of `slack_m`; nearer than `reach_m` the network
/// must be valid.
///
/// The slack along the way must not return once it is gone: it is the least of margins that each
/// rise, fall, or rise and then fall.
///
/// # Errors
/// [`NotSolved`] where the edge of what passes lies beside a trial without a steady state.
pub(crate) fn farthest(
    slack_m: f64,
    reach_m: f64,
    trial: impl Fn(f64) -> Trial,
) -> Result<Option<Edge>, NotSolved> {
    let reach_m = (reach_m - INSIDE_M).min(REACH_M);
    let mut good = Side { at_m: 0.0, slack_m };
    for step_m in STEPS_M {
        let at_m = step_m.min(reach_m);
        if at_m <= good.at_m {
            break;
        }
        match trial(at_m) {
            Trial::Solved(state) if state.passes() => {
                good = Side { at_m, slack_m: state.slack_m() };
            }
            Trial::Invalid => break,
            failed => return edge(good, at_m, failed, trial).map(Some),
        }
    }
    Ok(None)
}

/// The farthest distance from 0 up to `reach_m` at which no rule turns, and one that turns just
/// beyond; `None` where none does all the way. A trial without a state turns none.
pub(crate) fn unturned(
    reach_m: f64,
    turns: impl Fn(f64) -> Option<Vec<Broken>>,
) -> Option<(f64, Broken)> {
    let reach_m = reach_m.min(REACH_M);
    let first = |at_m: f64| turns(at_m).and_then(|turned| turned.into_iter().next());
    let mut good_m = 0.0;
    for step_m in STEPS_M {
        let mut bad_m = step_m.min(reach_m);
        if bad_m <= good_m {
            break;
        }
        let Some(mut broken) = first(bad_m) else {
            good_m = bad_m;
            continue;
        };
        while bad_m - good_m > CLOSE_BY_RULES_M {
            let at_m = 0.5 * (good_m + bad_m);
            match first(at_m) {
                Some(found) => (bad_m, broken) = (at_m, found),
                None => good_m = at_m,
            }
        }
        return Some(((good_m - WITHIN_M).max(0.0), broken));
    }
    None
}

struct Side {
    at_m: f64,
    slack_m: f64,
}

/// The last passing place between one that passes and one that does not: false position, with
/// the weight of a side that stays halved and every third step a halving of the bracket.
pub(crate) fn edge_between(
    good: (f64, f64),
    bad: f64,
    failed: Trial,
    trial: impl Fn(f64) -> Trial,
) -> Result<f64, NotSolved> {
    edge(Side { at_m: good.0, slack_m: good.1 }, bad, failed, trial).map(|edge| edge.at_m)
}

fn edge(
    mut good: Side,
    mut bad_m: f64,
    mut failed: Trial,
    trial: impl Fn(f64) -> Trial,
) -> Result<Edge, NotSolved> {
    let (mut good_weight, mut bad_weight) = (1.0, 1.0);
    for step in 0..200 {
        let width_m = bad_m - good.at_m;
        if width_m.abs() <= CLOSE_M {
            break;
        }
        let share = match failed.slack_m() {
            Some(bad_slack) if step % 3 != 2 => {
                let (up, down) = (good.slack_m * good_weight, -bad_slack * bad_weight);
                up / (up + down)
            }
            _ => 0.5,
        };
        // A step into the bracket from either side: the root then soon lies between two trials.
        let least = (0.4 * CLOSE_M / width_m.abs()).min(0.5);
        let share = if share.is_finite() { share.clamp(least, 1.0 - least) } else { 0.5 };
        let at_m = good.at_m + share * width_m;
        match trial(at_m) {
            Trial::Solved(state) if state.passes() => {
                good = Side { at_m, slack_m: state.slack_m() };
                (good_weight, bad_weight) = (1.0, bad_weight * 0.5);
            }
            other => {
                (bad_m, failed) = (at_m, other);
                (good_weight, bad_weight) = (good_weight * 0.5, 1.0);
            }
        }
    }
    match failed {
        Trial::Unsolved(failed) => Err(failed),
        failed => Ok(Edge { at_m: good.at_m, failed }),
    }
}
