//! Levels moved by hand: which there are, how far each may go, and the text with one moved.

use crate::outcome::Refusal;
use crate::site_levels::{Put, at_points, lip, own_ends, puts, value};
use wetrun_design::levels::{SetPoint, set_points};
use wetrun_network::DownspoutId;
use wetrun_site::edit::{Edit, set_in, set_values};
use wetrun_site::{Outline, Site};
use wetrun_units::{HandSteps, Length};

/// A level that a hand can move.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Grip {
    /// The tag of what it belongs to.
    pub tag: String,
    /// The site file's key below the tag: `outlet`, `overflow.level`, `profile[1].level`.
    pub key: String,
    /// Where it stands.
    pub level: Length,
    /// The same as the file writes it.
    pub written: String,
    /// The lowest and the highest level at which the file still makes sense; none where it always
    /// does.
    pub bounds: [Option<Length>; 2],
    /// How it is moved.
    pub steps: HandSteps,
    pub(crate) at: Held,
}

/// Which level it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Held {
    /// One that the level schedule has.
    Set(SetPoint),
    /// A gutter outlet above a leaf head.
    Gutter(DownspoutId),
}

/// Where a hand puts a level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Move {
    /// As near to a level as its grid allows.
    To(Length),
    /// So many steps up, or down where there are less than none.
    Steps(i32),
    /// The same in fine steps.
    FineSteps(i32),
}

/// Levels of a site that a hand can move, those that are wanted.
pub(crate) fn grips(site: &Site, wanted: impl Fn(Held) -> bool) -> Vec<Grip> {
    some(site, |_, at| wanted(at))
}

/// Those of one piece.
pub fn grips_of(site: &Site, tag: &str) -> Vec<Grip> {
    some(site, |found, _| found == tag)
}

fn some(site: &Site, wanted: impl Fn(&str, Held) -> bool) -> Vec<Grip> {
    let network = &site.network;
    let at_points = at_points(site);
    let set = set_points(network, &own_ends(site), &at_points);
    let set = set.into_iter().filter(|at| wanted(at.tag(network), Held::Set(*at))).map(|at| {
        let (tag, key) = (at.tag(network), at.key(network));
        grip(site, tag, key, at.level(network, &at_points), at.bounds(network), Held::Set(at))
    });
    let gutters = network.downspouts().iter().enumerate();
    let gutters = gutters.filter_map(|(index, this)| {
        let rim = this.leaf_head?;
        let (key, at) = ("outlet".to_owned(), Held::Gutter(DownspoutId::new(index)));
        let bounds = [Some(rim), None];
        wanted(&this.tag, at).then(|| grip(site, &this.tag, key, this.outlet, bounds, at))
    });
    set.chain(gutters).collect()
}

fn grip(
    site: &Site,
    tag: &str,
    key: String,
    level: Length,
    bounds: [Option<Length>; 2],
    at: Held,
) -> Grip {
    let section = match at {
        Held::Gutter(_) | Held::Set(SetPoint::Opening(_) | SetPoint::Foot(_)) => "downspouts",
        Held::Set(SetPoint::Inlet(_) | SetPoint::Overflow(_)) => "tanks",
        Held::Set(SetPoint::End(..) | SetPoint::Station(..)) => "lines",
        Held::Set(
            SetPoint::Point(_) | SetPoint::Vent(_) | SetPoint::Cap(_) | SetPoint::DrainOutlet(_),
        ) => "points",
    };
    // `profile[1].level`, step by step.
    let steps = key.split(['.', '[', ']']).filter(|step| !step.is_empty());
    let keys: Vec<&str> = [section, tag].into_iter().chain(steps).collect();
    let written = site.written(&keys).unwrap_or_default().to_owned();
    let steps = site.units.hand_steps(&written);
    Grip { tag: tag.to_owned(), key, level, written, bounds, steps, at }
}

/// The text of a site file with a level moved: spelled as it was, with what stands at the same
/// place; and where the level is then.
///
/// # Errors
/// A refusal where the text is not that of the site.
pub fn moved_by_hand(
    text: &str,
    written: &Outline,
    site: &Site,
    grip: &Grip,
    by: Move,
) -> Result<(String, Outline), Refusal> {
    let steps = grip.steps;
    let level = match by {
        Move::To(level) => on_grid(level, steps.grid),
        Move::Steps(count) => grip.level + steps.step * f64::from(count),
        Move::FineSteps(count) => grip.level + steps.fine * f64::from(count),
    };
    let [low, high] = grip.bounds;
    let level = low.filter(|low| level < *low).unwrap_or(level);
    let level = high.filter(|high| level > *high).unwrap_or(level);
    let edits: Vec<Edit> = whereto(site, &grip.tag, grip.at, level)
        .into_iter()
        .map(|put| Edit { value: spelled(site, &put), keys: put.keys })
        .collect();
    set_in(text, written, &edits).map_err(Refusal::because)
}

/// The text of a site file with a level written anew as it was typed; what stands at the same place
/// moves along, where what was typed is a level at all.
///
/// # Errors
/// A refusal where the text is not that of the site.
pub fn typed_by_hand(text: &str, site: &Site, grip: &Grip, typed: &str) -> Result<String, Refusal> {
    let level = site.units.read_level(typed).ok();
    let puts = whereto(site, &grip.tag, grip.at, level.unwrap_or(grip.level));
    let mut edits = Vec::new();
    for (index, put) in puts.into_iter().enumerate() {
        let value = match (index, level) {
            (0, _) => typed.trim().to_owned(),
            (_, Some(_)) => spelled(site, &put),
            (_, None) => break,
        };
        edits.push(Edit { value, keys: put.keys });
    }
    set_values(text, &edits).map_err(Refusal::because)
}

/// A level in the spelling of the one that stands there, else in the usual one.
fn spelled(site: &Site, put: &Put) -> String {
    let old = written(site, put).and_then(|old| site.units.respell_level(old, put.level));
    old.unwrap_or_else(|| value(site.units, put.level))
}

fn whereto(site: &Site, tag: &str, at: Held, level: Length) -> Vec<Put> {
    match at {
        Held::Set(at) => puts(site, tag, at, level),
        Held::Gutter(id) => {
            let outlet = Put::new(&["downspouts", tag, "outlet"], level);
            std::iter::once(outlet).chain(lip(site, id, level)).collect()
        }
    }
}

fn written<'s>(site: &'s Site, put: &Put) -> Option<&'s str> {
    site.written(&put.keys.iter().map(String::as_str).collect::<Vec<_>>())
}

fn on_grid(level: Length, grid: Length) -> Length {
    Length::m((level.to_m() / grid.to_m()).round() * grid.to_m())
}
