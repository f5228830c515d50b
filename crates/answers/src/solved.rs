//! A site that has been solved and judged, in two steps: what every report rests on.

use crate::flush::Alone;
use crate::outcome::{Refusal, Status};
use crate::storm::find_once;
use std::ops::Deref;
use std::sync::OnceLock;
use wetrun_checks::{DrainOpened, Facts, Finding, Judged};
use wetrun_motion::Watch;
use wetrun_network::DownspoutId;
use wetrun_site::{Losses, Site, Tanks};
use wetrun_solver::{FrictionLaw, NotSolved, Prepared, Scenario, SpillRains, Steady, TankState};
use wetrun_verdict::{Failure, Verdict};

/// A site with its steady state, judged: what a few milliseconds give, enough for the verdict, the
/// margins and a long section.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Settled {
    /// The site as read, with what was overridden.
    pub site: Site,
    /// What the state was solved for.
    pub scenario: Scenario,
    /// The steady state.
    pub steady: Steady,
    /// The verdict.
    pub verdict: Verdict,
    /// What the site shows besides its network.
    pub facts: Facts,
}

/// A settled site with all that every report asks of it; it reads as the settled one too.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Solved {
    settled: Settled,
    /// The rains at which water first leaves.
    pub spill_rains: SpillRains,
    /// What the rules found, without mends.
    pub findings: Vec<Finding>,
    opened: OnceLock<Opened>,
}

/// Drains of a network of more lines are opened by `wetrun flush` alone, and what else carries silt is
/// not looked for there: that takes a run for each drain, and for each line and level.
pub(crate) const MOST_FOLLOWED: usize = 60;

/// Every drain opened by itself, as it is told and as rules are told of it; none where the motion
/// could not be followed.
#[derive(Clone, Debug, Default)]
struct Opened {
    order: Option<Vec<Alone>>,
    told: Option<Vec<DrainOpened>>,
}

impl Opened {
    fn new(order: Vec<Alone>) -> Self {
        let told = order.iter().map(Alone::told);
        Self { told: Some(told.collect()), order: Some(order) }
    }
}

impl Deref for Solved {
    type Target = Settled;

    fn deref(&self) -> &Settled {
        &self.settled
    }
}

impl Settled {
    /// Solves a site for its storm and judges it.
    ///
    /// # Errors
    /// A refusal where pipe sizes are still open, or where no steady state was found.
    pub fn new(site: Site) -> Result<Self, Refusal> {
        refuse_open_sizes(&site)?;
        let scenario = scenario(&site);
        let steady = wetrun_solver::solve(&site.network, &scenario).map_err(Refusal::because)?;
        Self::judged(site, scenario, steady)
    }

    fn judged(site: Site, scenario: Scenario, steady: Steady) -> Result<Self, Refusal> {
        let facts = crate::facts::facts(&site)?;
        let verdict = wetrun_checks::verdict(&site.network, &steady, &facts);
        Ok(Self { site, scenario, steady, verdict, facts })
    }

    /// The spill rains and the findings as well. `wanted` is asked before each stage whether
    /// anybody still waits for them.
    ///
    /// # Errors
    /// `None` where nobody waits any more; a refusal where a spill rain was not found.
    pub fn finish(self, wanted: &dyn Fn() -> bool) -> Result<Option<Solved>, Refusal> {
        if !wanted() {
            return Ok(None);
        }
        let rains = wetrun_solver::spill_rains(&self.site.network, &self.scenario);
        let spill_rains = rains.map_err(Refusal::because)?;
        Ok(wanted().then(|| Solved::with(self, spill_rains)))
    }

    /// Whether it holds.
    pub fn status(&self) -> Status {
        if self.verdict.holds() { Status::Pass } else { Status::Fail }
    }

    /// The downspout that decides: that of the worst failure at one, else the one with the least
    /// left.
    pub fn worst(&self) -> Option<DownspoutId> {
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

impl Solved {
    /// Solves a site and judges it, with its spill rains and findings.
    ///
    /// # Errors
    /// As [`Settled::new`] and [`Settled::finish`].
    pub fn new(site: Site) -> Result<Self, Refusal> {
        refuse_open_sizes(&site)?;
        let scenario = scenario(&site);
        let mut prepared = Prepared::new(&site.network, &scenario).map_err(Refusal::because)?;
        let steady = prepared.steady().map_err(Refusal::because)?;
        let spill_rains = prepared.spill_rains().map_err(Refusal::because)?;
        Ok(Self::with(Settled::judged(site, scenario, steady)?, spill_rains))
    }

    /// The same without the rains at which water first leaves, which take longest on a large network.
    ///
    /// # Errors
    /// As [`Settled::new`].
    pub fn without_spill_rains(site: Site) -> Result<Self, Refusal> {
        Ok(Self::with(Settled::new(site)?, SpillRains::NONE))
    }

    fn with(settled: Settled, spill_rains: SpillRains) -> Self {
        let opened = OnceLock::new();
        let mut solved = Self { settled, spill_rains, findings: Vec::new(), opened };
        solved.findings = wetrun_checks::check(&solved.judged());
        solved
    }

    /// Every drain opened by itself, in the order in which to open them; followed once, when it is
    /// first asked for. `None` where it could not be followed, or would take a person's time.
    pub(crate) fn drains_alone(&self) -> Option<&[Alone]> {
        self.opened().order.as_deref()
    }

    fn opened(&self) -> &Opened {
        self.opened.get_or_init(|| self.opened_alone(Watch::default()))
    }

    /// Opens every drain by itself, which a review asks for, as long as somebody waits for it; gives
    /// whether that is done then.
    pub fn open_drains(&self, watch: Watch<'_>) -> bool {
        find_once(&self.opened, watch, |watch| self.opened_alone(watch))
    }

    fn opened_alone(&self, watch: Watch<'_>) -> Opened {
        if self.site.network.lines().len() > MOST_FOLLOWED {
            return Opened::default();
        }
        let order = crate::flush::alone(&self.site, &self.facts, watch, 1);
        order.map(Opened::new).unwrap_or_default()
    }

    /// What every rule of the review judges: with what opening the drains does.
    pub(crate) fn judged_in_full(&self) -> Judged<'_> {
        Judged { drains: self.opened().told.as_deref(), ..self.judged() }
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
            drains: None,
            mends: None,
        }
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

pub(crate) fn refuse_open_sizes(site: &Site) -> Result<(), Refusal> {
    let open: Vec<&str> = site.open_pipes().iter().map(|o| o.tag.as_str()).collect();
    if open.is_empty() {
        return Ok(());
    }
    Err(Refusal::because(format_args!(
        "pipe sizes are still open: {}; `wetrun size` finds them",
        open.join(", ")
    )))
}
