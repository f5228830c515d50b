//! The first lines: the verdict, the margin at the worst downspout, the rain at which it spills.

use crate::outcome::Status;
use crate::render::show::Show;
use crate::render::wrap::wrap;
use crate::solved::Solved;
use anstyle::{AnsiColor, Style};
use wetrun_checks::Outcome;
use wetrun_network::DownspoutId;
use wetrun_solver::TankState;
use wetrun_units::Intensity;

/// Columns that the verdict's word takes.
const WORD: usize = 7;

/// The verdict and the storm it was reached in.
pub(crate) fn verdict(solved: &Solved, show: Show) -> String {
    let (word, color) = match solved.status() {
        Status::Fail => ("FAILS", AnsiColor::Red),
        Status::Pass | Status::Refused => ("HOLDS", AnsiColor::Green),
    };
    let style = Style::new().bold().fg_color(Some(color.into()));
    let mut words = match solved.worst() {
        Some(worst) => format!("{}; {}", margin(solved, show, worst), spill(solved, show, worst)),
        None => "no downspout, so no water to carry".to_owned(),
    };
    if let Some(more) = other_failures(solved) {
        words.push_str(&more);
    }
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

/// Where the water stands at the worst downspout, and the rain at which it spills.
pub(crate) fn worst(solved: &Solved, show: Show) -> Option<String> {
    let worst = solved.worst()?;
    Some(format!("{}; {}", margin(solved, show, worst), spill(solved, show, worst)))
}

/// Where the water stands at a downspout, or what it spills.
fn margin(solved: &Solved, show: Show, at: DownspoutId) -> String {
    let downspout = solved.site.network.downspout(at);
    let state = &solved.steady.downspouts[at.index()];
    let tag = &downspout.tag;
    if solved.spills(at.index()) {
        let spilled = show.prose(|system| system.show_flow(state.spilled));
        return if state.admitted.to_m3_per_s() < 0.0 {
            format!("{tag} spills {spilled}, more than its own roof brings")
        } else {
            let demand = show.prose(|system| system.show_flow(state.demand));
            format!("{tag} spills {spilled} of its {demand}")
        };
    }
    let opening = if downspout.leaf_head.is_some() { "leaf head" } else { "gutter outlet" };
    let side = if state.headroom.to_m() < 0.0 { "above" } else { "below" };
    let sign = if state.headroom.to_m() < 0.0 { -1.0 } else { 1.0 };
    let apart = show.prose(|system| system.show_height(state.headroom * sign));
    let mut words = format!("worst is {tag}, {apart} {side} the {opening}");
    let target = solved.site.targets.freeboard;
    if solved
        .findings
        .iter()
        .any(|f| f.rule == "freeboard" && f.outcome == Outcome::Fail && f.at == *tag)
    {
        words.push_str(&format!(" ({} asked)", show.prose(|system| system.show_height(target))));
    }
    words
}

/// The rain at which it spills, and what spills before it does.
fn spill(solved: &Solved, show: Show, at: DownspoutId) -> String {
    let say = |rain| show.prose(|system| system.show_intensity(rain));
    let own = solved.spill_rains.downspouts.get(at.index()).copied().flatten();
    let mut words = match own {
        Some(rain) if solved.spills(at.index()) => format!("it begins at {}", say(rain)),
        Some(rain) => format!("it spills at {}", say(rain)),
        None if solved.scenario.intensity.to_m_per_s() > 0.0 => {
            "ten times this rain does not spill it".to_owned()
        }
        None => "without rain nothing spills".to_owned(),
    };
    if let Some((first, rain)) = first_to_spill(solved).filter(|(first, _)| *first != at) {
        // Within a thousandth two rains are the same: that is how finely they are known.
        if own.is_none_or(|own| rain.to_m_per_s() < own.to_m_per_s() * 0.999) {
            let tag = &solved.site.network.downspout(first).tag;
            words.push_str(&format!(" ({tag} first, at {})", say(rain)));
        }
    }
    words
}

/// The downspout that spills at the least rain.
fn first_to_spill(solved: &Solved) -> Option<(DownspoutId, Intensity)> {
    let rains = solved.spill_rains.downspouts.iter().enumerate();
    rains
        .filter_map(|(index, rain)| Some((DownspoutId::new(index), (*rain)?)))
        .min_by(|(_, a), (_, b)| a.to_m_per_s().total_cmp(&b.to_m_per_s()))
}

/// How many other places fail, where the worst downspout is not the whole story.
fn other_failures(solved: &Solved) -> Option<String> {
    let worst = solved.worst().map(|w| solved.site.network.downspout(w).tag.as_str());
    let failed = solved.findings.iter().filter(|f| f.outcome == Outcome::Fail);
    let mut places: Vec<&str> =
        failed.map(|f| f.at.as_str()).filter(|at| Some(*at) != worst).collect();
    places.sort_unstable();
    places.dedup();
    match places.as_slice() {
        [] => None,
        [one] => Some(format!("; {one} fails too")),
        many if many.len() <= 4 => Some(format!("; {} fail too", many.join(", "))),
        many => Some(format!("; {} more places fail", many.len())),
    }
}
