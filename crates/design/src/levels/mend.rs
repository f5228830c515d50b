//! What one level would have to be set to so that a site that fails holds after all.

use super::drawn::{Drawn, State, Trial};
use super::judgement::Broken;
use super::limit::{REACH_M, edge_between};
use super::set_point::SetPoint;
use wetrun_solver::NotSolved;
use wetrun_units::{Length, UnitSystem};

/// Distances that are tried outward.
const STEPS_M: [f64; 12] = [0.005, 0.02, 0.05, 0.1, 0.2, 0.4, 0.7, 1.0, 1.5, 2.2, 3.3, REACH_M];

/// The nearest level within 5 m at which the site holds and no rule turns, as it is printed:
/// solved with just that level. `back`, where it is given, is tried besides.
///
/// # Errors
/// [`NotSolved`] where the edge of what passes lies beside a trial without a steady state.
pub(crate) fn nearest(
    drawn: &Drawn,
    state: &State,
    broken: &[Broken],
    set_point: SetPoint,
    back: Option<Length>,
    units: UnitSystem,
) -> Result<Option<Length>, NotSolved> {
    if !set_point.bears_on_the_storm() {
        return Ok(None);
    }
    let from = drawn.level(set_point);
    let mut found = Vec::new();
    for sign in [-1.0, 1.0] {
        found.extend(one_way(drawn, state, set_point, sign, back)?);
    }
    let distance_m = |to: &Length| (*to - from).to_m().abs();
    found.sort_by(|a, b| distance_m(a).total_cmp(&distance_m(b)));
    let printed = found.into_iter().filter_map(|to| {
        let shown = if to < from { units.down() } else { units.up() }.show_level(to);
        units.read_level(&shown.to_string()).ok()
    });
    let mut holds = printed.filter(|to| {
        let moves = [(set_point, *to)];
        let passes = matches!(drawn.attempt(&moves), Trial::Solved(state) if state.passes());
        passes && drawn.turns(&moves, broken).is_some_and(|turned| turned.is_empty())
    });
    Ok(holds.next())
}

/// Where the site holds first as a level moves one way. What fails may stay as bad for a while
/// before it mends, so that nothing short of the end of the way says that nothing comes of it.
fn one_way(
    drawn: &Drawn,
    state: &State,
    set_point: SetPoint,
    sign: f64,
    back: Option<Length>,
) -> Result<Option<Length>, NotSolved> {
    let from = drawn.level(set_point);
    let (low, high) = set_point.valid(&drawn.network);
    let reach_m = if sign < 0.0 { from.to_m() - low } else { high - from.to_m() };
    let level = |distance_m: f64| from + Length::m(sign * distance_m);
    let attempt = |distance_m: f64| drawn.attempt(&[(set_point, level(distance_m))]);
    let mut distances_m = STEPS_M.to_vec();
    distances_m.extend(back.map(|to| sign * (to - from).to_m()).filter(|d| *d > 0.0));
    distances_m.sort_by(f64::total_cmp);
    let mut short = (0.0, Trial::Solved(Box::new(state.clone())));
    for distance_m in distances_m.into_iter().filter(|d| *d <= reach_m.min(REACH_M)) {
        match attempt(distance_m) {
            Trial::Solved(moved) if moved.passes() => {
                let good = (distance_m, moved.slack_m());
                return edge_between(good, short.0, short.1, attempt).map(|to_m| Some(level(to_m)));
            }
            Trial::Invalid => break,
            // What has no state is passed over, as long as a state lies beyond.
            Trial::Unsolved(_) => {}
            failed => short = (distance_m, failed),
        }
    }
    Ok(None)
}
