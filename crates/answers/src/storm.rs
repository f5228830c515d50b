//! A storm that passes over a site, beside the steady state at its heaviest rain.

mod meaning;

use crate::outcome::{Refusal, Status};
use crate::solved::{refuse_open_sizes, scenario};
use std::sync::OnceLock;
use wetrun_checks::Outcome;
use wetrun_facts::Facts;
use wetrun_motion::{
    COUNTS, GutterShape, GutterStore, Pace, Passed, Roof, Scene, TankStart, Watch, storm as follow,
};
use wetrun_network::{DownspoutId, Network, Overflow};
use wetrun_rain::Course;
use wetrun_site::{Gutter, Site, Start, Tanks};
use wetrun_solver::{Scenario, Steady, TankState};
use wetrun_units::{Intensity, Length, Time, Volume};
use wetrun_verdict::Failure;

/// A lag below this lets a column swing as under no real roof.
const SHORT_LAG: Time = Time::s(10.0);

/// A site with a storm that has passed over it.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Storm {
    /// The site as read.
    pub site: Site,
    /// What the drawing says besides its network.
    pub facts: Facts,
    /// The rains that passed.
    pub course: Course,
    /// What came of them.
    pub passed: Passed,
    /// The steady state at the heaviest of them, tanks that the storm fills standing full.
    pub steady: Steady,
    /// The freeboard that is asked for.
    pub freeboard: Length,
    /// What is worth saying, worst first.
    pub findings: Vec<Told>,
    scenario: Scenario,
    /// What it means, once somebody asks.
    meaning: OnceLock<Vec<String>>,
}

/// One thing found.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// A stable name.
    pub rule: &'static str,
    /// What it comes to.
    pub outcome: Outcome,
    /// The tag of the place, or `site`.
    pub at: String,
    /// The number judged and the one it was held against, in `unit`.
    pub value: Option<f64>,
    /// See `value`.
    pub limit: Option<f64>,
    /// Their SI unit, or nothing.
    pub unit: &'static str,
    /// In words, in the units of the site file.
    pub message: String,
    /// What the threshold rests on.
    pub basis: String,
}

impl Storm {
    /// Follows the storm of a site; without a course it is the design intensity for 15 min.
    /// Its moments are those of every step.
    ///
    /// # Errors
    /// A refusal where pipe sizes are open, a tank's start cannot be placed, or the motion could not
    /// be followed.
    pub fn new(site: Site, until: Option<Time>) -> Result<Self, Refusal> {
        Self::watched(site, until, Watch::default())
    }

    /// The same as long as somebody waits for it.
    ///
    /// # Errors
    /// `None` where nobody waits any more; a refusal likewise.
    pub fn while_wanted(
        site: Site,
        until: Option<Time>,
        watch: Watch<'_>,
    ) -> Result<Option<Self>, Refusal> {
        unless_called_off(Self::watched(site, until, watch), watch)
    }

    fn watched(site: Site, until: Option<Time>, watch: Watch<'_>) -> Result<Self, Refusal> {
        refuse_open_sizes(&site)?;
        let course = course(&site)?;
        let facts = crate::facts::facts(&site)?;
        let scenario = scenario(&site);
        let passed = {
            let scene = scene(&site, &scenario, watch)?;
            let pace = Pace { until, moments: Some(Time::ZERO), ..Pace::default() };
            follow(&scene, &course, &pace).map_err(Refusal::because)?
        };
        let heaviest = heaviest(&course);
        let scenario = Scenario { intensity: heaviest, tanks: TankState::Full, ..scenario };
        let steady = {
            let network = standing(&site, &passed)?;
            wetrun_solver::solve(&network, &scenario).map_err(Refusal::because)?
        };
        let mut storm = Self {
            site,
            course,
            passed,
            steady,
            freeboard: facts.freeboard,
            facts,
            findings: Vec::new(),
            scenario,
            meaning: OnceLock::new(),
        };
        storm.findings = storm.found();
        Ok(storm)
    }

    /// The heaviest rain of the course.
    pub fn heaviest(&self) -> Intensity {
        self.scenario.intensity
    }

    /// Opening less the highest level while the storm passes.
    pub fn headroom(&self, at: DownspoutId) -> Length {
        self.site.network.downspout(at).opening() - self.passed.downspouts[at.index()].peak_level
    }

    /// The downspout that decides: the one that spills most, else the one with the least headroom.
    pub fn worst(&self) -> Option<DownspoutId> {
        let spilled = |at: DownspoutId| self.passed.downspouts[at.index()].spilled;
        worst(self.passed.downspouts.len(), |at| self.headroom(at), spilled)
    }

    /// The same in the steady state.
    pub fn steady_worst(&self) -> Option<DownspoutId> {
        let state = |at: DownspoutId| &self.steady.downspouts[at.index()];
        let lost = |at| Volume::m3(state(at).spilled.to_m3_per_s());
        worst(self.steady.downspouts.len(), |at| state(at).headroom, lost)
    }

    /// Whether a downspout spills or keeps less than the freeboard while the storm passes.
    pub fn fails(&self, at: DownspoutId) -> bool {
        self.passed.downspouts[at.index()].spilled > COUNTS || self.lacks(at)
    }

    /// Whether it keeps less than the freeboard.
    fn lacks(&self, at: DownspoutId) -> bool {
        wetrun_verdict::lacks(self.headroom(at), self.freeboard)
    }

    /// Whether a downspout spills in the steady state.
    pub fn steady_spills(&self, at: DownspoutId) -> bool {
        let demand = self.steady.downspouts.iter().map(|state| state.demand).sum();
        wetrun_verdict::leaves(self.steady.downspouts[at.index()].spilled, demand)
    }

    /// Whether the storm passes without a failure.
    pub fn status(&self) -> Status {
        let fails = self.findings.iter().any(|told| told.outcome == Outcome::Fail);
        if fails { Status::Fail } else { Status::Pass }
    }

    fn found(&self) -> Vec<Told> {
        let network = &self.site.network;
        let units = self.site.units;
        let mut found = Vec::new();
        let told = |rule, outcome, at: &str, message| Told {
            rule,
            outcome,
            at: at.to_owned(),
            value: None,
            limit: None,
            unit: "",
            message,
            basis: String::new(),
        };
        for (place, course) in self.passed.downspouts.iter().enumerate() {
            let tag = &network.downspouts()[place].tag;
            if course.spilled > COUNTS {
                let message = format!(
                    "{} spill over its {} within {}",
                    units.show_volume(course.spilled),
                    lip_word(network, place),
                    crate::render::clock::length(course.spills_for)
                );
                found.push(Told {
                    value: Some(course.spilled.to_m3()),
                    limit: Some(COUNTS.to_m3()),
                    unit: "m3",
                    basis: "nothing may spill in the storm that the system is laid for".to_owned(),
                    ..told("storm-spill", Outcome::Fail, tag, message)
                });
            }
            let headroom = self.headroom(DownspoutId::new(place));
            let short = self.lacks(DownspoutId::new(place));
            let message = format!(
                "keeps {} of {} asked at its highest, {}",
                units.show_height(headroom),
                units.show_height(self.freeboard),
                crate::render::clock::at(course.peak_at)
            );
            let outcome = if short { Outcome::Fail } else { Outcome::Pass };
            found.push(Told {
                value: Some(headroom.to_m()),
                limit: Some(self.freeboard.to_m()),
                unit: "m",
                basis: "targets.freeboard".to_owned(),
                ..told("storm-freeboard", outcome, tag, message)
            });
        }
        for ((id, _), course) in network.openings().zip(&self.passed.openings) {
            if course.escaped > COUNTS {
                let message = format!("{} come out", units.show_volume(course.escaped));
                found.push(Told {
                    value: Some(course.escaped.to_m3()),
                    limit: Some(COUNTS.to_m3()),
                    unit: "m3",
                    basis: "no opening may let water out".to_owned(),
                    ..told("storm-opening", Outcome::Fail, &network.point(id).tag, message)
                });
            }
        }
        for (tank, course) in network.tanks().iter().zip(&self.passed.tanks) {
            if course.over_rim > COUNTS {
                let message = format!("{} run over its rim", units.show_volume(course.over_rim));
                found.push(Told {
                    value: Some(course.over_rim.to_m3()),
                    limit: Some(COUNTS.to_m3()),
                    unit: "m3",
                    basis: "a tank lets go by its overflow, not over its wall".to_owned(),
                    ..told("storm-rim", Outcome::Fail, &tank.tag, message)
                });
            }
        }
        for (place, gutter) in self.site.gutters.iter().enumerate() {
            let used = self.site.downspouts.iter().any(|notes| notes.gutter == Some(place));
            let lacks = lacking(gutter);
            if used && !lacks.is_empty() {
                let message = format!(
                    "stores nothing here: the file does not give its {}",
                    lacks.join(" and ")
                );
                found.push(told("storm-gutter-store", Outcome::Caution, &gutter.tag, message));
            }
        }
        let verdict = wetrun_checks::verdict(network, &self.steady, &self.facts);
        for failure in verdict.failures() {
            let (place, takes, at, short) = match *failure {
                Failure::Gutter { at, short } => ("gutter", "carries", at, short),
                Failure::Outlet { at, short } => ("gutter outlet", "takes", at, short),
                _ => continue,
            };
            let demand = self.steady.downspouts[at.index()].demand;
            let message = format!(
                "its {place} {takes} {} of the {} that the heaviest rain brings once the roofs answer in \
                 full; what it leaves behind is not followed here",
                units.show_flow(demand - short),
                units.show_flow(demand)
            );
            found.push(Told {
                value: Some((demand - short).to_m3_per_s()),
                limit: Some(demand.to_m3_per_s()),
                unit: "m3/s",
                basis: "as `wetrun check` has it".to_owned(),
                ..told("storm-gutter", Outcome::Caution, &network.downspout(at).tag, message)
            });
        }
        // Rain changes at once wherever any falls.
        if self.heaviest() > Intensity::ZERO {
            for roof in self.site.roofs.iter().filter(|roof| roof.lag < SHORT_LAG) {
                let message = format!(
                    "a lag of {} lets the columns swing as no real roof does; 60 s is usual",
                    crate::render::clock::length(roof.lag)
                );
                found.push(told("storm-lag", Outcome::Caution, &roof.tag, message));
            }
        }
        // Water that is lost is worse where it is more, freeboard where it is less.
        let harm = |told: &Told| match (told.outcome, told.rule) {
            (Outcome::Fail, "storm-freeboard") => (0, 1, -told.value.unwrap_or_default()),
            (Outcome::Fail, _) => (0, 0, told.value.unwrap_or_default()),
            (Outcome::Caution, _) => (1, 0, 0.0),
            _ => (2, 0, 0.0),
        };
        found.sort_by(|a, b| {
            let ((rank, kind, worse), (other_rank, other_kind, other)) = (harm(a), harm(b));
            (rank, kind).cmp(&(other_rank, other_kind)).then(other.total_cmp(&worse))
        });
        found
    }
}

fn worst(
    count: usize,
    headroom: impl Fn(DownspoutId) -> Length,
    lost: impl Fn(DownspoutId) -> Volume,
) -> Option<DownspoutId> {
    let places = (0..count).map(DownspoutId::new);
    places.min_by(|&a, &b| {
        let spills = |at| if lost(at) > COUNTS { lost(at).to_m3() } else { 0.0 };
        let by_loss = spills(b).total_cmp(&spills(a));
        by_loss.then(headroom(a).to_m().total_cmp(&headroom(b).to_m()))
    })
}

fn lip_word(network: &Network, downspout: usize) -> &'static str {
    if network.downspouts()[downspout].leaf_head.is_some() { "leaf head" } else { "gutter's lip" }
}

/// A length of time that somebody wrote on a command line, above 0.
///
/// # Errors
/// A refusal that names the argument.
pub fn length_of_time(argument: &str, text: &str, site: &Site) -> Result<Time, Refusal> {
    let wrong = |why: &dyn std::fmt::Display| {
        Refusal::because(format_args!("{argument} `{}`: {why}", text.escape_debug()))
    };
    let time = site.units.read_time(text).map_err(|error| wrong(&error))?;
    if time.to_s() > 0.0 && time.to_s() <= 365.0 * 86_400.0 {
        Ok(time)
    } else {
        Err(wrong(&"a length of time is above 0, and at most 365 d"))
    }
}

/// The course of the file, or its intensity for a quarter of an hour out of a dry sky.
fn course(site: &Site) -> Result<Course, Refusal> {
    const UNTIL: Time = Time::s(900.0);
    if let Some(given) = &site.storm.course {
        return Ok(given.course.clone());
    }
    let rains = [(Time::ZERO, site.storm.intensity), (UNTIL, Intensity::ZERO)];
    Course::new(&rains).map_err(Refusal::because)
}

fn heaviest(course: &Course) -> Intensity {
    let rains = course.blocks().iter().map(|block| Intensity::m_per_s(block.rain_m_per_s));
    rains.fold(Intensity::ZERO, Intensity::max)
}

/// What a gutter lacks to store water.
fn lacking(gutter: &Gutter) -> Vec<&'static str> {
    let sole = gutter.shape == wetrun_site::GutterShape::Trapezoidal;
    [
        ("length", gutter.length.is_none()),
        ("depth", gutter.depth.is_none()),
        ("bottom", sole && gutter.review.bottom.is_none()),
    ]
    .into_iter()
    .filter(|(_, lacks)| *lacks)
    .map(|(key, _)| key)
    .collect()
}

/// What was worked out, unless nobody waits for it any more: a run that was called off has no number.
pub(crate) fn unless_called_off<T>(
    done: Result<T, Refusal>,
    watch: Watch<'_>,
) -> Result<Option<T>, Refusal> {
    if (watch.wanted)() { done.map(Some) } else { Ok(None) }
}

/// Works out what is kept once it is known, as long as somebody waits for it; gives whether it is there
/// then. What was called off on the way is not kept: it is not the whole of it.
pub(crate) fn find_once<T>(
    kept: &OnceLock<T>,
    watch: Watch<'_>,
    work: impl FnOnce(Watch<'_>) -> T,
) -> bool {
    if kept.get().is_none() {
        let found = work(watch);
        if (watch.wanted)() {
            kept.get_or_init(|| found);
        }
    }
    kept.get().is_some()
}

/// The system at rest, as the motion is asked for it.
pub(crate) fn scene<'a>(
    site: &'a Site,
    scenario: &Scenario,
    watch: Watch<'a>,
) -> Result<Scene<'a>, Refusal> {
    let roofs = site.roofs.iter().map(|roof| Roof {
        area: roof.area,
        runoff: roof.runoff,
        wetting: roof.wetting,
        lag: roof.lag,
        shares: roof.shares.iter().map(|share| (share.to, share.share)).collect(),
    });
    let gutters = (0..site.downspouts.len()).map(|place| gutter(site, DownspoutId::new(place)));
    let usual = match site.storm.tanks {
        Tanks::Full => TankStart::Full,
        Tanks::Empty => TankStart::Empty,
    };
    let tanks = site.network.tanks().iter().zip(&site.tanks).map(|(tank, notes)| {
        let sized = tank.volume.is_some() && tank.floor.is_some() && tank.overflow.is_some();
        match notes.start.filter(|_| sized) {
            None => usual,
            Some(Start::Level(level)) => TankStart::Level(level),
            Some(Start::Share(share)) => TankStart::Share(share),
        }
    });
    Ok(Scene {
        network: &site.network,
        law: scenario.law,
        temperature: scenario.temperature,
        roofs: roofs.collect(),
        gutters: gutters.collect(),
        tanks: tanks.collect(),
        watch,
    })
}

/// A downspout's part of its gutter, where that stores water.
fn gutter(site: &Site, at: DownspoutId) -> Option<GutterStore> {
    let gutter = site.gutter_of(at)?;
    if !lacking(gutter).is_empty() {
        return None;
    }
    let place = site.downspouts[at.index()].gutter;
    let sharing = site.downspouts.iter().filter(|notes| notes.gutter == place).count();
    Some(GutterStore {
        shape: match gutter.shape {
            wetrun_site::GutterShape::HalfRound => GutterShape::HalfRound,
            wetrun_site::GutterShape::Rectangular => GutterShape::Rectangular,
            wetrun_site::GutterShape::Trapezoidal => GutterShape::Trapezoidal,
        },
        width: gutter.width,
        bottom: gutter.review.bottom.unwrap_or_default(),
        depth: gutter.depth?,
        length: gutter.length? * (1.0 / sharing as f64),
    })
}

/// The network as the steady state at the heaviest rain has it: tanks that the storm fills run over,
/// the others stand as high as they came.
fn standing(site: &Site, passed: &Passed) -> Result<Network, Refusal> {
    let mut parts = site.network.to_parts();
    for (tank, course) in parts.tanks.iter_mut().zip(&passed.tanks) {
        if course.full_at.is_some() {
            continue;
        }
        let level = course.peak_level.filter(|_| course.start.is_some());
        tank.overflow = level.map(|level| Overflow { level, pipe: None, to: None, k: 0.0 });
    }
    Network::build(parts).map_err(|problems| {
        let problems: Vec<String> = problems.iter().map(ToString::to_string).collect();
        Refusal::because(problems.join("; "))
    })
}
