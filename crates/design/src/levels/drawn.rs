//! A network as drawn, its verdict in the storm, and its verdict with levels moved.

use super::judgement::{Broken, Judgement, turned};
use super::set_point::{OwnEnds, PointLevels, SetPoint};
use std::sync::Arc;
use wetrun_network::{Network, Problem};
use wetrun_solver::{NotSolved, Scenario, Steady};
use wetrun_units::Length;
use wetrun_verdict::{Margin, Verdict};

/// A site as drawn, with what judges it.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// The network.
    pub network: Network,
    /// The storm.
    pub scenario: Scenario,
    /// Which line ends have levels of their own.
    pub own_ends: OwnEnds,
    /// What stands at each point besides its invert, in the network's order.
    pub points: Vec<PointLevels>,
    /// What judges its states.
    pub judge: Arc<dyn Judgement>,
}

/// A solved state and its verdict.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// The steady state.
    pub steady: Steady,
    /// What it comes to.
    pub verdict: Verdict,
}

impl State {
    /// The downspout with the least left; `None` where there is no downspout.
    pub fn worst(&self) -> Option<Margin> {
        self.verdict.tightest()
    }

    /// Whether everything holds.
    pub fn passes(&self) -> bool {
        self.verdict.holds()
    }

    /// The least slack: negative exactly where the state does not pass.
    pub(crate) fn slack_m(&self) -> f64 {
        self.verdict.slack_m()
    }
}

/// What came of a network with levels moved.
pub(crate) enum Trial {
    /// It was solved.
    Solved(Box<State>),
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
        let steady = wetrun_solver::solve(&self.network, &self.scenario)?;
        let verdict = self.judge.verdict(&self.network, &steady);
        Ok(State { steady, verdict })
    }

    /// The same with some levels moved, and with all that moves with them.
    ///
    /// # Errors
    /// What is wrong with the levels, where they contradict each other.
    pub fn with(&self, moves: &[(SetPoint, Length)]) -> Result<Self, Vec<Problem>> {
        let mut parts = self.network.to_parts();
        let mut points = self.points.clone();
        for (set_point, level) in moves {
            set_point.put(&mut parts, &mut points, &self.own_ends, *level);
        }
        let network = Network::build(parts)?;
        let (own_ends, judge) = (self.own_ends.clone(), Arc::clone(&self.judge));
        Ok(Self { network, scenario: self.scenario, own_ends, points, judge })
    }

    /// Tries some levels.
    pub(crate) fn attempt(&self, moves: &[(SetPoint, Length)]) -> Trial {
        match self.with(moves).map(|moved| moved.state()) {
            Err(_) => Trial::Invalid,
            Ok(Ok(state)) => Trial::Solved(Box::new(state)),
            Ok(Err(failed)) => Trial::Unsolved(failed),
        }
    }

    /// Every level that somebody sets.
    pub fn set_points(&self) -> Vec<SetPoint> {
        super::set_point::set_points(&self.network, &self.own_ends, &self.points)
    }

    /// Where a level is drawn.
    pub fn level(&self, set_point: SetPoint) -> Length {
        set_point.level(&self.network, &self.points)
    }

    /// The rules that can turn by levels and do not pass in a state of it.
    pub fn broken(&self, state: &State) -> Vec<Broken> {
        self.judge.broken(self, &state.steady)
    }

    /// Which rules turn where some levels move, other than those `before`; `None` where that
    /// makes no network, or one without a steady state.
    pub fn turns(&self, moves: &[(SetPoint, Length)], before: &[Broken]) -> Option<Vec<Broken>> {
        let moved = self.with(moves).ok()?;
        let state = moved.state().ok()?;
        Some(turned(before, &moved.broken(&state)))
    }
}
