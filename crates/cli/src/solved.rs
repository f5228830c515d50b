//! A site that has been read, solved and judged: what the commands report on.

use crate::outcome::{Refusal, Status};
use std::collections::BTreeSet;
use wetrun_checks::{Facts, Finding, Judged, Outcome};
use wetrun_network::DownspoutId;
use wetrun_site::{Losses, Site, Tanks};
use wetrun_solver::{FrictionLaw, NotSolved, Prepared, Scenario, Steady, TankState};
use wetrun_units::Intensity;

/// A site with its steady state and the findings on it.
#[derive(Debug)]
pub(crate) struct Solved {
    /// The site as read, with what the command line overrides.
    pub(crate) site: Site,
    /// What the state was solved for.
    pub(crate) scenario: Scenario,
    /// The steady state.
    pub(crate) steady: Steady,
    /// For each downspout the rain at which it first spills.
    pub(crate) spill_rains: Vec<Option<Intensity>>,
    /// What the site shows besides its network.
    pub(crate) facts: Facts,
    /// What the rules found.
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
        let spill_rains = prepared.spill_rain().map_err(not_solved)?;
        let facts = crate::facts::facts(&site)?;
        let mut solved = Self { site, scenario, steady, spill_rains, facts, findings: Vec::new() };
        solved.findings = wetrun_checks::check(&solved.judged());
        Ok(solved)
    }

    /// What the rules judge.
    pub(crate) fn judged(&self) -> Judged<'_> {
        Judged {
            network: &self.site.network,
            scenario: &self.scenario,
            steady: &self.steady,
            spill_rains: &self.spill_rains,
            facts: &self.facts,
        }
    }

    /// Whether any finding fails.
    pub(crate) fn status(&self) -> Status {
        let fails = self.findings.iter().any(|f| f.outcome == Outcome::Fail);
        if fails { Status::Fail } else { Status::Pass }
    }

    /// The downspout that decides: one that spills before one that does not, then the one that
    /// spills at the least rain where any does, else the one with the least headroom.
    pub(crate) fn worst(&self) -> Option<DownspoutId> {
        let spilling = self.spilling();
        let rank = |d: usize| {
            let rain = self.spill_rains.get(d).copied().flatten();
            let rain_m_per_s = rain.map_or(f64::INFINITY, Intensity::to_m_per_s);
            let headroom_m = self.steady.downspouts[d].headroom.to_m();
            (!spilling[d], if spilling[d] { rain_m_per_s } else { headroom_m }, headroom_m)
        };
        (0..self.steady.downspouts.len())
            .min_by(|a, b| rank(*a).partial_cmp(&rank(*b)).unwrap_or(std::cmp::Ordering::Equal))
            .map(DownspoutId::new)
    }

    /// For each downspout whether water leaves it in the storm, by the rule that judges it.
    pub(crate) fn spilling(&self) -> Vec<bool> {
        let failed = |f: &&Finding| f.rule == "no-spill" && f.outcome == Outcome::Fail;
        let tags: BTreeSet<&str> =
            self.findings.iter().filter(failed).map(|f| f.at.as_str()).collect();
        let downspouts = self.site.network.downspouts();
        downspouts.iter().map(|d| tags.contains(d.tag.as_str())).collect()
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
