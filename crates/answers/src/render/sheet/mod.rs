//! What a sheet is made of, from a solved site.

mod documents;
mod owner;
mod upkeep;

use crate::render::show::Show;
use crate::render::text::verdict;
use crate::set_up::SetUp;
use crate::site_levels;
use crate::solved::{Settled, Solved};
use std::borrow::Cow;
use std::collections::BTreeMap;
use wetrun_checks::{Outcome, Standing};
use wetrun_design::levels::{Drawn, Schedule};
use wetrun_network::FittingUse;
use wetrun_sheet::{Coefficient, FailureRow, FindingRow, Job, LevelRow, SheetInput};
use wetrun_site::Site;
use wetrun_solver::SpillRains;

static NO_RAINS: SpillRains = SpillRains::NONE;

/// What a drawing of the settled site needs, without the words around it.
pub(crate) fn bare(settled: &Settled) -> SheetInput<'_> {
    let site = &settled.site;
    SheetInput {
        job: Job { site: site.name.clone(), ..Job::default() },
        units: site.units,
        facts: Cow::Borrowed(&settled.facts),
        network: &site.network,
        scenario: settled.scenario,
        steady: &settled.steady,
        spill_rains: &NO_RAINS,
        verdict: &settled.verdict,
        verdict_words: String::new(),
        failures: Vec::new(),
        freeboard_basis: freeboard_basis(settled).to_owned(),
        watertight_to: Vec::new(),
        levels: Vec::new(),
        rod: None,
        tolerance_all: None,
        review: String::new(),
        findings: Vec::new(),
        cautions: Vec::new(),
        upkeep: Vec::new(),
        owner_texts: Vec::new(),
        owner_cautions: Vec::new(),
        owner_notes: Vec::new(),
        coefficients: Vec::new(),
        more: Vec::new(),
        all_routes: false,
    }
}

/// The whole input of the printed set; `file_hash` is printed on every page. Without a `schedule`
/// the levels stand on it as drawn, without limits.
pub(crate) fn input<'a>(
    solved: &'a Solved,
    review: Vec<wetrun_checks::Finding>,
    file_hash: String,
    drawn: &Drawn,
    schedule: Option<&Schedule>,
    set_up: Option<&SetUp>,
) -> SheetInput<'a> {
    let show = Show { main: solved.site.units, both: false };
    let site = &solved.site;
    let facts = &solved.facts;
    let watertight_to = schedule.map(|s| s.watertight_to.iter().map(|&l| Some(l)).collect());
    let bare = bare(solved);
    SheetInput {
        job: Job { file_hash, documents: documents::cover(facts), ..bare.job },
        spill_rains: &solved.spill_rains,
        verdict_words: format!("{}{}", verdict::cause(solved, show), verdict::others(solved)),
        failures: failures(solved, &review, show),
        watertight_to: watertight_to.unwrap_or_default(),
        levels: schedule.map(|s| levels(drawn, s, set_up)).unwrap_or_default(),
        rod: set_up.map(|s| s.rod_of_the_sheet(site)),
        tolerance_all: schedule.and_then(|s| s.tolerance_all),
        review: Standing::of(&review).words().to_owned(),
        findings: review.into_iter().map(|f| finding(site, f)).collect(),
        cautions: wetrun_checks::CAUTIONS.iter().map(|&c| c.to_owned()).collect(),
        upkeep: upkeep::rows(solved),
        owner_texts: owner::texts(solved),
        owner_cautions: owner::cautions(solved),
        owner_notes: documents::owner(facts, site.network.tanks()),
        coefficients: coefficients(site),
        ..bare
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

fn freeboard_basis(solved: &Settled) -> &'static str {
    let own = solved.facts.limits.iter().any(|l| l.rule == "freeboard");
    if own || solved.site.targets.freeboard_given {
        "site file"
    } else {
        "default of 100 mm, common practice"
    }
}

/// A rule's finding, under its heading of the checklist.
fn finding(site: &Site, found: wetrun_checks::Finding) -> FindingRow {
    let units = site.units;
    FindingRow {
        group: wetrun_checks::rule(found.rule).map_or("", |r| r.section.heading()).to_owned(),
        rule: found.rule.to_owned(),
        outcome: found.outcome,
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
    let failing = || review.iter().filter(|f| f.outcome == Outcome::Fail);
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
            None => wetrun_catalogue::fitting(name).map_or_else(String::new, |f| f.source.clone()),
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
