//! The laws of flow, and the steady state driven by head difference.
//!
//! [`solve`] finds the flows and heads at which every line, downspout, tank and crest obeys its
//! law and no water is lost; [`spill_rains`] finds the rain at which water first leaves each downspout, each
//! opening of a point and each tank's rim.
//! [`Prepared`] does both with one preparation.

mod coupling;
mod elimination;
mod flood;
mod gap;
mod incidence;
mod junction;
pub mod laws;
mod line;
mod linear;
mod lip;
mod model;
mod newton;
mod passage;
mod polish;
mod prepared;
mod report;
mod rest;
mod routes;
mod scenario;
mod spill;
mod state;
mod steady;
mod still;
mod tangent;
mod tank;
mod tree;

pub use passage::{GradePoint, Passage, friction, grade_line};
pub use prepared::Prepared;
pub use rest::{Rest, StandingWater};
pub use routes::{Route, Routes};
pub use scenario::{FrictionLaw, Scenario, TankState};
pub use spill::RAINS_UP_TO;
pub use state::{
    DownspoutState, LineState, NotSolved, OpeningState, PointState, Residuals, SpillRains, Steady,
    TankLevels,
};

use wetrun_network::Network;

/// Finds the steady state of a network.
///
/// # Errors
/// [`NotSolved`] where the search ends without a state that satisfies continuity to 1e-9 of the
/// total demand and every head equation to 1e-7 m; it names the worst equation.
pub fn solve(network: &Network, scenario: &Scenario) -> Result<Steady, NotSolved> {
    Prepared::new(network, scenario).steady()
}

/// The intensities at which water first leaves each downspout, each opening and each tank's rim when
/// the rain on all roofs grows together, to 0.1 %.
///
/// # Errors
/// [`NotSolved`] where a steady state on the way was not found.
pub fn spill_rains(network: &Network, scenario: &Scenario) -> Result<SpillRains, NotSolved> {
    Prepared::new(network, scenario).spill_rains()
}
