//! The one verdict on a solved network: what fails, and which cause is worst.
//!
//! Whoever says that a site holds says it with a [`Verdict`]: the check, the sheet, the level
//! schedule, the sizes and the comparison. Nothing else decides it, and nobody reads it back from
//! the words of a rule.

mod failure;
mod outcome;
mod rain;

pub use failure::{Cause, Failure};
pub use outcome::Outcome;
pub use rain::first_rain;

use wetrun_network::{DownspoutId, Network, PointId, TankId};
use wetrun_solver::Steady;
use wetrun_units::{Flow, Length};

/// Levels closer than this count as equal, in metres.
pub const SAME_M: f64 = 1e-9;

/// A flow below this share of the total demand is what rounding left over.
const ROUNDING: f64 = 1e-8;

/// Stands for the total demand where nothing rains, in m³/s.
const TRICKLE_M3_PER_S: f64 = 1e-4;

/// What a place that lets water out is short of at the least, in metres: room that is gone.
const GONE_M: f64 = 1e-6;

/// Decides whether a state of a network holds: the judgement that a search over states is given.
pub type Judge<'a> = &'a (dyn Fn(&Network, &Steady) -> Verdict + Sync);

/// A flow that leaves where it should not, once it is more than rounding.
///
/// `total` is the demand of all downspouts together.
pub fn leaves(flow: Flow, total: Flow) -> bool {
    let total = total.to_m3_per_s();
    let scale = if total > 0.0 { total } else { TRICKLE_M3_PER_S };
    flow.to_m3_per_s() > scale * ROUNDING
}

/// Whether a headroom lacks of the freeboard asked for.
pub fn lacks(headroom: Length, asked: Length) -> bool {
    (headroom - asked).to_m() < -SAME_M
}

/// What a state comes to.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Verdict {
    /// How far the standing level was asked to stay below every opening of a downspout.
    pub asked: Length,
    /// One for each downspout, in the network's order.
    pub margins: Vec<Margin>,
    /// One for each opening at a point, in the network's order.
    pub openings: Vec<Room>,
    /// One for each tank, in the network's order.
    pub tanks: Vec<Room>,
    /// What fails, the worst first.
    failures: Vec<Failure>,
}

/// What is left at a downspout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margin {
    /// The downspout.
    pub at: DownspoutId,
    /// Its headroom less the freeboard asked for.
    pub margin: Length,
    /// Whether water leaves it.
    pub spills: bool,
}

/// What is left below an opening at a point, or below the rim of a tank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// How far the water stays below; `None` where nothing there can be passed.
    pub left: Option<Length>,
    /// Whether water leaves there.
    pub leaves: bool,
}

impl Margin {
    /// Whether the freeboard is lacking.
    pub fn lacks(&self) -> bool {
        lacks(self.margin, Length::ZERO)
    }

    /// How much is left, in metres; negative exactly where the downspout fails.
    pub fn slack_m(&self) -> f64 {
        slack_m(self.margin.to_m(), self.spills)
    }
}

impl Room {
    /// How much is left, in metres; negative exactly where water leaves.
    pub fn slack_m(&self) -> f64 {
        slack_m(self.left.map_or(f64::INFINITY, |left| left.to_m().max(0.0)), self.leaves)
    }
}

fn slack_m(left_m: f64, leaves: bool) -> f64 {
    let slack_m = left_m + SAME_M;
    if leaves { slack_m.min(-GONE_M) } else { slack_m }
}

impl Verdict {
    /// Judges what the hydraulics say: freeboard and spill at every downspout, every opening, and
    /// every tank's rim. What gutters cannot carry is added by [`Verdict::with`].
    pub fn new(network: &Network, steady: &Steady, asked: Length) -> Self {
        let total = steady.downspouts.iter().fold(Flow::ZERO, |sum, d| sum + d.demand);
        let mut failures = Vec::new();
        let mut margins = Vec::with_capacity(steady.downspouts.len());
        for (index, state) in steady.downspouts.iter().enumerate() {
            let at = DownspoutId::new(index);
            let spills = leaves(state.spilled, total);
            let margin = Margin { at, margin: state.headroom - asked, spills };
            if spills {
                failures.push(Failure::Spills { at, spilled: state.spilled });
            }
            if margin.lacks() {
                failures.push(Failure::Freeboard { at, headroom: state.headroom, asked });
            }
            margins.push(margin);
        }
        let openings = steady.openings.iter().map(|state| {
            let out = leaves(state.escapes, total);
            if out {
                failures.push(Failure::Escapes { at: state.at, escapes: state.escapes });
            }
            Room { left: Some(state.headroom), leaves: out }
        });
        let openings = openings.collect();
        let tanks = network.tanks().iter().zip(&steady.tanks).enumerate();
        let tanks = tanks.map(|(index, (tank, state))| {
            let out = leaves(state.over_rim, total);
            if out {
                let at = TankId::new(index);
                failures.push(Failure::OverRim { at, over: state.over_rim });
            }
            let left = tank.rim.zip(state.water_level).map(|(rim, level)| rim - level);
            Room { left, leaves: out }
        });
        let tanks = tanks.collect();
        let mut verdict = Self { asked, margins, openings, tanks, failures };
        verdict.sort();
        verdict
    }

    /// The same with what else fails.
    pub fn with(mut self, more: impl IntoIterator<Item = Failure>) -> Self {
        self.failures.extend(more);
        self.sort();
        self
    }

    /// The worst first; alike ones keep the order of the network.
    fn sort(&mut self) {
        self.failures.sort_by(Failure::worse_first);
    }

    /// Whether nothing fails.
    pub fn holds(&self) -> bool {
        self.failures.is_empty()
    }

    /// What fails, the worst first.
    pub fn failures(&self) -> &[Failure] {
        &self.failures
    }

    /// The worst of what fails.
    pub fn worst_failure(&self) -> Option<&Failure> {
        self.failures.first()
    }

    /// The downspout with the least left: one that spills before one that does not. `None` where
    /// there is no downspout.
    pub fn tightest(&self) -> Option<Margin> {
        self.margins.iter().copied().min_by(|a, b| {
            (b.spills.cmp(&a.spills)).then(a.margin.to_m().total_cmp(&b.margin.to_m()))
        })
    }

    /// What fails at a downspout.
    pub fn at_downspout(&self, id: DownspoutId) -> impl Iterator<Item = &Failure> + '_ {
        self.failures.iter().filter(move |failure| failure.downspout() == Some(id))
    }

    /// Whether water escapes at a point.
    pub fn escapes_at(&self, id: PointId) -> bool {
        self.failures.iter().any(|f| matches!(f, Failure::Escapes { at, .. } if *at == id))
    }

    /// Whether water runs over a tank's rim.
    pub fn over_rim_at(&self, id: TankId) -> bool {
        self.failures.iter().any(|f| matches!(f, Failure::OverRim { at, .. } if *at == id))
    }

    /// The least that is left anywhere, in metres: negative exactly where the verdict fails. For
    /// searches that close in on a limit.
    pub fn slack_m(&self) -> f64 {
        let margins = self.margins.iter().map(Margin::slack_m);
        let rooms = self.openings.iter().chain(&self.tanks).map(Room::slack_m);
        let least_m = margins.chain(rooms).fold(f64::INFINITY, f64::min);
        if self.holds() { least_m } else { least_m.min(-GONE_M) }
    }

    /// The least margin of a downspout, in metres; infinite where there is none.
    pub fn least_margin_m(&self) -> f64 {
        self.margins.iter().map(|m| m.margin.to_m()).fold(f64::INFINITY, f64::min)
    }
}
