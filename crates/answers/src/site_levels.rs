//! The levels of a site file: which there are, and the values of the file that move with each.

use crate::level_rules::BySite;
use crate::solved::Settled;
use std::sync::Arc;
use wetrun_design::levels::{Drawn, OwnEnds, PointLevels, SetPoint};
use wetrun_network::{End, LineEnd, PointId};
use wetrun_site::Site;
use wetrun_site::edit::Edit;
use wetrun_site::review_keys::Cap;
use wetrun_units::{Length, UnitSystem, decimal};

/// A level that somebody sets.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Level {
    /// The tag of what it belongs to.
    pub tag: String,
    /// The site file's key.
    pub key: String,
    /// Where it is drawn.
    pub design: Length,
    /// The level of the network.
    pub set_point: SetPoint,
}

impl Level {
    /// Tag and key as a table names them.
    pub fn name(&self) -> String {
        format!("{} {}", self.tag, self.key)
    }
}

/// The site as the search for limits takes it.
pub(crate) fn drawn(solved: &Settled) -> Drawn {
    Drawn {
        network: solved.site.network.clone(),
        scenario: solved.scenario,
        own_ends: own_ends(&solved.site),
        points: solved.site.points.iter().map(point_levels).collect(),
        judge: Arc::new(BySite { scenario: solved.scenario, facts: solved.facts.clone() }),
    }
}

fn point_levels(notes: &wetrun_site::PointNotes) -> PointLevels {
    PointLevels {
        vent: notes.review.vent.as_ref().and_then(|v| v.level),
        cap: match notes.review.cap {
            Some(Cap::At(level)) => Some(level),
            Some(Cap::Sealed) | None => None,
        },
        drain_outlet: notes.review.drain_outlet.as_ref().and_then(|d| d.level),
    }
}

/// The site with its levels as they stand in `moved`.
pub(crate) fn with_levels(site: &Site, moved: &Drawn) -> Site {
    let mut site = site.clone();
    site.network = moved.network.clone();
    for (notes, levels) in site.points.iter_mut().zip(&moved.points) {
        let shown = &mut notes.review;
        if let Some(vent) = shown.vent.as_mut() {
            vent.level = levels.vent;
        }
        if let Some(level) = levels.cap {
            shown.cap = Some(Cap::At(level));
        }
        if let Some(drain) = shown.drain_outlet.as_mut() {
            drain.level = levels.drain_outlet;
        }
    }
    site
}

/// For each line whether its two ends have levels of their own.
pub(crate) fn own_ends(site: &Site) -> OwnEnds {
    let lines = site.network.lines().iter();
    let own = |tag: &str, key| site.place(&["lines", tag, key]).is_some();
    lines.map(|l| [own(&l.tag, "from_level"), own(&l.tag, "to_level")]).collect()
}

/// Every level that somebody sets.
pub(crate) fn levels(drawn: &Drawn) -> Vec<Level> {
    let network = &drawn.network;
    let level = |set_point: SetPoint| Level {
        tag: set_point.tag(network).to_owned(),
        key: set_point.key(network),
        design: drawn.level(set_point),
        set_point,
    };
    drawn.set_points().into_iter().map(level).collect()
}

/// The values of the site file that put a level where it was found.
pub(crate) fn edits(site: &Site, level: &Level, found: Length) -> Vec<Edit> {
    let text = |level: Length| value(site.units, level);
    let network = &site.network;
    let tag = level.tag.as_str();
    let at_point = |_: PointId| {
        let keys: Vec<&str> = ["points", tag].into_iter().chain(level.key.split('.')).collect();
        Edit::new(&keys, text(found))
    };
    let mut edits = Vec::new();
    match level.set_point {
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
            edits.push(at_point(id));
            edits.extend(profile_ends(site, End::Point(id), &text(found)));
        }
        SetPoint::Vent(id) | SetPoint::Cap(id) | SetPoint::DrainOutlet(id) => {
            edits.push(at_point(id));
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

/// A level as a site file writes it, to a hundred-thousandth of a foot or a metre.
fn value(units: UnitSystem, level: Length) -> String {
    let (number, unit) = number(units, level);
    format!("{number} {unit}")
}

/// The same without its unit, and that unit.
pub(crate) fn number(units: UnitSystem, level: Length) -> (String, &'static str) {
    let (number, unit, least) = match units {
        UnitSystem::Us => (level.to_m() / 0.3048, "ft", 2),
        UnitSystem::Si => (level.to_m(), "m", 3),
    };
    let mut text = decimal(number, 5);
    while text.ends_with('0') && text.len() - text.find('.').unwrap_or(0) > least + 1 {
        text.pop();
    }
    (text, unit)
}
