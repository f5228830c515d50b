//! A network prepared for one scenario: what its steady state and its spill rains share.

use crate::model::Model;
use crate::report;
use crate::rest::Rest;
use crate::scenario::Scenario;
use crate::spill;
use crate::state::{NotSolved, SpillRains, Steady};
use crate::steady::Solver;
use std::sync::Arc;
use wetrun_network::Network;
use wetrun_units::Intensity;

/// A network prepared for a scenario: friction laws worked out for every pipe, lines ordered from
/// the tanks outward, levels between storms known.
pub struct Prepared<'a> {
    network: &'a Network,
    scenario: Scenario,
    solver: Solver,
    rest: Arc<Rest>,
}

impl<'a> Prepared<'a> {
    /// Prepares a network for a scenario.
    pub fn new(network: &'a Network, scenario: &Scenario) -> Self {
        let solver = Solver::new(Model::new(network, scenario));
        let rest = Arc::new(Rest::new(network, &solver.model, &solver.forest));
        Self { network, scenario: *scenario, solver, rest }
    }

    /// The steady state, as [`solve`](crate::solve) gives it.
    ///
    /// # Errors
    /// As [`solve`](crate::solve).
    pub fn steady(&mut self) -> Result<Steady, NotSolved> {
        match self.solver.solve(None) {
            Ok(solved) => Ok(report::steady(self.network, &self.solver.model, &self.rest, &solved)),
            Err(failed) => Err(report::failed(self.network, &self.solver.model, &failed)),
        }
    }

    /// Where water stands between storms.
    pub fn rest(&self) -> &Rest {
        &self.rest
    }

    /// The rains at which water first leaves, as [`spill_rains`](crate::spill_rains) gives them.
    ///
    /// # Errors
    /// As [`spill_rains`](crate::spill_rains).
    pub fn spill_rains(self) -> Result<SpillRains, NotSolved> {
        let mut solver = self.solver;
        let factors = match spill::factors(&mut solver) {
            Ok(factors) => factors,
            Err(failed) => return Err(report::failed(self.network, &solver.model, &failed)),
        };
        let times = |factor: f64| Intensity::m_per_s(factor * self.scenario.intensity.to_m_per_s());
        let mut rains = factors.into_iter().map(|factor| factor.map(times));
        let (downspouts, lips) = (solver.model.downspouts, solver.model.lips.len());
        Ok(SpillRains {
            downspouts: rains.by_ref().take(downspouts).collect(),
            openings: rains.by_ref().take(lips - downspouts).collect(),
            rims: rains.collect(),
        })
    }
}
