//! The levels of a site file: which there are, and the values of the file that move with each.

use crate::solved::Solved;
use wetrun_design::levels::{Drawn, OwnEnds, SetPoint};
use wetrun_network::{End, LineEnd};
use wetrun_site::Site;
use wetrun_site::edit::Edit;
use wetrun_units::{Length, UnitSystem, decimal};

/// A level that somebody sets.
#[derive(Clone, Debug)]
pub(crate) struct Level {
    /// The tag of what it belongs to.
    pub(crate) tag: String,
    /// The site file's key.
    pub(crate) key: String,
    /// Where it is drawn.
    pub(crate) design: Length,
    /// The set-point of the network; none for a vent or a drain, which carry no flow in a storm.
    pub(crate) set_point: Option<SetPoint>,
}

impl Level {
    /// Tag and key as a table names them.
    pub(crate) fn name(&self) -> String {
        format!("{} {}", self.tag, self.key)
    }
}

/// The site as the search for limits takes it.
pub(crate) fn drawn(solved: &Solved) -> Drawn {
    Drawn {
        network: solved.site.network.clone(),
        scenario: solved.scenario,
        freeboard: solved.facts.freeboard,
        own_ends: own_ends(&solved.site),
    }
}

fn own_ends(site: &Site) -> OwnEnds {
    let lines = site.network.lines().iter();
    let own = |tag: &str, key| site.place(&["lines", tag, key]).is_some();
    lines.map(|l| [own(&l.tag, "from_level"), own(&l.tag, "to_level")]).collect()
}

/// Every level that somebody sets: those of the network, then vents and drains.
pub(crate) fn levels(site: &Site, drawn: &Drawn) -> Vec<Level> {
    let network = &site.network;
    let mut all: Vec<Level> = drawn
        .set_points()
        .into_iter()
        .map(|s| Level {
            tag: s.tag(network).to_owned(),
            key: s.key(network),
            design: s.level(network),
            set_point: Some(s),
        })
        .collect();
    for (point, notes) in network.points().iter().zip(&site.points) {
        let vent = notes.review.vent.as_ref().and_then(|v| v.level);
        let drain = notes.review.drain_outlet.as_ref().and_then(|d| d.level);
        for (key, level) in [("vent.level", vent), ("drain_outlet.level", drain)] {
            all.extend(level.map(|design| Level {
                tag: point.tag.clone(),
                key: key.to_owned(),
                design,
                set_point: None,
            }));
        }
    }
    all
}

/// The values of the site file that put a level where it was found.
pub(crate) fn edits(site: &Site, level: &Level, found: Length) -> Vec<Edit> {
    let text = |level: Length| value(site.units, level);
    let network = &site.network;
    let tag = level.tag.as_str();
    let Some(set_point) = level.set_point else {
        let keys: Vec<&str> = ["points", tag].into_iter().chain(level.key.split('.')).collect();
        return vec![Edit::new(&keys, text(found))];
    };
    let mut edits = Vec::new();
    match set_point {
        SetPoint::Inlet(id) => {
            edits.push(Edit::new(&["tanks", tag, "inlet"], text(found)));
            edits.extend(profile_ends(site, End::Tank(id), &text(found)));
        }
        SetPoint::Overflow(_) => {
            edits.push(Edit::new(&["tanks", tag, "overflow", "level"], text(found)));
        }
        SetPoint::Opening(id) => {
            edits.push(Edit::new(&["downspouts", tag, &level.key], text(found)));
            let this = network.downspout(id);
            let lip_given = site.downspouts.get(id.index()).is_some_and(|notes| notes.lip_given);
            if this.leaf_head.is_none() && lip_given {
                let lip = found + (this.lip - this.outlet);
                edits.push(Edit::new(&["downspouts", tag, "lip"], text(lip)));
            }
        }
        SetPoint::Foot(id) => {
            edits.push(Edit::new(&["downspouts", tag, "foot"], text(found)));
            edits.extend(profile_ends(site, End::Downspout(id), &text(found)));
        }
        SetPoint::Point(id) => {
            edits.push(Edit::new(&["points", tag, "level"], text(found)));
            edits.extend(profile_ends(site, End::Point(id), &text(found)));
        }
        SetPoint::End(id, end) => {
            edits.push(Edit::new(&["lines", tag, &level.key], text(found)));
            let stations = network.line(id).profile.len();
            let station = if end == LineEnd::From { 0 } else { stations.saturating_sub(1) };
            edits.extend(station_edit(site, tag, station, &text(found)));
        }
        SetPoint::Station(_, station) => {
            edits.extend(station_edit(site, tag, station, &text(found)));
        }
    }
    edits
}

/// The profile's stations that stand where a node was moved.
fn profile_ends(site: &Site, end: End, text: &str) -> Vec<Edit> {
    let own = own_ends(site);
    let mut edits = Vec::new();
    for (line, own) in site.network.lines().iter().zip(own) {
        let last = line.profile.len().saturating_sub(1);
        for (here, own, station) in [(line.from, own[0], 0), (line.to, own[1], last)] {
            if here == end && !own {
                edits.extend(station_edit(site, &line.tag, station, text));
            }
        }
    }
    edits
}

/// A station's level, where the file gives the profile.
fn station_edit(site: &Site, line: &str, station: usize, text: &str) -> Option<Edit> {
    let station = station.to_string();
    let keys = ["lines", line, "profile", &station, "level"];
    site.place(&keys).map(|_| Edit::new(&keys, text))
}

/// A level as a site file writes it, to a ten-thousandth of a foot or a metre.
fn value(units: UnitSystem, level: Length) -> String {
    let (number, unit, least) = match units {
        UnitSystem::Us => (level.to_m() / 0.3048, "ft", 2),
        UnitSystem::Si => (level.to_m(), "m", 3),
    };
    let mut text = decimal(number, 4);
    while text.ends_with('0') && text.len() - text.find('.').unwrap_or(0) > least + 1 {
        text.pop();
    }
    format!("{text} {unit}")
}
