//! A network as drawn, its margins in the storm, and its margins with levels moved.

use super::set_point::{OwnEnds, SetPoint};
use wetrun_network::{DownspoutId, Network, Parts, Problem};
use wetrun_solver::{NotSolved, Scenario, Steady};
use wetrun_units::Length;

/// Levels closer than this count as equal, as they do in the rules that judge a design.
pub(crate) const SAME_M: f64 = 1e-9;
/// Spill smaller than this fraction of the total demand is the solver's rounding.
const ROUNDING: f64 = 1e-8;
/// What a downspout that spills is short of at the least.
const SPILL_M: f64 = 1e-6;

/// A site as drawn, with what counts as enough.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// The network.
    pub network: Network,
    /// The storm.
    pub scenario: Scenario,
    /// How far the standing level must stay below every opening.
    pub freeboard: Length,
    /// Which line ends have levels of their own.
    pub own_ends: OwnEnds,
}

/// The downspout with the least margin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margin {
    /// The downspout.
    pub at: DownspoutId,
    /// Its headroom less the freeboard asked for.
    pub margin: Length,
    /// Whether water leaves it.
    pub spills: bool,
}

/// A solved state, and what is left at each downspout.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// The steady state.
    pub steady: Steady,
    /// For each downspout its margin.
    pub margins: Vec<Margin>,
}

impl State {
    /// The worst of the margins: one that spills before one that does not, then the least.
    /// `None` where there is no downspout.
    pub fn worst(&self) -> Option<Margin> {
        let rank = |m: &Margin| (!m.spills, m.margin.to_m());
        self.margins.iter().copied().min_by(|a, b| {
            let (a, b) = (rank(a), rank(b));
            a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
        })
    }

    /// Whether every downspout keeps its freeboard and nothing spills.
    pub fn passes(&self) -> bool {
        self.slack_m() >= 0.0
    }

    /// The least slack: negative exactly where the state does not pass.
    pub(crate) fn slack_m(&self) -> f64 {
        self.margins.iter().map(Margin::slack_m).fold(f64::INFINITY, f64::min)
    }

    /// The least margin in metres, infinite where there is no downspout.
    pub(crate) fn least_m(&self) -> f64 {
        self.margins.iter().map(|m| m.margin.to_m()).fold(f64::INFINITY, f64::min)
    }
}

impl Margin {
    /// How much is left; negative exactly where the downspout fails.
    pub(crate) fn slack_m(&self) -> f64 {
        let slack_m = self.margin.to_m() + SAME_M;
        if self.spills { slack_m.min(-SPILL_M) } else { slack_m }
    }
}

/// What came of a network with levels moved.
pub(crate) enum Trial {
    /// It was solved.
    Solved(State),
    /// The levels contradict each other.
    Invalid,
    /// No steady state was found.
    Unsolved(NotSolved),
}

impl Trial {
    /// The least slack, or `None` where there is no state.
    pub(crate) fn slack_m(&self) -> Option<f64> {
        match self {
            Self::Solved(state) => Some(state.slack_m()),
            Self::Invalid | Self::Unsolved(_) => None,
        }
    }
}

impl Drawn {
    /// Solves it as it is.
    ///
    /// # Errors
    /// [`NotSolved`] where no steady state was found.
    pub fn state(&self) -> Result<State, NotSolved> {
        self.judge(&self.network)
    }

    /// The same with some levels moved, and with all that moves with them.
    ///
    /// # Errors
    /// What is wrong with the levels, where they contradict each other.
    pub fn with(&self, moves: &[(SetPoint, Length)]) -> Result<Self, Vec<Problem>> {
        let mut parts = self.network.to_parts();
        self.put(&mut parts, moves);
        let network = Network::build(parts)?;
        Ok(Self { network, own_ends: self.own_ends.clone(), ..*self })
    }

    /// Tries some levels.
    pub(crate) fn attempt(&self, moves: &[(SetPoint, Length)]) -> Trial {
        let mut parts = self.network.to_parts();
        self.put(&mut parts, moves);
        match Network::build(parts) {
            Err(_) => Trial::Invalid,
            Ok(network) => match self.judge(&network) {
                Ok(state) => Trial::Solved(state),
                Err(failed) => Trial::Unsolved(failed),
            },
        }
    }

    /// Every level that somebody sets.
    pub fn set_points(&self) -> Vec<SetPoint> {
        super::set_point::set_points(&self.network, &self.own_ends)
    }

    fn put(&self, parts: &mut Parts, moves: &[(SetPoint, Length)]) {
        for (set_point, level) in moves {
            set_point.put(parts, &self.own_ends, *level);
        }
    }

    fn judge(&self, network: &Network) -> Result<State, NotSolved> {
        let steady = wetrun_solver::solve(network, &self.scenario)?;
        let total: f64 = steady.downspouts.iter().map(|d| d.demand.to_m3_per_s()).sum();
        let margin = |(index, state): (usize, &wetrun_solver::DownspoutState)| Margin {
            at: DownspoutId::new(index),
            margin: state.headroom - self.freeboard,
            spills: state.spilled.to_m3_per_s() > total * ROUNDING,
        };
        let margins = steady.downspouts.iter().enumerate().map(margin).collect();
        Ok(State { steady, margins })
    }
}
