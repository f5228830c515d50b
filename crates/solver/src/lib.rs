//! The laws of flow, and the steady state driven by head difference.
//!
//! [`solve`] finds the flows and heads at which every line, downspout, tank and crest obeys its
//! law and no water is lost; [`spill_rain`] finds the rain at which each downspout first spills.

mod coupling;
mod downspout;
mod gap;
mod incidence;
mod junction;
pub mod laws;
mod line;
mod linear;
mod model;
mod newton;
mod polish;
mod report;
mod routes;
mod scenario;
mod spill;
mod state;
mod steady;
mod still;
mod tree;

pub use routes::{Route, Routes};
pub use scenario::{FrictionLaw, Scenario, TankState};
pub use spill::spill_rain;
pub use state::{DownspoutState, LineState, NotSolved, PointState, Residuals, Steady, TankLevels};

use wetrun_network::Network;

/// Finds the steady state of a network.
///
/// # Errors
/// [`NotSolved`] where the search ends without a state that satisfies continuity to 1e-9 of the
/// total demand and every head equation to 1e-7 m; it names the worst equation.
pub fn solve(network: &Network, scenario: &Scenario) -> Result<Steady, NotSolved> {
    let mut solver = steady::Solver::new(model::Model::new(network, scenario));
    match solver.solve(None) {
        Ok(solved) => Ok(report::steady(network, &solver.model, &solved)),
        Err(failed) => Err(report::failed(network, &failed)),
    }
}
