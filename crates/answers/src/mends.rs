//! What would mend a failing site, put to its findings in words: each solved and judged as a whole.

use crate::flush::Alone;
use crate::level_rules::BySite;
use crate::site_levels;
use crate::solved::Solved;
use std::cell::{Cell, RefCell};
use wetrun_checks::{DrainOpened, Facts, Finding, Judged, Outcome, Proof};
use wetrun_design::levels::{Drawn, SetPoint, State};
use wetrun_design::mends::{Asked, Change, MOST_LINES, Mend, ways};
use wetrun_motion::Watch;
use wetrun_network::{End, Line, Network, Overflow, Parts, Tank, TankId};
use wetrun_site::Site;
use wetrun_units::{Length, UnitSystem};
use wetrun_verdict::{Cause, Failure};

/// What `check` finds, with the mends that hold.
pub(crate) fn checked(solved: &Solved) -> Vec<Finding> {
    // Drains are followed for the proofs alone.
    let asks = |f: &Finding| matches!(f.outcome, Outcome::Fail | Outcome::Caution);
    let asks = solved.findings.iter().any(asks);
    let judged = if asks { solved.judged_in_full() } else { solved.judged() };
    proven(solved, wetrun_checks::check, judged)
}

/// What the review finds, with the mends that hold.
pub(crate) fn reviewed(solved: &Solved) -> Vec<Finding> {
    proven(solved, wetrun_checks::review, solved.judged_in_full())
}

fn proven(
    solved: &Solved,
    judge: impl Fn(&Judged<'_>) -> Vec<Finding>,
    judged: Judged<'_>,
) -> Vec<Finding> {
    let left = Cell::new(MOST_FOLLOWED_ANEW);
    // Most mends change nothing that a drain sees.
    let as_drawn = (dry(&solved.site.network), solved.facts.clone());
    let known = RefCell::new(vec![(as_drawn, judged.drains.map(<[_]>::to_vec))]);
    let follow = |network: &Network, facts: &Facts| {
        let seen = (dry(network), facts.clone());
        let alike = known.borrow().iter().find(|(known, _)| *known == seen).cloned();
        if let Some((_, drains)) = alike {
            return drains;
        }
        left.set(left.get().checked_sub(network.lines().len())?);
        let drains = drains_of(&solved.site, network, facts);
        known.borrow_mut().push((seen, drains.clone()));
        drains
    };
    let drains = |network: &Network| follow(network, &solved.facts);
    let mut findings = judge(&Judged { mends: Some(Proof { drains: &drains }), ..judged });
    fill(solved, &mut findings, &follow);
    findings
}

/// What each drain of a changed network does, opened by itself; `None` where that cannot be followed.
pub(crate) fn drains_of(site: &Site, network: &Network, facts: &Facts) -> Option<Vec<DrainOpened>> {
    let mut site = site.clone();
    site.network = network.clone();
    let order = crate::flush::alone(&site, facts, Watch::default(), 1).ok()?;
    Some(order.iter().map(Alone::told).collect())
}

/// What a network is to its drains in dry weather: of a tank that stands under its inlets, and gets
/// nothing from another, they see nothing else.
fn dry(network: &Network) -> Parts {
    let mut parts = network.to_parts();
    let fed: Vec<TankId> =
        parts.tanks.iter().filter_map(|tank| tank.overflow.as_ref()?.to).collect();
    for (place, tank) in parts.tanks.iter_mut().enumerate() {
        let id = TankId::new(place);
        let ends =
            network.meets(End::Tank(id)).map(|(line, end)| network.line(line).end_level(end));
        let lowest = ends.fold(tank.inlet, Length::min);
        let under = |overflow: &Overflow| overflow.level <= lowest && overflow.to.is_none();
        if tank.overflow.as_ref().is_some_and(under) && !fed.contains(&id) {
            *tank = Tank { tag: tank.tag.clone(), inlet: tank.inlet, ..Tank::default() };
        }
    }
    parts
}

/// Follows the drains of a changed drawing, where that is still to be had.
type Follow<'a> = &'a dyn Fn(&Network, &Facts) -> Option<Vec<DrainOpened>>;

/// So many lines are followed anew in all, after changes that mends make: it takes a person's time.
const MOST_FOLLOWED_ANEW: usize = 400;

/// Puts mends to those findings that are failures of the verdict: at the worst downspout, and at
/// every tank that runs over its rim.
fn fill(solved: &Solved, findings: &mut [Finding], follow: Follow<'_>) {
    let network = &solved.site.network;
    let failures = solved.verdict.failures();
    let water = |f: &&Failure| matches!(f.cause(), Cause::Spill | Cause::Freeboard);
    if network.lines().len() > MOST_LINES {
        // General advice was not solved: rather none.
        let ours = failures.iter().filter(|f| water(f) || f.cause() == Cause::Rim);
        ours.for_each(|failure| put(findings, failure, failure.tag(network), None));
        return;
    }
    let worst = worst(failures);
    let mends = worst.and_then(|worst| words(solved, worst, follow));
    for failure in failures.iter().filter(water) {
        let tag = failure.tag(network);
        let words = match worst {
            Some(first) if first.tag(network) != tag => {
                let first = first.tag(network);
                (mends.as_ref())
                    .map(|_| format!("mend {first} first, the worst one, then look again"))
            }
            Some(_) if is_first_of(failure, failures) => mends.clone(),
            _ => None,
        };
        put(findings, failure, tag, words);
    }
    for (place, failure) in failures.iter().filter(|f| f.cause() == Cause::Rim).enumerate() {
        let words = if place < MOST_TANKS { words(solved, failure, follow) } else { None };
        put(findings, failure, failure.tag(network), words);
    }
}

/// So many tanks' mends are looked for.
const MOST_TANKS: usize = 3;

/// The worst failure at a downspout that levels or pipes can mend: the others follow from it. Where
/// that one spills it lacks freeboard too, which is the more to ask for.
fn worst(failures: &[Failure]) -> Option<&Failure> {
    let first = failures.iter().find(|f| matches!(f.cause(), Cause::Spill | Cause::Freeboard))?;
    let lacks = failures
        .iter()
        .find(|f| f.cause() == Cause::Freeboard && f.downspout() == first.downspout());
    lacks.or(Some(first))
}

/// One downspout that both spills and lacks freeboard is told once, at its freeboard.
fn is_first_of(failure: &Failure, failures: &[Failure]) -> bool {
    let lacks = |f: &Failure| f.cause() == Cause::Freeboard && f.downspout() == failure.downspout();
    failure.cause() == Cause::Freeboard || !failures.iter().any(lacks)
}

fn put(findings: &mut [Finding], failure: &Failure, tag: &str, words: Option<String>) {
    let rule = wetrun_checks::rule_of(failure.cause()).name;
    let here = |f: &&mut Finding| f.rule == rule && f.at == tag && f.outcome == Outcome::Fail;
    if let Some(finding) = findings.iter_mut().find(here) {
        finding.mend = words;
    }
}

fn words(solved: &Solved, failure: &Failure, follow: Follow<'_>) -> Option<String> {
    let drawn = site_levels::drawn(solved);
    let state = State { steady: solved.steady.clone(), verdict: solved.verdict.clone() };
    let turns = |moved: &Drawn, state: &State| turns(solved, moved, state, follow);
    let units = solved.site.units;
    let asked = Asked { drawn: &drawn, state: &state, units, turns: &turns };
    let ways = ways(&asked, failure);
    let told: Vec<String> = ways.iter().map(|way| told(&drawn.network, units, way)).collect();
    (!told.is_empty()).then(|| told.join("; or "))
}

/// Whether a rule fails in a changed drawing that does not in the drawing as it is.
fn turns(solved: &Solved, moved: &Drawn, state: &State, follow: Follow<'_>) -> bool {
    let rains_of = |network| wetrun_checks::rains_asked_for(&solved.judged(), network);
    let (rains, facts) = (rains_of(&solved.site.network), facts_of(solved, moved));
    let before = Judged { spill_rains: &rains, mends: None, ..solved.judged_in_full() };
    let after = Judged {
        network: &moved.network,
        steady: &state.steady,
        verdict: &state.verdict,
        spill_rains: &rains_of(&moved.network),
        facts: &facts,
        ..before
    };
    wetrun_checks::turns_a_rule(&before, &after, || follow(&moved.network, &facts))
}

fn facts_of(solved: &Solved, moved: &Drawn) -> Facts {
    BySite { scenario: solved.scenario, facts: solved.facts.clone() }.facts_of(moved)
}

/// `lower T1: inlet to 105.90 ft, overflow to 105.70 ft`.
fn told(network: &Network, units: UnitSystem, mend: &Mend) -> String {
    let level = |level: &Length| units.show_level(*level).to_string();
    let parts: Vec<String> = mend
        .changes
        .iter()
        .map(|change| match change {
            Change::Level { at, to, .. } => name(*at, network, units, &level(to)),
            Change::Pipe(line, pipe) => format!("{} to {}", network.line(*line).tag, pipe.label),
            Change::OverflowPipe(tank, pipe) => {
                format!("the overflow of {} to {}", network.tank(*tank).tag, pipe.label)
            }
            Change::Rim { at, to, .. } => {
                format!("the rim of {} to {}", network.tank(*at).tag, level(to))
            }
        })
        .collect();
    let verb = match mend.changes.first() {
        Some(Change::Level { from, to, .. } | Change::Rim { from, to, .. }) => {
            if to < from {
                "lower"
            } else {
                "raise"
            }
        }
        _ => "enlarge",
    };
    format!("{verb} {}", list(&parts))
}

fn name(at: SetPoint, network: &Network, units: UnitSystem, to: &str) -> String {
    let tag = at.tag(network);
    match at {
        SetPoint::Inlet(id) => {
            let here = |l: &&Line| l.from == End::Tank(id) || l.to == End::Tank(id);
            let lines = network.lines().iter().filter(here).map(|l| l.tag.clone());
            let lines: Vec<String> = lines.collect();
            let ends = if lines.len() == 1 { "ends" } else { "end" };
            format!("the inlet of {tag} ({} {ends} there) to {to}", list(&lines))
        }
        SetPoint::End(id, _) => format!("the end of {} there to {to}", network.line(id).tag),
        SetPoint::Station(id, station) => {
            let line = network.line(id);
            let at = line.profile.get(station).map_or(Length::ZERO, |s| s.at);
            format!("the invert of {tag} at {} to {to}", units.show_length(at))
        }
        SetPoint::Overflow(_) => format!("the overflow of {tag} to {to}"),
        SetPoint::Opening(id) if network.downspout(id).leaf_head.is_some() => {
            format!("the leaf head of {tag} to {to}")
        }
        SetPoint::Opening(id) if network.downspout(id).lip > network.downspout(id).outlet => {
            format!("the outlet of {tag} to {to}, its lip as much")
        }
        SetPoint::Opening(_) => format!("the outlet of {tag} to {to}"),
        SetPoint::Vent(_) => format!("the vent of {tag} to {to}"),
        SetPoint::Cap(_) => format!("the cap of {tag} to {to}"),
        _ => format!("{} of {tag} to {to}", at.key(network)),
    }
}

fn list(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
