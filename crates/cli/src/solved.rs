//! A site that has been read, solved and judged: what the commands report on.

use crate::outcome::{Refusal, Status};
use wetrun_checks::{Facts, Finding, Judged};
use wetrun_network::DownspoutId;
use wetrun_site::{Losses, Site, Tanks};
use wetrun_solver::{FrictionLaw, NotSolved, Prepared, Scenario, SpillRains, Steady, TankState};
use wetrun_verdict::{Failure, Verdict};

/// A site with its steady state and the findings on it.
#[derive(Debug)]
pub(crate) struct Solved {
    /// The site as read, with what the command line overrides.
    pub(crate) site: Site,
    /// What the state was solved for.
    pub(crate) scenario: Scenario,
    /// The steady state.
    pub(crate) steady: Steady,
    /// The rains at which water first leaves.
    pub(crate) spill_rains: SpillRains,
    /// The verdict.
    pub(crate) verdict: Verdict,
    /// What the site shows besides its network.
    pub(crate) facts: Facts,
    /// What the rules found, without mends.
    pub(crate) findings: Vec<Finding>,
}

impl Solved {
    /// Solves a site and judges it.
    ///
    /// # Errors
    /// A refusal where pipe sizes are still open, or where no steady state was found.
    pub(crate) fn new(site: Site) -> Result<Self, Refusal> {
        refuse_open_sizes(&site)?;
        let scenario = scenario(&site);
        let mut prepared = Prepared::new(&site.network, &scenario);
        let steady = prepared.steady().map_err(not_solved)?;
        let spill_rains = prepared.spill_rains().map_err(not_solved)?;
        let facts = crate::facts::facts(&site)?;
        let verdict = wetrun_checks::verdict(&site.network, &steady, &facts);
        let mut solved =
            Self { site, scenario, steady, spill_rains, verdict, facts, findings: Vec::new() };
        solved.findings = wetrun_checks::check(&solved.judged());
        Ok(solved)
    }

    /// What the rules judge; mends are another search, for whoever prints them.
    pub(crate) fn judged(&self) -> Judged<'_> {
        Judged {
            network: &self.site.network,
            scenario: &self.scenario,
            steady: &self.steady,
            spill_rains: &self.spill_rains,
            verdict: &self.verdict,
            facts: &self.facts,
            mends: false,
        }
    }

    /// Whether it holds.
    pub(crate) fn status(&self) -> Status {
        if self.verdict.holds() { Status::Pass } else { Status::Fail }
    }

    /// The downspout that decides: that of the worst failure at one, else the one with the least
    /// left.
    pub(crate) fn worst(&self) -> Option<DownspoutId> {
        let failing = self.verdict.failures().iter().find_map(Failure::downspout);
        failing.or_else(|| Some(self.verdict.tightest()?.at))
    }

    /// Whether water leaves a downspout in the storm.
    pub(crate) fn spills(&self, downspout: usize) -> bool {
        self.verdict.margins.get(downspout).is_some_and(|margin| margin.spills)
    }

    /// The steady state by the other friction law, where every pipe gives what that law needs.
    pub(crate) fn by_the_other_law(&self) -> Result<Option<Steady>, NotSolved> {
        let law = match self.scenario.law {
            FrictionLaw::HazenWilliams => FrictionLaw::DarcyWeisbach,
            FrictionLaw::DarcyWeisbach => FrictionLaw::HazenWilliams,
        };
        let network = &self.site.network;
        let lines = network.lines().iter().map(|l| &l.pipe);
        let mut pipes = lines.chain(network.downspouts().iter().map(|d| &d.pipe));
        let known = pipes.all(|pipe| match law {
            FrictionLaw::HazenWilliams => pipe.c.is_some(),
            FrictionLaw::DarcyWeisbach => pipe.roughness.is_some(),
        });
        if !known {
            return Ok(None);
        }
        wetrun_solver::solve(network, &Scenario { law, ..self.scenario }).map(Some)
    }
}

/// What the site asks the solver for.
pub(crate) fn scenario(site: &Site) -> Scenario {
    Scenario {
        law: match site.losses {
            Losses::DarcyWeisbach => FrictionLaw::DarcyWeisbach,
            Losses::HazenWilliams => FrictionLaw::HazenWilliams,
        },
        temperature: site.water_temperature,
        intensity: site.storm.intensity,
        tanks: match site.storm.tanks {
            Tanks::Full => TankState::Full,
            Tanks::Empty => TankState::Empty,
        },
    }
}

/// A search that found no steady state, as a refusal.
pub(crate) fn not_solved(failed: NotSolved) -> Refusal {
    Refusal::because(failed)
}

fn refuse_open_sizes(site: &Site) -> Result<(), Refusal> {
    let open: Vec<&str> = site.open_pipes().iter().map(|o| o.tag.as_str()).collect();
    if open.is_empty() {
        return Ok(());
    }
    Err(Refusal::because(format_args!(
        "pipe sizes are still open: {}; `wetrun size` finds them",
        open.join(", ")
    )))
}
