//! The level schedule: for every level how far it may go, what a millimetre does, and what all
//! of them may be off at once; on a site that fails, how far each would have to go.

use super::drawn::{Drawn, State, Trial};
use super::judgement::Broken;
use super::limit;
use super::mend;
use super::set_point::SetPoint;
use super::tolerance;
use wetrun_solver::NotSolved;
use wetrun_units::{Length, UnitSystem};
use wetrun_verdict::{Cause, Margin};

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
#[derive(Clone, Debug, PartialEq)]
pub struct Limits {
    /// Which level.
    pub set_point: SetPoint,
    /// Where it stands: as drawn, or as built.
    pub level: Length,
    /// The lowest level at which the verdict holds with the rest as it stands. `None` where no
    /// limit lies within 5 m, where only an invalid network would stop it, and on a site that
    /// fails.
    pub lowest: Option<Length>,
    /// The highest, likewise.
    pub highest: Option<Length>,
    /// What stops it first on its way down: the verdict, or a rule that it turns before.
    pub low_stop: Option<Stop>,
    /// The same on its way up.
    pub high_stop: Option<Stop>,
    /// On a site that fails the nearest level, as it is printed, at which all holds, with no rule
    /// turned; `None` where this level alone was not found to do it within 5 m.
    pub mend: Option<Length>,
    /// What a millimetre there does.
    pub effect: Effect,
}

/// Where a level stops, and by what.
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    /// The last level that does no harm.
    pub level: Length,
    /// What it would do just beyond.
    pub by: By,
    /// The tag of the place where that would show; empty where no state shows it.
    pub at: String,
}

/// What stops a level.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// The verdict would fail.
    Verdict(Option<Cause>),
    /// A rule of the review would no longer pass.
    Rule(&'static str),
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
        self.low_stop.is_none() && self.high_stop.is_none() && self.effect.is_harmless()
    }
}

/// Works out the schedule. `settled` are levels that stand as built, with where they are drawn:
/// the tolerance leaves them out, and on a site that fails setting them back is tried. `units`
/// are those that levels are printed in.
///
/// # Errors
/// [`NotSolved`] where a state that decides was not found.
pub fn schedule(
    drawn: &Drawn,
    settled: &[(SetPoint, Length)],
    units: UnitSystem,
) -> Result<Schedule, NotSolved> {
    let state = drawn.state()?;
    let search = Search { drawn, broken: drawn.broken(&state), state: &state };
    let of = |set_point: SetPoint| {
        let back = settled.iter().find(|(s, _)| *s == set_point).map(|(_, level)| *level);
        search.limits(set_point, back, units)
    };
    let all = drawn.set_points();
    let set_points = all.iter().map(|s| of(*s)).collect::<Result<_, _>>()?;
    let open = |s: &SetPoint| s.bears_on_the_storm() && !settled.iter().any(|(t, _)| t == s);
    let open: Vec<SetPoint> = all.into_iter().filter(open).collect();
    let holds = state.passes();
    let tolerance_all = if holds { tolerance::all(drawn, &state, &open)? } else { None };
    let watertight_to = watertight(drawn, &state);
    Ok(Schedule { state, set_points, tolerance_all, watertight_to })
}

impl Schedule {
    /// Whether the site holds.
    pub fn passes(&self) -> bool {
        self.state.passes()
    }

    /// The downspout with the least left.
    pub fn worst(&self) -> Option<Margin> {
        self.state.worst()
    }

    /// The row of a level.
    pub fn of(&self, set_point: SetPoint) -> Option<&Limits> {
        self.set_points.iter().find(|l| l.set_point == set_point)
    }
}

/// A site with its state and the rules that do not pass in it.
struct Search<'a> {
    drawn: &'a Drawn,
    state: &'a State,
    broken: Vec<Broken>,
}

impl Search<'_> {
    /// The row of one level.
    fn limits(
        &self,
        set_point: SetPoint,
        back: Option<Length>,
        units: UnitSystem,
    ) -> Result<Limits, NotSolved> {
        let level = self.drawn.level(set_point);
        let effect = Effect {
            if_low: self.effect(set_point, -0.001),
            if_high: self.effect(set_point, 0.001),
        };
        let (lowest, low_stop) = self.stop(set_point, -1.0)?;
        let (highest, high_stop) = self.stop(set_point, 1.0)?;
        let mend = if self.state.passes() {
            None
        } else {
            mend::nearest(self.drawn, self.state, &self.broken, set_point, back, units)?
        };
        Ok(Limits { set_point, level, lowest, highest, low_stop, high_stop, mend, effect })
    }

    /// How far a level may go one way by the verdict, and what stops it first.
    fn stop(
        &self,
        set_point: SetPoint,
        sign: f64,
    ) -> Result<(Option<Length>, Option<Stop>), NotSolved> {
        if !self.state.passes() {
            return Ok((None, None));
        }
        let level = self.drawn.level(set_point);
        let (low, high) = set_point.valid(&self.drawn.network);
        let reach_m = if sign < 0.0 { level.to_m() - low } else { high - level.to_m() };
        let moved = |distance_m: f64| level + Length::m(sign * distance_m);
        let edge = if set_point.bears_on_the_storm() {
            limit::farthest(self.state.slack_m(), reach_m, |distance_m| {
                self.drawn.attempt(&[(set_point, moved(distance_m))])
            })?
        } else {
            None
        };
        // Short of the verdict's own limit: a rule that says the same stops at the same place.
        let before_m = edge.as_ref().map_or(reach_m, |e| e.at_m) - limit::SAME_PLACE_M;
        let by_rule = limit::unturned(before_m, |distance_m| {
            self.drawn.turns(&[(set_point, moved(distance_m))], &self.broken)
        });
        let limit = edge.as_ref().map(|e| moved(e.at_m));
        let stop = match (by_rule, edge) {
            (Some((at_m, broken)), _) => {
                Some(Stop { level: moved(at_m), by: By::Rule(broken.rule), at: broken.at })
            }
            (None, Some(edge)) => Some(self.by_verdict(moved(edge.at_m), &edge.failed)),
            (None, None) => None,
        };
        Ok((limit, stop))
    }

    fn by_verdict(&self, level: Length, failed: &Trial) -> Stop {
        let failure = match failed {
            Trial::Solved(state) => state.verdict.worst_failure(),
            Trial::Invalid | Trial::Unsolved(_) => None,
        };
        let by = By::Verdict(failure.map(|f| f.cause()));
        let at = failure.map_or("", |f| f.tag(&self.drawn.network)).to_owned();
        Stop { level, by, at }
    }

    /// By how much the worst margin changes when a level moves; nothing where that is no valid
    /// network.
    fn effect(&self, set_point: SetPoint, move_m: f64) -> Length {
        if !set_point.bears_on_the_storm() || self.state.verdict.margins.is_empty() {
            return Length::ZERO;
        }
        let level = self.drawn.level(set_point) + Length::m(move_m);
        match self.drawn.attempt(&[(set_point, level)]) {
            Trial::Solved(moved) => {
                let margin_m = |state: &State| state.verdict.least_margin_m();
                Length::m(margin_m(&moved) - margin_m(self.state))
            }
            Trial::Invalid | Trial::Unsolved(_) => Length::ZERO,
        }
    }
}

fn watertight(drawn: &Drawn, state: &State) -> Vec<Length> {
    let asked = state.verdict.asked;
    let each = drawn.network.downspouts().iter().zip(&state.steady.downspouts);
    each.map(|(downspout, state)| {
        let to_m = (state.standing_level + asked).to_m();
        Length::m(to_m.min(downspout.opening().to_m()))
    })
    .collect()
}
