//! The first lines: the verdict, its worst cause, and the rain at which that begins.

use super::openings;
use crate::render::rain;
use crate::render::show::Show;
use crate::render::table::Cells;
use crate::render::wrap::wrap;
use crate::solved::{Settled, Solved};
use anstyle::{AnsiColor, Style};
use std::ops::Deref;
use wetrun_network::DownspoutId;
use wetrun_solver::{SpillRains, TankState};
use wetrun_units::{Flow, Intensity, Length, Shown, UnitSystem, decimal};
use wetrun_verdict::Failure;

/// Columns that the verdict's word takes.
const WORD: usize = 7;
/// So many other places that fail are named.
const NAMED: usize = 4;

/// A settled site with its spill rains, once these are known: what they would add is left out
/// before, and where none were looked for.
#[derive(Clone, Copy)]
pub(crate) struct Told<'a> {
    pub(crate) settled: &'a Settled,
    pub(crate) rains: Option<&'a SpillRains>,
}

impl<'a> From<&'a Solved> for Told<'a> {
    fn from(solved: &'a Solved) -> Self {
        Self { settled: solved, rains: Some(&solved.spill_rains) }
    }
}

impl<'a> Told<'a> {
    /// The rains, where they are known and were looked for.
    fn known(self) -> Option<&'a SpillRains> {
        self.rains.filter(|rains| rains.looked_for())
    }

    /// The cell of the rain at which water first leaves a place.
    pub(crate) fn rain(
        self,
        cells: Cells,
        of: fn(&SpillRains) -> &Vec<Option<Intensity>>,
        index: usize,
    ) -> Cells {
        let Some(rains) = self.rains else { return cells.words("\u{2026}") };
        let own = of(rains).get(index).copied().flatten();
        cells.number(|s| rain::cell(s, own, self.settled.scenario.intensity))
    }
}

impl Deref for Told<'_> {
    type Target = Settled;

    fn deref(&self) -> &Settled {
        self.settled
    }
}

/// The verdict and the storm it was reached in.
pub(crate) fn verdict(solved: &Solved, show: Show) -> String {
    let word = word(solved);
    let color = if solved.verdict.holds() { AnsiColor::Green } else { AnsiColor::Red };
    let style = Style::new().bold().fg_color(Some(color.into()));
    let words = format!("{}{}", cause(solved, show), others(solved));
    format!(
        "{style}{word}{style:#}  {}\n{}{}\n",
        wrap(&words, WORD, WORD),
        " ".repeat(WORD),
        wrap(&under(solved, show), WORD, WORD)
    )
}

/// The site and the storm, which stand under the verdict.
pub(crate) fn under(settled: &Settled, show: Show) -> String {
    let tanks = match settled.scenario.tanks {
        TankState::Full => "full",
        TankState::Empty => "empty",
    };
    let rain = show.prose(|system| system.show_intensity(settled.site.storm.intensity));
    format!("{}, {rain} of rain, tanks {tanks}", settled.site.name)
}

/// Whether it holds, as a headline has it.
pub(crate) fn word(solved: &Settled) -> &'static str {
    if solved.verdict.holds() { "HOLDS" } else { "FAILS" }
}

/// What decides: the worst of what fails, else the downspout with the least left.
pub(crate) fn cause<'a>(solved: impl Into<Told<'a>>, show: Show) -> String {
    let solved = solved.into();
    match (solved.verdict.worst_failure(), solved.verdict.tightest()) {
        (Some(failure), _) => failed(solved, show, failure),
        (None, Some(tightest)) => {
            let side = standing(solved, show, tightest.at, None);
            let rain = spills(solved, show, tightest.at);
            format!("worst is {}, {side}{rain}", tag(&solved, tightest.at))
        }
        (None, None) => "no downspout, so no water to carry".to_owned(),
    }
}

/// One thing that fails, with the rain at which it begins.
pub(crate) fn failed<'a>(solved: impl Into<Told<'a>>, show: Show, failure: &Failure) -> String {
    let solved = solved.into();
    let flow = |flow: Flow| show.prose(|s| s.show_flow(flow));
    let network = &solved.site.network;
    let carried = |what: &str, does: &str, at: DownspoutId, short: Flow| {
        let demand = solved.steady.downspouts[at.index()].demand;
        let (at, gets, of) = (tag(&solved, at), flow(demand - short), flow(demand));
        format!("the {what} {at} {does} {gets} of its {of}")
    };
    match *failure {
        Failure::Spills { at, spilled } => {
            let state = &solved.steady.downspouts[at.index()];
            let of = if state.admitted.to_m3_per_s() < 0.0 {
                ", more than its own roof brings".to_owned()
            } else {
                format!(" of its {}", flow(state.demand))
            };
            let begins =
                begins(solved, show, tag(&solved, at), |rains| &rains.downspouts, at.index());
            format!("{} spills {}{of}{begins}", tag(&solved, at), flow(spilled))
        }
        Failure::Escapes { at, escapes } => {
            let place = network.openings().position(|(id, _)| id == at).unwrap_or(usize::MAX);
            let kind = network.point(at).opening.map_or("opening", |o| openings::word(o.kind));
            let tag = &network.point(at).tag;
            let begins = begins(solved, show, tag, |rains| &rains.openings, place);
            format!("the {kind} at {tag} lets {} out{begins}", flow(escapes))
        }
        Failure::OverRim { at, over } => {
            let tag = &network.tank(at).tag;
            let begins = begins(solved, show, tag, |rains| &rains.rims, at.index());
            format!("{tag} runs over its rim by {}{begins}", flow(over))
        }
        Failure::Gutter { at, short } => carried("gutter of", "carries", at, short),
        Failure::Outlet { at, short } => carried("gutter outlet of", "takes", at, short),
        Failure::Freeboard { at, asked, .. } => {
            let side = standing(solved, show, at, Some(asked));
            format!("{} stands {side}{}", tag(&solved, at), spills(solved, show, at))
        }
        _ => format!("{} fails", failure.tag(network)),
    }
}

/// How far water stands from the opening, and what was asked for where that is lacking.
fn standing(solved: Told<'_>, show: Show, at: DownspoutId, asked: Option<Length>) -> String {
    let headroom = solved.steady.downspouts[at.index()].headroom;
    let leaf_head = solved.site.network.downspout(at).leaf_head.is_some();
    let opening = if leaf_head { "leaf head" } else { "gutter outlet" };
    let (size, side) = if headroom.to_m() < 0.0 {
        (Length::ZERO - headroom, "above")
    } else {
        (headroom, "below")
    };
    let apart = show.prose(|s| told_apart(s, size, asked));
    let asked = asked.map(|asked| format!(" ({} asked)", show.prose(|s| s.show_height(asked))));
    format!("{apart} {side} the {opening}{}", asked.unwrap_or_default())
}

/// A height with as many digits as tell it from another.
fn told_apart(system: UnitSystem, height: Length, from: Option<Length>) -> Shown {
    let shown = system.show_height(height);
    let Some(from) = from.filter(|from| system.show_height(*from).number == shown.number) else {
        return shown;
    };
    let per_m = if system == UnitSystem::Us { 1.0 / 0.0254 } else { 1000.0 };
    let number = |length: Length, places| decimal(length.to_m() * per_m, places);
    let places = (1..9).find(|p| number(height, *p) != number(from, *p)).unwrap_or(9);
    Shown { number: number(height, places), unit: shown.unit }
}

/// The rain at which a downspout spills, and what lets water out before it does; nothing where the
/// rains are not known yet.
fn spills(solved: Told<'_>, show: Show, at: DownspoutId) -> String {
    let Some(rains) = solved.known() else { return String::new() };
    let own = rains.downspouts.get(at.index()).copied().flatten();
    let words = rain::words(show, ["spills", "spill"], own, solved.scenario.intensity);
    format!("; it {words}{}", first(&solved, rains, show, own, tag(&solved, at)))
}

/// The rain at which something begins at a place, likewise.
fn begins(
    solved: Told<'_>,
    show: Show,
    tag: &str,
    of: fn(&SpillRains) -> &Vec<Option<Intensity>>,
    index: usize,
) -> String {
    let Some(rains) = solved.known() else { return String::new() };
    let own = of(rains).get(index).copied().flatten();
    let words = rain::words(show, ["begins", "begin"], own, solved.scenario.intensity);
    format!("; it {words}{}", first(&solved, rains, show, own, tag))
}

/// The place that lets water out at the least rain, where it is another and does so before.
fn first(
    solved: &Settled,
    rains: &SpillRains,
    show: Show,
    own: Option<Intensity>,
    but: &str,
) -> String {
    let network = &solved.site.network;
    let downspouts = network.downspouts().iter().map(|d| d.tag.as_str()).zip(&rains.downspouts);
    let openings = network.openings().map(|(id, _)| network.point(id).tag.as_str());
    let tanks = network.tanks().iter().map(|t| t.tag.as_str()).zip(&rains.rims);
    let earliest = downspouts
        .chain(openings.zip(&rains.openings))
        .chain(tanks)
        .filter_map(|(tag, rain)| Some((tag, (*rain)?)))
        .min_by(|(_, a), (_, b)| a.to_m_per_s().total_cmp(&b.to_m_per_s()));
    match earliest {
        // Within a thousandth two rains are the same: that is how finely they are known.
        Some((tag, rain))
            if tag != but && own.is_none_or(|own| rain.to_m_per_s() < own.to_m_per_s() * 0.999) =>
        {
            format!(" ({tag} first, at {})", show.prose(|s| s.show_intensity(rain)))
        }
        _ => String::new(),
    }
}

/// Which other places fail, where the worst cause is not the whole story.
pub(crate) fn others(solved: &Settled) -> String {
    let network = &solved.site.network;
    let mut failures = solved.verdict.failures().iter().map(|f| f.tag(network));
    let worst = failures.next();
    let mut places: Vec<&str> = Vec::new();
    for tag in failures.filter(|tag| Some(*tag) != worst) {
        if !places.contains(&tag) {
            places.push(tag);
        }
    }
    match places.as_slice() {
        [] => String::new(),
        [one] => format!("; {one} fails too"),
        many if many.len() <= NAMED => format!("; {} fail too", many.join(", ")),
        many => format!("; {} more places fail", many.len()),
    }
}

fn tag(solved: &Settled, at: DownspoutId) -> &str {
    &solved.site.network.downspout(at).tag
}
