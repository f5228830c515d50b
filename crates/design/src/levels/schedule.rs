//! The level schedule: for every level how far it may go, what a millimetre does, and what all
//! of them may be off at once.

use super::drawn::{Drawn, Margin, State, Trial};
use super::limit;
use super::set_point::SetPoint;
use super::tolerance;
use wetrun_solver::NotSolved;
use wetrun_units::Length;

/// The level schedule of a site.
#[derive(Clone, Debug, PartialEq)]
pub struct Schedule {
    /// The state as drawn.
    pub state: State,
    /// One for every level that somebody sets.
    pub set_points: Vec<Limits>,
    /// The largest ± for all levels at once with everything still passing, in the worst
    /// combination; `None` on a site that fails as drawn, and where 5 m do no harm.
    pub tolerance_all: Option<Length>,
    /// For each downspout the level up to which its joints must be watertight: the standing
    /// level in the storm and the freeboard, but never above the opening.
    pub watertight_to: Vec<Length>,
}

/// A level with how far it alone may go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Which level.
    pub set_point: SetPoint,
    /// Where it is drawn.
    pub design: Length,
    /// The lowest level at which everything still passes with the rest as drawn. `None` where
    /// no limit lies within 5 m, where only an invalid network would stop it, and on a site
    /// that fails as drawn.
    pub lowest: Option<Length>,
    /// The highest, likewise.
    pub highest: Option<Length>,
    /// What a millimetre there does.
    pub effect: Effect,
}

/// By how much the worst margin changes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Effect {
    /// When the level is a millimetre low.
    pub if_low: Length,
    /// When it is a millimetre high.
    pub if_high: Length,
}

/// Effects of a millimetre smaller than this are none: a two-hundredth of it, or rounding.
const NO_EFFECT_M: f64 = 5e-6;

impl Effect {
    /// Whether a millimetre takes nothing from the worst margin, either way.
    pub fn is_harmless(&self) -> bool {
        self.cost().to_m() == 0.0
    }

    /// What a millimetre the wrong way takes from the worst margin; zero or more.
    pub fn cost(&self) -> Length {
        let cost_m = -self.if_low.to_m().min(self.if_high.to_m());
        Length::m(if cost_m > NO_EFFECT_M { cost_m } else { 0.0 })
    }

    /// Whether low is the wrong way.
    pub fn worse_low(&self) -> bool {
        self.if_low < self.if_high
    }
}

impl Limits {
    /// Whether it does not matter at all within 5 m.
    pub fn is_harmless(&self) -> bool {
        self.lowest.is_none() && self.highest.is_none() && self.effect.is_harmless()
    }
}

/// Works out the schedule.
///
/// # Errors
/// [`NotSolved`] where a state that decides was not found.
pub fn schedule(drawn: &Drawn) -> Result<Schedule, NotSolved> {
    let state = drawn.state()?;
    let set_points = drawn.set_points();
    let passes = state.passes();
    let set_points = (set_points.into_iter())
        .map(|set_point| limits(drawn, &state, set_point))
        .collect::<Result<_, _>>()?;
    let tolerance_all = if passes { tolerance::all(drawn, &state)? } else { None };
    let watertight_to = watertight(drawn, &state);
    Ok(Schedule { state, set_points, tolerance_all, watertight_to })
}

impl Schedule {
    /// Whether the site passes as drawn.
    pub fn passes(&self) -> bool {
        self.state.passes()
    }

    /// The worst downspout as drawn.
    pub fn worst(&self) -> Option<Margin> {
        self.state.worst()
    }
}

/// How far one level may go, and what a millimetre does.
fn limits(drawn: &Drawn, state: &State, set_point: SetPoint) -> Result<Limits, NotSolved> {
    let design = set_point.level(&drawn.network);
    let effect = Effect {
        if_low: effect(drawn, state, set_point, -0.001),
        if_high: effect(drawn, state, set_point, 0.001),
    };
    let mut found = Limits { set_point, design, lowest: None, highest: None, effect };
    if !state.passes() || state.margins.is_empty() {
        return Ok(found);
    }
    let (low, high) = set_point.valid(&drawn.network);
    let go = |sign: f64, reach_m: f64| {
        let moved = |distance_m: f64| design + Length::m(sign * distance_m);
        let farthest = limit::farthest(state.slack_m(), reach_m, |distance_m| {
            drawn.attempt(&[(set_point, moved(distance_m))])
        })?;
        Ok(farthest.map(moved))
    };
    found.lowest = go(-1.0, design.to_m() - low)?;
    found.highest = go(1.0, high - design.to_m())?;
    Ok(found)
}

/// By how much the worst margin changes when a level moves; nothing where that is no valid
/// network.
fn effect(drawn: &Drawn, state: &State, set_point: SetPoint, move_m: f64) -> Length {
    let level = set_point.level(&drawn.network) + Length::m(move_m);
    match drawn.attempt(&[(set_point, level)]) {
        Trial::Solved(moved) if !state.margins.is_empty() => {
            Length::m(moved.least_m() - state.least_m())
        }
        _ => Length::ZERO,
    }
}

fn watertight(drawn: &Drawn, state: &State) -> Vec<Length> {
    let each = drawn.network.downspouts().iter().zip(&state.steady.downspouts);
    each.map(|(downspout, state)| {
        let to_m = (state.standing_level + drawn.freeboard).to_m();
        Length::m(to_m.min(downspout.opening().to_m()))
    })
    .collect()
}
