//! The first lines: the verdict, its worst cause, and the rain at which that begins.

use super::openings;
use crate::render::rain;
use crate::render::show::Show;
use crate::render::wrap::wrap;
use crate::solved::Solved;
use anstyle::{AnsiColor, Style};
use wetrun_network::DownspoutId;
use wetrun_solver::TankState;
use wetrun_units::{Flow, Intensity, Length, Shown, UnitSystem, decimal};
use wetrun_verdict::Failure;

/// Columns that the verdict's word takes.
const WORD: usize = 7;
/// So many other places that fail are named.
const NAMED: usize = 4;

/// The verdict and the storm it was reached in.
pub(crate) fn verdict(solved: &Solved, show: Show) -> String {
    let word = word(solved);
    let color = if solved.verdict.holds() { AnsiColor::Green } else { AnsiColor::Red };
    let style = Style::new().bold().fg_color(Some(color.into()));
    let words = format!("{}{}", cause(solved, show), others(solved));
    let storm = &solved.site.storm;
    let tanks = match solved.scenario.tanks {
        TankState::Full => "full",
        TankState::Empty => "empty",
    };
    let rain = show.prose(|system| system.show_intensity(storm.intensity));
    let under = format!("{}, {rain} of rain, tanks {tanks}", solved.site.name);
    format!(
        "{style}{word}{style:#}  {}\n{}{}\n",
        wrap(&words, WORD, WORD),
        " ".repeat(WORD),
        wrap(&under, WORD, WORD)
    )
}

/// Whether it holds, as a headline has it.
pub(crate) fn word(solved: &Solved) -> &'static str {
    if solved.verdict.holds() { "HOLDS" } else { "FAILS" }
}

/// What decides: the worst of what fails, else the downspout with the least left.
pub(crate) fn cause(solved: &Solved, show: Show) -> String {
    match (solved.verdict.worst_failure(), solved.verdict.tightest()) {
        (Some(failure), _) => failed(solved, show, failure),
        (None, Some(tightest)) => {
            let side = standing(solved, show, tightest.at, None);
            let rain = spills(solved, show, tightest.at);
            format!("worst is {}, {side}{rain}", tag(solved, tightest.at))
        }
        (None, None) => "no downspout, so no water to carry".to_owned(),
    }
}

/// One thing that fails, with the rain at which it begins.
pub(crate) fn failed(solved: &Solved, show: Show, failure: &Failure) -> String {
    let flow = |flow: Flow| show.prose(|s| s.show_flow(flow));
    let network = &solved.site.network;
    match *failure {
        Failure::Spills { at, spilled } => {
            let state = &solved.steady.downspouts[at.index()];
            let of = if state.admitted.to_m3_per_s() < 0.0 {
                ", more than its own roof brings".to_owned()
            } else {
                format!(" of its {}", flow(state.demand))
            };
            let rain = solved.spill_rains.downspouts.get(at.index()).copied().flatten();
            format!(
                "{} spills {}{of}{}",
                tag(solved, at),
                flow(spilled),
                begins(solved, show, rain, tag(solved, at))
            )
        }
        Failure::Escapes { at, escapes } => {
            let place = network.openings().position(|(id, _)| id == at);
            let rain = place.and_then(|p| solved.spill_rains.openings.get(p).copied().flatten());
            let kind = network.point(at).opening.map_or("opening", |o| openings::word(o.kind));
            let tag = &network.point(at).tag;
            format!(
                "the {kind} at {tag} lets {} out{}",
                flow(escapes),
                begins(solved, show, rain, tag)
            )
        }
        Failure::OverRim { at, over } => {
            let rain = solved.spill_rains.rims.get(at.index()).copied().flatten();
            let tag = &network.tank(at).tag;
            format!("{tag} runs over its rim by {}{}", flow(over), begins(solved, show, rain, tag))
        }
        Failure::Gutter { at, short } => {
            let demand = solved.steady.downspouts[at.index()].demand;
            format!(
                "the gutter of {} carries {} of its {}",
                tag(solved, at),
                flow(demand - short),
                flow(demand)
            )
        }
        Failure::Outlet { at, short } => {
            let demand = solved.steady.downspouts[at.index()].demand;
            format!(
                "the gutter outlet of {} takes {} of its {}",
                tag(solved, at),
                flow(demand - short),
                flow(demand)
            )
        }
        Failure::Freeboard { at, asked, .. } => {
            let side = standing(solved, show, at, Some(asked));
            format!("{} stands {side}{}", tag(solved, at), spills(solved, show, at))
        }
        _ => format!("{} fails", failure.tag(network)),
    }
}

/// How far water stands from the opening, and what was asked for where that is lacking.
fn standing(solved: &Solved, show: Show, at: DownspoutId, asked: Option<Length>) -> String {
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

/// The rain at which a downspout spills, and what lets water out before it does; nothing where none
/// was looked for.
fn spills(solved: &Solved, show: Show, at: DownspoutId) -> String {
    if !solved.spill_rains.looked_for() {
        return String::new();
    }
    let own = solved.spill_rains.downspouts.get(at.index()).copied().flatten();
    let words = rain::words(show, ["spills", "spill"], own, solved.scenario.intensity);
    format!("; it {words}{}", first(solved, show, own, Some(tag(solved, at))))
}

/// The rain at which it begins, and what lets water out before; nothing where none was looked for.
fn begins(solved: &Solved, show: Show, rain: Option<Intensity>, at: &str) -> String {
    if !solved.spill_rains.looked_for() {
        return String::new();
    }
    let words = rain::words(show, ["begins", "begin"], rain, solved.scenario.intensity);
    format!("; it {words}{}", first(solved, show, rain, Some(at)))
}

/// The place that lets water out at the least rain, where it is another and does so before.
fn first(solved: &Solved, show: Show, own: Option<Intensity>, but: Option<&str>) -> String {
    let network = &solved.site.network;
    let rains = &solved.spill_rains;
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
            if Some(tag) != but
                && own.is_none_or(|own| rain.to_m_per_s() < own.to_m_per_s() * 0.999) =>
        {
            format!(" ({tag} first, at {})", show.prose(|s| s.show_intensity(rain)))
        }
        _ => String::new(),
    }
}

/// Which other places fail, where the worst cause is not the whole story.
pub(crate) fn others(solved: &Solved) -> String {
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

fn tag(solved: &Solved, at: DownspoutId) -> &str {
    &solved.site.network.downspout(at).tag
}
