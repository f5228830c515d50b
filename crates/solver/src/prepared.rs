//! A network prepared for one scenario: what its steady state and its spill rains share.

use crate::model::Model;
use crate::report;
use crate::rest::Rest;
use crate::scenario::Scenario;
use crate::settings::Settings;
use crate::spill;
use crate::state::{NotSolved, NotTaken, PipeLacks, SpillRains, Steady};
use crate::steady::Solver;
use std::borrow::Cow;
use std::sync::Arc;
use wetrun_network::{Downspout, DownspoutId, Line, LineId, Network, Point, PointId, Tank, TankId};
use wetrun_units::Intensity;

/// A network prepared for a scenario: friction laws worked out for every pipe, lines ordered from
/// the tanks outward, levels between storms known.
///
/// Its parts may be changed, as long as they join what they joined: what it then answers is what one
/// prepared anew does, to the last digit. The network it was made of stays as it was. What sets a part
/// panics where the network has none of that id.
pub struct Prepared<'a> {
    network: Cow<'a, Network>,
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
        let network = Cow::Borrowed(network);
        Ok(Self { network, scenario: *scenario, solver, rest })
    }

    /// The network as it is now.
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// Puts lines in the place of those with the same tags and ends.
    ///
    /// # Errors
    /// [`NotTaken`] for the first that is not taken; those before it are, and no others.
    pub fn set_lines(
        &mut self,
        lines: impl IntoIterator<Item = (LineId, Line)>,
    ) -> Result<(), NotTaken> {
        let mut taken = Vec::new();
        let outcome = lines.into_iter().try_for_each(|(id, line)| {
            let model = &self.solver.model;
            let ends = model.lines[id.index()].ends;
            let prepared = model.measure.line(&line, ends)?;
            self.network.to_mut().set_line(id, line)?;
            taken.push((id.index(), prepared));
            Ok(())
        });
        self.solver.model.set_lines(&self.network, taken);
        self.changed();
        outcome
    }

    /// Puts a downspout in the place of one with the same tag. Water enters at downspouts alone: what
    /// flows in at a place is the catchment given here, in the rain.
    ///
    /// # Errors
    /// [`NotTaken`]; then all stays as it is.
    pub fn set_downspout(&mut self, id: DownspoutId, downspout: Downspout) -> Result<(), NotTaken> {
        let lip = self.solver.model.measure.downspout(&downspout, self.scenario.intensity)?;
        self.network.to_mut().set_downspout(id, downspout)?;
        self.solver.model.set_downspout(id.index(), lip);
        self.changed();
        Ok(())
    }

    /// Puts a point in the place of one with the same tag and branch, that opens or does not as well.
    ///
    /// # Errors
    /// As [`Self::set_downspout`].
    pub fn set_point(&mut self, id: PointId, point: Point) -> Result<(), NotTaken> {
        self.network.to_mut().set_point(id, point)?;
        self.measure_anew()
    }

    /// Puts a tank in the place of one with the same tag, which overflows into the same.
    ///
    /// # Errors
    /// As [`Self::set_downspout`].
    pub fn set_tank(&mut self, id: TankId, tank: Tank) -> Result<(), NotTaken> {
        self.network.to_mut().set_tank(id, tank)?;
        self.measure_anew()
    }

    /// Sets the rain on all roofs, 0 or more.
    pub fn set_intensity(&mut self, intensity: Intensity) {
        self.scenario.intensity = intensity;
        let downspouts = self.network.downspouts();
        let demand = |d: usize| downspouts[d].catchment.to_m2() * intensity.to_m_per_s();
        self.solver.model.set_demands(demand);
    }

    /// All levels are measured from the lowest tank, and wyes and openings have laws of their own.
    fn measure_anew(&mut self) -> Result<(), NotTaken> {
        self.solver.put(Model::new(&self.network, &self.scenario)?);
        self.changed();
        Ok(())
    }

    fn changed(&mut self) {
        self.solver.changed();
        self.rest = Arc::new(Rest::new(&self.network, &self.solver.model, &self.solver.forest));
    }

    /// The steady state, as [`solve`](crate::solve) gives it.
    ///
    /// # Errors
    /// As [`solve`](crate::solve).
    pub fn steady(&mut self) -> Result<Steady, NotSolved> {
        match self.solver.solve(None) {
            Ok(solved) => {
                let steps = self.solver.steps();
                Ok(report::steady(&self.network, &self.solver.model, &self.rest, &solved, steps))
            }
            Err(failed) => Err(report::failed(&self.network, &self.solver, &failed)),
        }
    }

    /// The same that keeps the network.
    pub fn into_owned(self) -> Prepared<'static> {
        let Self { network, scenario, solver, rest } = self;
        Prepared { network: Cow::Owned(network.into_owned()), scenario, solver, rest }
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
            Err(failed) => return Err(report::failed(&self.network, &solver, &failed)),
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
