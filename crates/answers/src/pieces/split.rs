//! A line split at a new point.

use super::fresh::{item, mapping};
use super::place::on_grid;
use super::{outline, site};
use crate::outcome::Refusal;
use crate::site_levels::value;
use wetrun_network::{Line, Station};
use wetrun_site::edit::{Change, change};
use wetrun_site::{Outline, Site, Written};
use wetrun_units::{Length, UnitSystem};

/// Parts of a line are no shorter than this.
const SHORTEST: Length = Length::m(1e-3);

/// Where a line is split.
#[derive(Clone, Copy, Debug)]
pub struct Cut<'a> {
    /// The line; its first part keeps the tag.
    pub line: &'a str,
    /// The distance from its start, as typed.
    pub along: &'a str,
    /// The tag of its second part.
    pub rest: &'a str,
    /// The invert at the new point, as typed; between the ends where it is empty.
    pub level: &'a str,
}

/// What a line is at a place between its ends.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Halves {
    /// The middle of the line, as a file writes it.
    pub along: String,
    /// The invert there.
    pub level: String,
}

impl Halves {
    /// The middle of a line; `None` where there is no such line.
    pub fn of(site: &Site, line: &str) -> Option<Self> {
        let line = site.network.lines().iter().find(|found| found.tag == line)?;
        let along = line.length * 0.5;
        let written = |length| value(site.units, length);
        Some(Self { along: written(along), level: written(at(line, along).level) })
    }
}

/// The text with a line split at a new point.
///
/// # Errors
/// A refusal where a tag is empty or taken, the line is not there, or the place is not on it.
pub fn with_point(text: &str, point: &str, split: &Cut<'_>) -> Result<String, Refusal> {
    cut(text, point, split)
}

pub(super) fn cut(text: &str, point: &str, split: &Cut<'_>) -> Result<String, Refusal> {
    let (site, written) = (site(text)?, outline(text)?);
    let tag = split.line;
    let line = site.network.lines().iter().find(|line| line.tag == tag);
    let line = line.ok_or_else(|| Refusal::because(format_args!("there is no line `{tag}`")))?;
    let units = site.units;
    let along = length(units, split.along, "the distance along the line")?;
    if along < SHORTEST || along > line.length - SHORTEST {
        let whole = value(units, line.length);
        return Err(Refusal::because(format_args!(
            "a place on {tag} lies between its ends: more than 0 and less than {whole} from its start"
        )));
    }
    let mut here = at(line, along);
    if !split.level.trim().is_empty() {
        here.level = length(units, split.level, "the level of the new point")?;
    }
    let old = written.written(&["lines", tag, "length"]);
    let spelled = |length: Length| {
        let old = match old {
            Some(Written::Text(old)) => units.respell_level(old, length),
            _ => None,
        };
        old.unwrap_or_else(|| value(units, length))
    };
    // What is written is rounded: the second part is what the first leaves of the whole.
    let first = spelled(along);
    let along = units.read_level(&first).unwrap_or(along);
    let second = spelled(line.length - along);
    let keeps = ["from", "to", "length", "profile", "from_level", "fittings", "k"];
    let others = written.names(&["lines", tag]).into_iter().filter(|key| !keeps.contains(key));
    let copied: Vec<(&str, String)> =
        others.filter_map(|key| Some((key, written.in_one_line(&["lines", tag, key])?))).collect();
    let end = site.network.end_tag(line.to).to_owned();
    let mut rest = vec![("from", point.trim().to_owned()), ("to", end.clone())];
    rest.extend(copied.iter().cloned());
    rest.push(("length", second.clone()));
    let profile = written.written(&["lines", tag, "profile"]).is_some();
    if profile {
        rest.push(("profile", stations(units, &after(line, along, here), &second)));
    }
    let rest: Vec<(&str, &str)> = rest.iter().map(|(key, value)| (*key, value.as_str())).collect();
    let mut notes = vec![("level", level(units, split.level, here.level))];
    if let Some(ground) = here.ground {
        notes.push(("ground", value(units, ground)));
    }
    if let Some(place) = place(&written, units, &site, line, along) {
        notes.push(("at", place));
    }
    let notes: Vec<(&str, &str)> =
        notes.iter().map(|(key, value)| (*key, value.as_str())).collect();
    let added = change(text, &[item(text, "points", point, &notes)?]).map_err(Refusal::because)?;
    let second_part = item(&added, "lines", split.rest, &rest)?;
    let mut changes = vec![
        second_part,
        Change::text(&["lines", tag, "to"], point.trim()),
        Change::text(&["lines", tag, "length"], first.clone()),
    ];
    if profile {
        let kept = before(line, along);
        let station = |index: usize| index.to_string();
        for index in (kept..line.profile.len()).rev() {
            changes.push(Change::gone(&["lines", tag, "profile", &station(index)]));
        }
        let last = one(units, &here, &first);
        changes.push(Change::item(&["lines", tag, "profile", &station(kept)], last));
    }
    if written.written(&["lines", tag, "to_level"]).is_some() {
        changes.push(Change::gone(&["lines", tag, "to_level"]));
    }
    // A wye at the far end that names the line as its branch means the part that reaches it now.
    if written.written(&["points", &end, "branch"]) == Some(Written::Text(tag)) {
        changes.push(Change::text(&["points", &end, "branch"], split.rest.trim()));
    }
    change(&added, &changes).map_err(Refusal::because)
}

fn length(units: UnitSystem, typed: &str, what: &str) -> Result<Length, Refusal> {
    let read = units.read_level(typed.trim());
    read.map_err(|why| Refusal::because(format_args!("{what}: {why}")))
}

/// A level as it was typed, else as a file writes it.
fn level(units: UnitSystem, typed: &str, level: Length) -> String {
    match typed.trim() {
        "" => value(units, level),
        typed => typed.to_owned(),
    }
}

/// Invert and ground at a distance from a line's start.
pub(super) fn at(line: &Line, along: Length) -> Station {
    let pairs = line.profile.windows(2);
    let pair = pairs.clone().find(|pair| pair[1].at >= along).or_else(|| pairs.last());
    let Some([a, b]) = pair else {
        return Station { at: along, level: line.from_level(), ground: None };
    };
    let run = (b.at - a.at).to_m();
    let share = if run > 0.0 { (along - a.at).to_m() / run } else { 0.0 };
    let between = |x: Length, y: Length| x + (y - x) * share;
    let ground = a.ground.zip(b.ground).map(|(x, y)| between(x, y));
    Station { at: along, level: between(a.level, b.level), ground }
}

/// How many stations lie before a distance.
fn before(line: &Line, along: Length) -> usize {
    line.profile.iter().filter(|station| station.at < along - SHORTEST).count()
}

fn after(line: &Line, along: Length, here: Station) -> Vec<Station> {
    let kept = line.profile.iter().filter(|station| station.at > along + SHORTEST);
    let moved = kept.map(|station| Station { at: station.at - along, ..*station });
    [Station { at: Length::ZERO, ..here }].into_iter().chain(moved).collect()
}

/// Stations as a profile in one line, the last at the line's length as that is written.
pub(super) fn stations(units: UnitSystem, stations: &[Station], length: &str) -> String {
    let last = stations.len().saturating_sub(1);
    let written = stations.iter().enumerate().map(|(index, station)| match index == last {
        true => one(units, station, length),
        false => one(units, station, &value(units, station.at)),
    });
    format!("[{}]", written.collect::<Vec<_>>().join(", "))
}

/// A station in one line, at a distance as that is written.
pub(super) fn one(units: UnitSystem, station: &Station, at: &str) -> String {
    let level = value(units, station.level);
    let ground = station.ground.map(|ground| value(units, ground)).unwrap_or_default();
    mapping(&[("at", at), ("level", &level), ("ground", &ground)])
}

/// The place in plan between the ends of a line, where both have one.
fn place(
    written: &Outline,
    units: UnitSystem,
    site: &Site,
    line: &Line,
    along: Length,
) -> Option<String> {
    let of = |tag: &str| {
        let section = super::sort_of(written, tag)?;
        let axis = |axis: &str| match written.written(&[section, tag, "at", axis])? {
            Written::Text(text) => units.read_level(text).ok(),
            _ => None,
        };
        Some([axis("0")?, axis("1")?])
    };
    let [from, to] = [line.from, line.to].map(|end| of(site.network.end_tag(end)));
    let share = along.to_m() / line.length.to_m();
    let [x, y] = [0, 1].map(|axis| {
        let (a, b) = (from?[axis], to?[axis]);
        Some(value(units, on_grid(units, a + (b - a) * share)))
    });
    Some(format!("[{}, {}]", x?, y?))
}
