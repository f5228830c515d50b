//! What a sheet is made of, from a solved site.

mod documents;
mod upkeep;

use crate::site_levels;
use crate::solved::Solved;
use std::collections::BTreeMap;
use wetrun_checks::Outcome as Found;
use wetrun_design::levels::{Drawn, Schedule};
use wetrun_network::{FittingUse, catalogue};
use wetrun_sheet::{
    Benchmark, Coefficient, FindingRow, Job, LevelRow, Outcome, Place, Positions, RoofShare,
    SheetInput, Vent,
};
use wetrun_site::{PlanPoint, Site};

/// The sheet's input; `file_hash` is printed on every page. Without a `schedule` the levels
/// stand on it as drawn, without limits.
pub(crate) fn input<'a>(
    solved: &'a Solved,
    file_hash: String,
    drawn: &Drawn,
    schedule: Option<&Schedule>,
) -> SheetInput<'a> {
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
        spill_rains: solved.spill_rains.downspouts.clone(),
        freeboard: facts.freeboard,
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
        levels: schedule.map(|s| levels(drawn, s)).unwrap_or_default(),
        tolerance_all: schedule.and_then(|s| s.tolerance_all),
        benchmarks: benchmarks(site),
        findings: findings(solved),
        cautions: wetrun_checks::CAUTIONS.iter().map(|&c| c.to_owned()).collect(),
        upkeep: upkeep::rows(solved),
        owner_notes: documents::owner(facts, site.network.tanks()),
        coefficients: coefficients(site),
    }
}

/// Every level that somebody sets, with its limits where it has any.
fn levels(drawn: &Drawn, schedule: &Schedule) -> Vec<LevelRow> {
    let row = |level: site_levels::Level| {
        let limits = schedule.of(level.set_point);
        LevelRow {
            tag: level.tag,
            level: level.key,
            design: level.design,
            lowest: limits.and_then(|l| l.low_stop.as_ref()).map(|stop| stop.level),
            highest: limits.and_then(|l| l.high_stop.as_ref()).map(|stop| stop.level),
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

/// Every rule of the review, under its heading of the checklist.
fn findings(solved: &Solved) -> Vec<FindingRow> {
    let found = wetrun_checks::review(&solved.judged());
    let units = solved.site.units;
    let row = |f: wetrun_checks::Finding| FindingRow {
        group: wetrun_checks::rule(f.rule).map_or("", |r| r.section.heading()).to_owned(),
        rule: f.rule.to_owned(),
        outcome: match f.outcome {
            Found::Pass => Outcome::Pass,
            Found::Fail => Outcome::Fail,
            Found::Caution => Outcome::Caution,
            Found::NotShown => Outcome::NotShown,
            Found::NeedsDecision => Outcome::NeedsDecision,
            Found::NotApplicable => Outcome::NotApplicable,
        },
        place: f.at,
        value: f.value.map(|v| v.show(units)).unwrap_or_default(),
        limit: f.limit.map(|v| v.show(units)).unwrap_or_default(),
        message: f.message,
        basis: f.basis,
    };
    found.into_iter().map(row).collect()
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
