//! The solved state: levels and flows that travel with their residuals.

use crate::rest::Rest;
use crate::routes::Routes;
use crate::scenario::FrictionLaw;
use std::sync::Arc;
use thiserror::Error;
use wetrun_network::{PointId, Problem};
use wetrun_units::{Flow, Intensity, Length, Speed};

/// A steady state. Everything is in file order, as in the network it was solved for.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Steady {
    /// One for each downspout.
    pub downspouts: Vec<DownspoutState>,
    /// One for each line.
    pub lines: Vec<LineState>,
    /// One for each point.
    pub points: Vec<PointState>,
    /// One for each tank.
    pub tanks: Vec<TankLevels>,
    /// One for each opening at a point, as [`wetrun_network::Network::openings`] has them.
    pub openings: Vec<OpeningState>,
    /// The way to a tank from every downspout.
    pub routes: Routes,
    /// Where water stands between storms.
    pub rest: Arc<Rest>,
    /// How closely the equations hold.
    pub residuals: Residuals,
}

/// A downspout in the steady state.
#[derive(Clone, Debug, PartialEq)]
pub struct DownspoutState {
    /// Rain that falls on its roofs.
    pub demand: Flow,
    /// What it takes; negative where water comes out of it.
    pub admitted: Flow,
    /// Demand less admitted.
    pub spilled: Flow,
    /// Level of a still surface in it.
    pub standing_level: Length,
    /// Opening (gutter outlet or leaf head) less standing level.
    pub headroom: Length,
    /// Total head at its foot.
    pub foot_head: Length,
    /// Head lost to friction between the standing level and the foot.
    pub friction_loss: Length,
    /// Head lost in its fittings.
    pub fitting_loss: Length,
}

/// A line in the steady state. Signed quantities are positive from `from` to `to`.
#[derive(Clone, Debug, PartialEq)]
pub struct LineState {
    /// Flow.
    pub flow: Flow,
    /// Mean speed over the full bore.
    pub velocity: Speed,
    /// Reynolds number, never negative.
    pub reynolds: f64,
    /// Head lost to friction (over the full stretches only, where the line is broken).
    pub friction_loss: Length,
    /// Head lost in fittings, the combining loss of a wye or tee at its end included.
    pub fitting_loss: Length,
    /// Total head at the start.
    pub from_head: Length,
    /// Total head at the finish.
    pub to_head: Length,
    /// What a wye or tee at the start and at the finish adds to the head there, as the line sees it.
    pub junction_heads: [Length; 2],
    /// Whether a high invert breaks the full pipe somewhere along it.
    pub broken: bool,
}

/// A point in the steady state.
#[derive(Clone, Debug, PartialEq)]
pub struct PointState {
    /// Total head.
    pub head: Length,
}

/// A tank in the steady state.
#[derive(Clone, Debug, PartialEq)]
pub struct TankLevels {
    /// Net flow of its lines plus what overflows into it; negative where it feeds a line.
    pub inflow: Flow,
    /// What leaves through its overflow.
    pub overflow: Flow,
    /// What runs over its rim.
    pub over_rim: Flow,
    /// Water level; `None` where the tank stands empty.
    pub water_level: Option<Length>,
}

/// A vent or an open cap in the steady state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OpeningState {
    /// The point where it is.
    pub at: PointId,
    /// Its level less the head at the point; zero where water escapes.
    pub headroom: Length,
    /// What comes out of it.
    pub escapes: Flow,
}

/// The rains at which water first leaves, when the rain on all roofs grows together; `None` where
/// no rain up to ten times the scenario's does it.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct SpillRains {
    /// At each downspout.
    pub downspouts: Vec<Option<Intensity>>,
    /// At each opening of a point, as [`wetrun_network::Network::openings`] has them.
    pub openings: Vec<Option<Intensity>>,
    /// Over each tank's rim.
    pub rims: Vec<Option<Intensity>>,
}

impl SpillRains {
    /// No rain was looked for.
    pub const NONE: Self = Self { downspouts: Vec::new(), openings: Vec::new(), rims: Vec::new() };

    /// Whether they were looked for.
    pub fn looked_for(&self) -> bool {
        *self != Self::NONE
    }
}

/// How closely the equations hold in a solved state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Residuals {
    /// Newton steps taken, those of searches that led nowhere included.
    pub iterations: u32,
    /// Largest imbalance at any point, as a fraction of the total demand.
    pub continuity: f64,
    /// Largest error of any head equation.
    pub head: Length,
}

/// A pipe lacks what the friction law in use needs.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("the pipe of `{tag}` gives no {}, which {} needs", self.needs()[0], self.needs()[1])]
#[non_exhaustive]
pub struct PipeLacks {
    /// The downspout or line whose pipe it is.
    pub tag: String,
    /// The law.
    pub law: FrictionLaw,
}

impl PipeLacks {
    fn needs(&self) -> [&'static str; 2] {
        match self.law {
            FrictionLaw::DarcyWeisbach => ["roughness", "Darcy-Weisbach"],
            FrictionLaw::HazenWilliams => ["C", "Hazen-Williams"],
        }
    }
}

/// A part is not taken in the place of another.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum NotTaken {
    /// Its pipe lacks what the friction law in use needs.
    #[error(transparent)]
    Lacks(#[from] PipeLacks),
    /// It would make no network.
    #[error("{}", words(.0))]
    Problems(Vec<Problem>),
}

impl From<Vec<Problem>> for NotTaken {
    fn from(problems: Vec<Problem>) -> Self {
        Self::Problems(problems)
    }
}

fn words(problems: &[Problem]) -> String {
    problems.iter().map(Problem::to_string).collect::<Vec<_>>().join("; ")
}

/// There is no steady state to report.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum NotSolved {
    /// A pipe lacks what the friction law in use needs.
    #[error(transparent)]
    Lacks(#[from] PipeLacks),
    /// The search ended without a state.
    #[error(
        "no steady state found in {iterations} steps: the worst equation is at `{tag}` (heads miss by up to {worst_m:.1e} m, flows by up to {worst_share:.1e} of the demand)"
    )]
    #[non_exhaustive]
    Unfinished {
        /// The point, downspout, tank or line whose equation is furthest off.
        tag: String,
        /// The largest error of any head equation, m.
        worst_m: f64,
        /// The largest imbalance at any point, as a fraction of the total demand.
        worst_share: f64,
        /// Steps taken.
        iterations: u32,
    },
}
