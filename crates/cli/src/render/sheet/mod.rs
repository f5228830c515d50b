//! What a sheet is made of, from a solved site.

mod documents;
mod owner;
mod upkeep;

use crate::render::show::Show;
use crate::render::text::verdict;
use crate::rod::Rod;
use crate::site_levels;
use crate::solved::Solved;
use std::collections::BTreeMap;
use wetrun_checks::{Outcome as Found, Standing};
use wetrun_design::levels::{Drawn, Instrument, Schedule};
use wetrun_network::{FittingUse, catalogue};
use wetrun_sheet::{
    Benchmark, Coefficient, FailureRow, FindingRow, Job, LevelRow, Outcome, Place, Positions,
    RodRow, RoofShare, SheetInput, Vent,
};
use wetrun_site::{PlanPoint, Site};
use wetrun_units::Length;

/// The sheet's input; `file_hash` is printed on every page. Without a `schedule` the levels
/// stand on it as drawn, without limits.
pub(crate) fn input<'a>(
    solved: &'a Solved,
    file_hash: String,
    drawn: &Drawn,
    schedule: Option<&Schedule>,
    set_up: Option<&SetUp>,
    all_routes: bool,
) -> SheetInput<'a> {
    let review = crate::mends::reviewed(solved);
    let show = Show { main: solved.site.units, both: false };
    let site = &solved.site;
    let facts = &solved.facts;
    let watertight_to = schedule.map(|s| s.watertight_to.iter().map(|&l| Some(l)).collect());
    SheetInput {
        job: Job {
            site: site.name.clone(),
            datum: site.datum.clone().unwrap_or_default(),
            revision: site.review.revision.clone().unwrap_or_default(),
            file_hash,
            documents: documents::cover(facts),
        },
        units: site.units,
        storm_basis: site.storm.basis.clone().unwrap_or_default(),
        network: &site.network,
        scenario: solved.scenario,
        steady: &solved.steady,
        spill_rains: &solved.spill_rains,
        verdict: &solved.verdict,
        verdict_words: format!("{}{}", verdict::cause(solved, show), verdict::others(solved)),
        failures: failures(solved, &review, show),
        freeboard_basis: freeboard_basis(solved).to_owned(),
        roofs: roofs(site),
        foot_ground: site.downspouts.iter().map(|d| d.review.ground).collect(),
        watertight_to: watertight_to.unwrap_or_default(),
        vents: facts.points.iter().map(|p| p.vent.map(|v| Vent { top: v.level })).collect(),
        positions: Positions {
            downspouts: site.downspouts.iter().map(|d| place(d.at)).collect(),
            points: site.points.iter().map(|p| place(p.at)).collect(),
            tanks: site.tanks.iter().map(|t| place(t.at)).collect(),
        },
        levels: schedule.map(|s| levels(drawn, s, set_up)).unwrap_or_default(),
        rod: set_up.map(|s| s.rod_of_the_sheet(site)),
        tolerance_all: schedule.and_then(|s| s.tolerance_all),
        benchmarks: benchmarks(site),
        review: Standing::of(&review).words().to_owned(),
        findings: review.into_iter().map(|f| finding(site, f)).collect(),
        cautions: wetrun_checks::CAUTIONS.iter().map(|&c| c.to_owned()).collect(),
        upkeep: upkeep::rows(solved),
        owner_texts: owner::texts(solved),
        owner_cautions: owner::cautions(solved),
        owner_notes: documents::owner(facts, site.network.tanks()),
        coefficients: coefficients(site),
        all_routes,
    }
}

/// Every level that somebody sets, with its limits where it has any.
fn levels(drawn: &Drawn, schedule: &Schedule, set_up: Option<&SetUp>) -> Vec<LevelRow> {
    let row = |level: site_levels::Level| {
        let limits = schedule.of(level.set_point);
        let lowest = limits.and_then(|l| l.low_stop.as_ref()).map(|stop| stop.level);
        let highest = limits.and_then(|l| l.high_stop.as_ref()).map(|stop| stop.level);
        LevelRow {
            tag: level.tag,
            level: level.key,
            design: level.design,
            lowest,
            highest,
            needed: limits.and_then(|l| l.mend),
            rod: set_up.map(|s| s.readings(level.design, lowest, highest)),
        }
    };
    site_levels::levels(drawn).into_iter().map(row).collect()
}

fn freeboard_basis(solved: &Solved) -> &'static str {
    let own = solved.facts.limits.iter().any(|l| l.rule == "freeboard");
    if own || solved.site.targets.freeboard_given {
        "site file"
    } else {
        "default of 100 mm, common practice"
    }
}

fn place(at: Option<PlanPoint>) -> Option<Place> {
    at.map(|p| Place { east: p.x, north: p.y })
}

fn roofs(site: &Site) -> Vec<RoofShare> {
    let share_of = |roof: &wetrun_site::Roof, share: &wetrun_site::Share| RoofShare {
        roof: roof.tag.clone(),
        downspout: share.to,
        area: roof.area,
        runoff: roof.runoff,
        share: share.share,
    };
    site.roofs.iter().flat_map(|r| r.shares.iter().map(move |s| share_of(r, s))).collect()
}

fn benchmarks(site: &Site) -> Vec<Benchmark> {
    let row = |b: &wetrun_site::Benchmark| Benchmark {
        tag: b.tag.clone(),
        level: b.level,
        at: b.at.clone().unwrap_or_default(),
    };
    site.benchmarks.iter().map(row).collect()
}

/// A rule's finding, under its heading of the checklist.
fn finding(site: &Site, found: wetrun_checks::Finding) -> FindingRow {
    let units = site.units;
    FindingRow {
        group: wetrun_checks::rule(found.rule).map_or("", |r| r.section.heading()).to_owned(),
        rule: found.rule.to_owned(),
        outcome: match found.outcome {
            Found::Pass => Outcome::Pass,
            Found::Fail => Outcome::Fail,
            Found::Caution => Outcome::Caution,
            Found::NotShown => Outcome::NotShown,
            Found::NeedsDecision => Outcome::NeedsDecision,
            Found::NotApplicable => Outcome::NotApplicable,
        },
        word: found.outcome.words(),
        place: found.at,
        value: found.value.map(|v| v.show(units)).unwrap_or_default(),
        limit: found.limit.map(|v| v.show(units)).unwrap_or_default(),
        message: found.message,
        basis: found.basis,
        mend: found.mend,
        stated: found.stated,
    }
}

/// What fails: the verdict's failures, the worst first, then the rules of the review that fail
/// besides.
fn failures(solved: &Solved, review: &[wetrun_checks::Finding], show: Show) -> Vec<FailureRow> {
    let network = &solved.site.network;
    let failing = || review.iter().filter(|f| f.outcome == Found::Fail);
    let mut told: Vec<&str> = Vec::new();
    let mut rows: Vec<FailureRow> = Vec::new();
    for failure in solved.verdict.failures() {
        let (tag, rule) = (failure.tag(network), wetrun_checks::rule_of(failure.cause()).name);
        let found = failing().find(|f| f.rule == rule && f.at == tag);
        told.push(rule);
        let what = capital(&verdict::failed(solved, show, failure));
        rows.push(FailureRow { what, mend: found.and_then(|f| f.mend.clone()) });
    }
    for finding in failing().filter(|f| !told.contains(&f.rule)) {
        let what = format!("{} at {}: {}", finding.rule, finding.at, finding.message);
        rows.push(FailureRow { what, mend: finding.mend.clone() });
    }
    rows
}

/// The instrument as it stands, and how its rod is read.
pub(crate) struct SetUp {
    /// The instrument.
    pub(crate) instrument: Instrument,
    /// The benchmark it was set up over.
    pub(crate) on: String,
    /// What the rod read there.
    pub(crate) backsight: Length,
    /// How readings are written.
    pub(crate) rod: Rod,
}

impl SetUp {
    fn rod_of_the_sheet(&self, site: &Site) -> wetrun_sheet::Rod {
        let unit = self.rod.show(Length::ZERO).unit;
        wetrun_sheet::Rod {
            unit: if unit.is_empty() { "ft in" } else { unit }.to_owned(),
            set_up: format!(
                "The rod read {} on {}: the height of instrument is {}.",
                self.rod.show(self.backsight).to_string().trim_end(),
                self.on,
                site.units.show_level(self.instrument.height)
            ),
        }
    }

    /// A high level reads small: the least reading is that at the highest level.
    fn readings(&self, set: Length, lowest: Option<Length>, highest: Option<Length>) -> RodRow {
        let at = |level: Length| self.instrument.reading(level);
        let limit = |level: Option<Length>, up: bool| {
            level.map(|l| self.rod.show_limit(at(l), up).number).unwrap_or_default()
        };
        RodRow {
            set: self.rod.show(at(set)).number,
            least: limit(highest, true),
            most: limit(lowest, false),
        }
    }
}

/// Every fitting in use, once, with the source of its coefficient.
fn coefficients(site: &Site) -> Vec<Coefficient> {
    let network = &site.network;
    let lines = network.lines().iter().flat_map(|l| &l.fittings);
    let used: BTreeMap<&str, &FittingUse> = lines
        .chain(network.downspouts().iter().flat_map(|d| &d.fittings))
        .map(|f| (f.name.as_str(), f))
        .collect();
    let source = |name: &str| {
        let own = site.own_fittings.iter().find(|f| f.name == name);
        match own {
            Some(own) => own.source.clone().unwrap_or_else(|| "site file".to_owned()),
            None => catalogue::fitting(name).map_or_else(String::new, |f| f.source.clone()),
        }
    };
    let row =
        |f: &FittingUse| Coefficient { name: f.name.clone(), k: f.k, source: source(&f.name) };
    used.into_values().map(row).collect()
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + chars.as_str())
}
