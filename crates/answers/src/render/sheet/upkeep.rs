//! The owner's work: what the site calls for, where, and when.
//!
//! Intervals are common practice, no code; where the site file states how often the system is
//! inspected, that stands first.

use super::documents::words;
use crate::flush::Alone;
use crate::render::clock;
use crate::solved::Solved;
use wetrun_checks::{Amount, Facts, FirstFlush, Stated};
use wetrun_network::{Network, PointId};
use wetrun_sheet::UpkeepRow;

/// Leaf heads, leaf screens and first-flush devices.
const SCREENS: &str = "Every one to three months";
const TWICE: &str = "Twice a year";
const YEARLY: &str = "Once a year";
const FROST: &str = "Before the first frost";
const RARELY: &str = "Every two to three years";

/// The rows of the owner's page, in the order of how often.
pub(super) fn rows(solved: &Solved) -> Vec<UpkeepRow> {
    let (network, facts) = (&solved.site.network, &solved.facts);
    let mut rows = Rows::default();
    if let Some(Stated::Yes(interval)) = &facts.documents.inspection {
        let work = "Have the whole system looked over by somebody who knows it.";
        rows.add(&capital(interval), vec!["everything"], work);
    }
    tops(network, facts, &mut rows);
    drains(solved, &mut rows);
    vents(network, facts, &mut rows);
    let tanks: Vec<&str> = network.tanks().iter().map(|t| t.tag.as_str()).collect();
    let screens = "See that the inlet screen is clean and whole, and the overflow free.";
    rows.add(TWICE, tanks.clone(), screens);
    let points = network.points().iter().filter(|p| p.cleanout).map(|p| p.tag.as_str());
    let feet = network.downspouts().iter().zip(&facts.downspouts);
    let feet = feet.filter(|(_, shown)| shown.cleanout == Some(true)).map(|(d, _)| d.tag.as_str());
    let cleanouts = points.chain(feet).collect();
    rows.add(YEARLY, cleanouts, "Drain the line, open, look for silt, flush, close watertight.");
    rows.add(RARELY, tanks, "Look at the sludge from above. Never climb in.");
    frost(solved, &mut rows);
    rows.finish(network)
}

/// Work at places: when, where, what.
#[derive(Default)]
struct Rows(Vec<(String, Vec<String>, String)>);

impl Rows {
    /// A row for these places; the same work elsewhere joins the row that is there.
    fn add(&mut self, when: &str, places: Vec<&str>, work: &str) {
        if places.is_empty() {
            return;
        }
        let places = places.into_iter().map(str::to_owned);
        match self.0.iter_mut().find(|row| row.0 == when && row.2 == work) {
            Some(row) => row.1.extend(places),
            None => self.0.push((when.to_owned(), places.collect(), work.to_owned())),
        }
    }

    /// The rows with their places in words; a long list of all downspouts is just that.
    fn finish(self, network: &Network) -> Vec<UpkeepRow> {
        const LONG: usize = 8;
        let all: Vec<&str> = network.downspouts().iter().map(|d| d.tag.as_str()).collect();
        let row = |(when, places, work): (String, Vec<String>, String)| {
            let everywhere = places.len() >= LONG && places == all;
            let place = if everywhere { "every downspout".to_owned() } else { places.join(", ") };
            UpkeepRow { when, place, work }
        };
        self.0.into_iter().map(row).collect()
    }
}

/// Gutters, screens and first-flush devices.
fn tops(network: &Network, facts: &Facts, rows: &mut Rows) {
    let downspouts = || network.downspouts().iter().zip(&facts.downspouts);
    let screened = downspouts()
        .filter(|(d, shown)| d.leaf_head.is_some() || shown.screen.is_some())
        .map(|(d, _)| d.tag.as_str());
    rows.add(SCREENS, screened.collect(), "Take leaves off the leaf heads and screens.");
    let devices = downspouts()
        .map(|(d, shown)| (&d.tag, &shown.first_flush))
        .chain(network.points().iter().zip(&facts.points).map(|(p, s)| (&p.tag, &s.first_flush)));
    for (tag, device) in devices {
        if let Some(device) = device {
            rows.add(SCREENS, vec![tag], &empty(device, facts));
        }
    }
    let all = network.downspouts().iter().map(|d| d.tag.as_str()).collect();
    rows.add("Twice a year, and after leaf fall", all, "Clean the gutters.");
    let meshes =
        downspouts().filter(|(_, shown)| shown.insect_mesh.is_some()).map(|(d, _)| d.tag.as_str());
    rows.add(TWICE, meshes.collect(), "See that the insect mesh at the top is whole.");
}

fn empty(device: &FirstFlush, facts: &Facts) -> String {
    let holds = device.volume.map(|v| format!(", {}", Amount::Volume(v).show(facts.units)));
    format!("Empty and clean the first-flush device{}.", holds.unwrap_or_default())
}

/// Low-point drains in the order in which to open them, each with how much comes, for how long, and
/// where to.
fn drains(solved: &Solved, rows: &mut Rows) {
    let (network, facts) = (&solved.site.network, &solved.facts);
    let mut drains: Vec<(PointId, Option<&Alone>)> = match solved.drains_alone() {
        Some(alone) => alone.iter().map(|alone| (alone.at, Some(alone))).collect(),
        None => {
            let points = network.points().iter().enumerate();
            let drains = points.filter(|(_, point)| point.drain.is_some());
            drains.map(|(place, _)| (PointId::new(place), None)).collect()
        }
    };
    let count = drains.len();
    for (place, (at, alone)) in drains.drain(..).enumerate() {
        let shown = facts.point(at.index());
        let to = match shown.drain_outlet.as_ref().and_then(|outlet| outlet.to.as_ref()) {
            Some(Stated::Yes(to)) => format!(" It runs out to: {to}."),
            _ => String::new(),
        };
        let much = alone.map_or_else(String::new, |alone| {
            format!(
                " About {} come, most of it within {}.",
                Amount::Volume(alone.flushed.drained).show(facts.units),
                clock::length(alone.flushed.most_drained)
            )
        });
        let turn = match count {
            1 => "Open".to_owned(),
            _ => format!("Drain {} of {count}, in this order: open", place + 1),
        };
        let shut = alone.and_then(|alone| shut_first(solved, alone));
        let shut = shut.map_or_else(String::new, |shut| format!("{shut} "));
        let flush = format!(
            "{shut}{turn} the drain, let the line run out until the water is clear, and close it again."
        );
        rows.add(TWICE, vec![&network.point(at).tag], &format!("{flush}{much}{to}"));
    }
}

/// What is shut before a drain is opened, so that no tank runs out through it.
pub(super) fn shut_first(solved: &Solved, alone: &Alone) -> Option<String> {
    let network = &solved.site.network;
    let shut = alone.flushed.shut.iter().map(|shut| {
        format!("{} at {}", network.line(shut.line).tag, network.tanks()[shut.tank.index()].tag)
    });
    let shut: Vec<String> = shut.collect();
    (!shut.is_empty()).then(|| {
        format!(
            "First shut {}: the tank would run out too. When the drain is closed, open it again.",
            shut.join(", ")
        )
    })
}

fn vents(network: &Network, facts: &Facts, rows: &mut Rows) {
    let points = network.points().iter().zip(&facts.points);
    let vents = points.filter(|(_, shown)| shown.vent.is_some()).map(|(p, _)| p.tag.as_str());
    let work = "See that the vent is open and its mesh whole. Do not plug it.";
    rows.add(TWICE, vents.collect(), work);
}

/// What frost asks for: draining, by how deep the file says that the ground freezes, and what it
/// says of single parts.
fn frost(solved: &Solved, rows: &mut Rows) {
    let (network, facts) = (&solved.site.network, &solved.facts);
    let drains: Vec<&str> =
        network.points().iter().filter(|p| p.drain.is_some()).map(|p| p.tag.as_str()).collect();
    let close = "Close it when the frost is over: until then the roof's water runs out there.";
    let depth = facts.ground.frost_depth;
    let why = match depth {
        Some(depth) if depth.to_m() <= 0.0 => None,
        Some(depth) => Some(format!(
            "The ground freezes {} deep here.",
            Amount::Length(depth).show(facts.units)
        )),
        None => Some("The site file does not show how deep the ground freezes: ask.".to_owned()),
    };
    match why {
        Some(why) if drains.is_empty() => {
            let work = "No drain is shown: ask how the line is emptied before it freezes.";
            rows.add(FROST, vec!["site"], &format!("{why} {work}"));
        }
        Some(why) => {
            let work = "Open the drain, let the line run out, and leave the drain open.";
            let alone = solved.drains_alone().and_then(|alone| alone.first());
            let shut = alone.and_then(|alone| shut_first(solved, alone));
            let shut = shut.map_or_else(String::new, |shut| format!("{shut} "));
            rows.add(FROST, drains, &format!("{why} {shut}{work} {close}"));
        }
        None => {}
    }
    let downspouts = network.downspouts().iter().zip(&facts.downspouts);
    let lines = network.lines().iter().zip(&facts.lines);
    let tanks = network.tanks().iter().zip(&facts.tanks);
    let stated = downspouts
        .map(|(d, shown)| (&d.tag, &shown.frost))
        .chain(lines.map(|(l, shown)| (&l.tag, &shown.frost)))
        .chain(tanks.map(|(t, shown)| (&t.tag, &shown.frost)));
    for (tag, stated) in stated.filter(|(_, stated)| matches!(stated, Some(Stated::Yes(_)))) {
        let how = words(stated.as_ref()).unwrap_or_default();
        rows.add(FROST, vec![tag], &format!("Kept from freezing as designed: {how}."));
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + chars.as_str())
}
