//! The levels of a site file: which there are, and the values of the file that move with each.

use crate::level_rules::BySite;
use crate::solved::Settled;
use std::sync::Arc;
use wetrun_design::levels::{Drawn, OwnEnds, PointLevels, SetPoint};
use wetrun_network::{DownspoutId, End, LineEnd};
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
    let site = &solved.site;
    Drawn {
        network: site.network.clone(),
        scenario: solved.scenario,
        own_ends: own_ends(site),
        points: at_points(site),
        judge: Arc::new(BySite { scenario: solved.scenario, facts: solved.facts.clone() }),
    }
}

/// What stands at each point besides its invert.
pub(crate) fn at_points(site: &Site) -> Vec<PointLevels> {
    site.points.iter().map(point_levels).collect()
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
    let edit = |put: Put| Edit { value: value(site.units, put.level), keys: put.keys };
    puts(site, &level.tag, level.set_point, found).into_iter().map(edit).collect()
}

/// A value of the site file, and the level that it takes.
#[derive(Clone, Debug)]
pub(crate) struct Put {
    /// The keys that lead to it.
    pub(crate) keys: Vec<String>,
    /// Its level.
    pub(crate) level: Length,
}

impl Put {
    pub(crate) fn new(keys: &[&str], level: Length) -> Self {
        Self { keys: keys.iter().map(|key| (*key).to_owned()).collect(), level }
    }
}

/// What a level moves in the file, and whereto: itself, and what stands at the same place.
pub(crate) fn puts(site: &Site, tag: &str, at: SetPoint, found: Length) -> Vec<Put> {
    let network = &site.network;
    let key = at.key(network);
    let at_point = || {
        let keys: Vec<&str> = ["points", tag].into_iter().chain(key.split('.')).collect();
        Put::new(&keys, found)
    };
    let mut puts = Vec::new();
    match at {
        SetPoint::Inlet(id) => {
            puts.push(Put::new(&["tanks", tag, "inlet"], found));
            puts.extend(profile_ends(site, End::Tank(id), found));
        }
        SetPoint::Overflow(_) => {
            puts.push(Put::new(&["tanks", tag, "overflow", "level"], found));
        }
        SetPoint::Opening(id) => {
            puts.push(Put::new(&["downspouts", tag, &key], found));
            if network.downspout(id).leaf_head.is_none() {
                puts.extend(lip(site, id, found));
            }
        }
        SetPoint::Foot(id) => {
            puts.push(Put::new(&["downspouts", tag, "foot"], found));
            puts.extend(profile_ends(site, End::Downspout(id), found));
        }
        SetPoint::Point(id) => {
            puts.push(at_point());
            puts.extend(profile_ends(site, End::Point(id), found));
        }
        SetPoint::Vent(_) | SetPoint::Cap(_) | SetPoint::DrainOutlet(_) => puts.push(at_point()),
        SetPoint::End(id, end) => {
            puts.push(Put::new(&["lines", tag, &key], found));
            let stations = network.line(id).profile.len();
            let station = if end == LineEnd::From { 0 } else { stations.saturating_sub(1) };
            puts.extend(station_put(site, tag, station, found));
        }
        SetPoint::Station(_, station) => puts.extend(station_put(site, tag, station, found)),
    }
    puts
}

/// The lip of a gutter whose outlet is put at `outlet`: it keeps its height above it, where given.
pub(crate) fn lip(site: &Site, id: DownspoutId, outlet: Length) -> Option<Put> {
    let this = site.network.downspout(id);
    let given = site.downspouts.get(id.index()).is_some_and(|notes| notes.lip_given);
    given.then(|| Put::new(&["downspouts", &this.tag, "lip"], outlet + (this.lip - this.outlet)))
}

/// The profile's stations that stand where a node was moved.
fn profile_ends(site: &Site, end: End, level: Length) -> Vec<Put> {
    let own = own_ends(site);
    let mut puts = Vec::new();
    for (line, own) in site.network.lines().iter().zip(own) {
        let last = line.profile.len().saturating_sub(1);
        for (here, own, station) in [(line.from, own[0], 0), (line.to, own[1], last)] {
            if here == end && !own {
                puts.extend(station_put(site, &line.tag, station, level));
            }
        }
    }
    puts
}

/// A station's level, where the file gives the profile.
fn station_put(site: &Site, line: &str, station: usize, level: Length) -> Option<Put> {
    let station = station.to_string();
    let keys = ["lines", line, "profile", &station, "level"];
    site.place(&keys).map(|_| Put::new(&keys, level))
}

/// A level as a site file writes it, to a hundred-thousandth of a foot or a metre.
pub(crate) fn value(units: UnitSystem, level: Length) -> String {
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
