//! A network prepared for one scenario: what its steady state and its spill rains share.

use crate::model::Model;
use crate::report;
use crate::rest::Rest;
use crate::scenario::Scenario;
use crate::settings::Settings;
use crate::spill;
use crate::state::{NotSolved, PipeLacks, SpillRains, Steady};
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
    ///
    /// # Errors
    /// [`PipeLacks`] where a pipe lacks what the scenario's friction law needs.
    pub fn new(network: &'a Network, scenario: &Scenario) -> Result<Self, PipeLacks> {
        Self::with(network, scenario, Settings::default())
    }

    /// The same with settings of the search.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn with(
        network: &'a Network,
        scenario: &Scenario,
        settings: Settings,
    ) -> Result<Self, PipeLacks> {
        let solver = Solver::new(Model::new(network, scenario)?, settings);
        let rest = Arc::new(Rest::new(network, &solver.model, &solver.forest));
        Ok(Self { network, scenario: *scenario, solver, rest })
    }

    /// The steady state, as [`solve`](crate::solve) gives it.
    ///
    /// # Errors
    /// As [`solve`](crate::solve).
    pub fn steady(&mut self) -> Result<Steady, NotSolved> {
        match self.solver.solve(None) {
            Ok(solved) => {
                let steps = self.solver.steps();
                Ok(report::steady(self.network, &self.solver.model, &self.rest, &solved, steps))
            }
            Err(failed) => Err(report::failed(self.network, &self.solver, &failed)),
        }
    }

    /// How often the searches so far had to fall back on another way than their own.
    pub fn fallbacks(&self) -> u32 {
        self.solver.fallbacks
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
            Err(failed) => return Err(report::failed(self.network, &solver, &failed)),
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
