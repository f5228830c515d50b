//! A network prepared for one scenario: what its steady state and its spill rains share.

use crate::model::Model;
use crate::report;
use crate::scenario::Scenario;
use crate::spill;
use crate::state::{NotSolved, SpillRains, Steady};
use crate::steady::Solver;
use crate::still;
use wetrun_network::Network;
use wetrun_units::{Intensity, Length};

/// A network prepared for a scenario: friction laws worked out for every pipe, lines ordered from
/// the tanks outward, levels between storms known.
pub struct Prepared<'a> {
    network: &'a Network,
    scenario: Scenario,
    solver: Solver,
    /// For each point the level at which water stands between storms.
    rest: Vec<Option<Length>>,
}

impl<'a> Prepared<'a> {
    /// Prepares a network for a scenario.
    pub fn new(network: &'a Network, scenario: &Scenario) -> Self {
        let solver = Solver::new(Model::new(network, scenario));
        let rest = rest_levels(network, &solver);
        Self { network, scenario: *scenario, solver, rest }
    }

    /// The steady state, as [`solve`](crate::solve) gives it.
    ///
    /// # Errors
    /// As [`solve`](crate::solve).
    pub fn steady(&mut self) -> Result<Steady, NotSolved> {
        match self.solver.solve(None) {
            Ok(solved) => Ok(report::steady(self.network, &self.solver.model, &self.rest, &solved)),
            Err(failed) => Err(report::failed(self.network, &failed)),
        }
    }

    /// The rains at which water first leaves, as [`spill_rains`](crate::spill_rains) gives them.
    ///
    /// # Errors
    /// As [`spill_rains`](crate::spill_rains).
    pub fn spill_rains(self) -> Result<SpillRains, NotSolved> {
        let factors =
            spill::factors(self.solver).map_err(|failed| report::failed(self.network, &failed))?;
        let times = |factor: f64| Intensity::m_per_s(factor * self.scenario.intensity.to_m_per_s());
        Ok(SpillRains {
            downspouts: factors.into_iter().map(|factor| factor.map(times)).collect(),
            openings: vec![None; self.network.openings().count()],
            rims: vec![None; self.network.tanks().len()],
        })
    }
}

fn rest_levels(network: &Network, solver: &Solver) -> Vec<Option<Length>> {
    let model = &solver.model;
    let mut own_level = vec![f64::NEG_INFINITY; network.downspouts().len()];
    own_level.extend(network.points().iter().map(|p| p.level.to_m() - model.reference_m));
    (still::rest_levels(model, &solver.forest, &own_level)
        .into_iter()
        .skip(network.downspouts().len()))
    .map(|rest| rest.map(|r| Length::m(r + model.reference_m)))
    .collect()
}
