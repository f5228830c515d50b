//! The report of `wetrun storm` for people: the least headroom first, then where the water went.

use super::entry;
use crate::outcome::Status;
use crate::render::clock;
use crate::render::show::Show;
use crate::render::table::{Cells, TITLE, Table, aligned};
use crate::render::wrap::wrap;
use crate::storm::Storm;
use anstyle::{AnsiColor, Style};
use wetrun_checks::Outcome;
use wetrun_motion::COUNTS;
use wetrun_network::DownspoutId;
use wetrun_units::{Length, UnitSystem, Volume};

const WORD: usize = 7;
const COLUMN: usize = 13;

/// The whole report.
pub fn storm(storm: &Storm, both_units: bool) -> String {
    let show = Show { main: storm.site.units, both: both_units };
    let parts = [
        head(storm, show),
        downspouts(storm, show),
        openings(storm, show),
        tanks(storm, show),
        meaning(storm),
        water(storm, show),
        findings(storm),
        basis(storm),
    ];
    let parts: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    parts.join("\n")
}

fn head(storm: &Storm, show: Show) -> String {
    let (word, color) = match storm.status() {
        Status::Pass => ("HOLDS", AnsiColor::Green),
        _ => ("FAILS", AnsiColor::Red),
    };
    let style = Style::new().bold().fg_color(Some(color.into()));
    let under = under(storm, show);
    format!(
        "{style}{word}{style:#}  {}\n{}{}\n",
        wrap(&cause(storm, show), WORD, WORD),
        " ".repeat(WORD),
        wrap(&under, WORD, WORD)
    )
}

/// Which storm it was.
pub(crate) fn under(storm: &Storm, show: Show) -> String {
    let rain = show.prose(|s| s.show_intensity(storm.heaviest()));
    let depth = show.prose(|s| s.show_size(storm.course.depth()));
    format!(
        "{}, a storm of {depth} with up to {rain}, followed for {}",
        storm.site.name,
        clock::length(storm.passed.ended)
    )
}

/// The worst of the storm, and the worst of the steady state beside it.
pub(crate) fn cause(storm: &Storm, show: Show) -> String {
    let network = &storm.site.network;
    let first = storm.findings.iter().find(|told| told.outcome == Outcome::Fail);
    let own = match (first, storm.worst()) {
        (Some(told), worst) if told.rule != "storm-freeboard" || worst.is_none() => {
            format!("{}: {}", told.at, told.message)
        }
        (_, Some(at)) => {
            let course = &storm.passed.downspouts[at.index()];
            format!(
                "worst is {}, {} {}",
                network.downspout(at).tag,
                side(show, storm.headroom(at), network.downspout(at).leaf_head.is_some()),
                clock::at(course.peak_at)
            )
        }
        (_, None) => "no downspout, so no water to carry".to_owned(),
    };
    let steady = storm.steady_worst().map(|at| {
        let state = &storm.steady.downspouts[at.index()];
        let leaf = network.downspout(at).leaf_head.is_some();
        let tag = &network.downspout(at).tag;
        if storm.steady_spills(at) {
            format!("; held for ever, the heaviest rain makes {tag} spill")
        } else {
            let apart = side(show, state.headroom, leaf);
            format!("; held for ever, the heaviest rain leaves {tag} {apart}")
        }
    });
    format!("{own}{}", steady.unwrap_or_default())
}

fn side(show: Show, headroom: Length, leaf_head: bool) -> String {
    let opening = if leaf_head { "leaf head" } else { "gutter outlet" };
    let (size, side) = if headroom.to_m() < 0.0 {
        (Length::ZERO - headroom, "above")
    } else {
        (headroom, "below")
    };
    format!("{} {side} the {opening}", show.prose(|s| s.show_height(size)))
}

fn downspouts(storm: &Storm, show: Show) -> String {
    let network = &storm.site.network;
    let any = storm.passed.downspouts.iter().any(|course| course.spilled > COUNTS);
    let mut table = Table::new("DOWNSPOUTS", show)
        .column("highest", |s| s.show_level(Length::ZERO))
        .plain_column("at")
        .column("headroom", |s| s.show_height(Length::ZERO))
        .column("held for ever", |s| s.show_height(Length::ZERO));
    if any {
        table = table
            .column("spilled", |s| s.show_volume(Volume::ZERO))
            .plain_column("from")
            .plain_column("for");
    }
    for (place, course) in storm.passed.downspouts.iter().enumerate() {
        let headroom = storm.headroom(DownspoutId::new(place));
        let mut cells = Cells::new(show)
            .number(|s| s.show_level(course.peak_level))
            .plain(clock::moment(course.peak_at))
            .number(|s| s.show_height(headroom))
            .number(|s| s.show_height(storm.steady.downspouts[place].headroom));
        let spills = course.spilled > COUNTS;
        if any {
            cells = cells.maybe(spills.then_some(course.spilled), |s, v| s.show_volume(v));
            let from = course.spills_from.map_or("-".to_owned(), clock::moment);
            let long = if spills { clock::length(course.spills_for) } else { "-".to_owned() };
            cells = cells.plain(from).plain(long);
        }
        let red = Style::new().fg_color(Some(AnsiColor::Red.into()));
        let style = if storm.fails(DownspoutId::new(place)) { red } else { Style::new() };
        table.row(network.downspouts()[place].tag.as_str(), cells, style);
    }
    table.render()
}

fn openings(storm: &Storm, show: Show) -> String {
    if storm.passed.openings.is_empty() {
        return String::new();
    }
    let network = &storm.site.network;
    let mut table = Table::new("OPENINGS", show)
        .column("highest", |s| s.show_level(Length::ZERO))
        .column("opens at", |s| s.show_level(Length::ZERO))
        .column("came out", |s| s.show_volume(Volume::ZERO));
    for ((id, opening), course) in network.openings().zip(&storm.passed.openings) {
        let cells = Cells::new(show)
            .number(|s| s.show_level(course.peak_level))
            .number(|s| s.show_level(opening.level))
            .number(|s| s.show_volume(course.escaped));
        table.row(network.point(id).tag.as_str(), cells, Style::new());
    }
    table.render()
}

fn tanks(storm: &Storm, show: Show) -> String {
    let network = &storm.site.network;
    let labels: Vec<[String; 2]> = network
        .tanks()
        .iter()
        .map(|tank| {
            let to = tank.overflow.as_ref().map(|overflow| match overflow.to {
                Some(to) => format!("to {}", network.tank(to).tag),
                None => "to the ground".to_owned(),
            });
            [tank.tag.clone(), to.unwrap_or_default()]
        })
        .collect();
    let mut table = Table::new("TANKS", show);
    for name in ["start", "received", "overflowed", "end"] {
        table = table.column(name, |s| s.show_volume(Volume::ZERO));
    }
    table = table.plain_column("full at");
    for (label, course) in aligned(&labels).into_iter().zip(&storm.passed.tanks) {
        let volume = |s: UnitSystem, volume: Volume| s.show_volume(volume);
        let full = match course.full_at {
            None => "-".to_owned(),
            Some(at) if at.to_s() <= 0.0 => "the start".to_owned(),
            Some(at) => clock::moment(at),
        };
        let cells = Cells::new(show)
            .maybe(course.start, volume)
            .number(|s| s.show_volume(course.received))
            .number(|s| s.show_volume(course.overflowed))
            .maybe(course.end, volume)
            .plain(full);
        let red = Style::new().fg_color(Some(AnsiColor::Red.into()));
        let over = course.over_rim > COUNTS;
        table.row(label, cells, if over { red } else { Style::new() });
    }
    table.render()
}

/// Where the rain went: each part that there is, by name, with what is said of it.
pub(crate) fn water_rows(storm: &Storm) -> Vec<(&'static str, Volume, &'static str)> {
    let totals = &storm.passed.totals;
    let rows = [
        ("fell", totals.rain, "on the roofs"),
        ("wetted", totals.wetted, "the roofs and ran nowhere"),
        ("lost", totals.no_runoff, "on the roofs: what does not run off"),
        ("spilled", totals.spilled, "over gutters and leaf heads"),
        ("escaped", totals.escaped, "out of vents and caps"),
        ("overflowed", totals.overflowed, "from the tanks, off the site"),
        ("over rims", totals.over_rim, "of tanks"),
        ("stored", totals.stored, "more than before, in tanks, pipes, gutters and on roofs"),
    ];
    let said = |&(name, volume, _): &(&str, Volume, &str)| {
        volume > COUNTS || volume < Volume::ZERO - COUNTS || name == "fell" || name == "stored"
    };
    rows.into_iter().filter(said).collect()
}

fn water(storm: &Storm, show: Show) -> String {
    let mut out = format!("{TITLE}WHERE THE RAIN WENT{TITLE:#}\n");
    for (name, volume, words) in water_rows(storm) {
        let volume = match show.both {
            true => show.prose(|s| s.show_volume(volume)),
            false => clock::volume(show.main, volume),
        };
        out.push_str(&entry(name, COLUMN, &format!("{volume} {words}")));
    }
    out
}

/// What differs from the steady check, and why.
fn meaning(storm: &Storm) -> String {
    let said = storm.meaning();
    if said.is_empty() {
        return String::new();
    }
    let mut out = format!("{TITLE}BESIDE THE STEADY CHECK{TITLE:#}\n");
    for words in said {
        out.push_str(&format!("  {}\n", wrap(words, 2, 2)));
    }
    out
}

fn findings(storm: &Storm) -> String {
    let mut out = String::new();
    for told in storm.findings.iter().filter(|told| told.outcome != Outcome::Pass) {
        out.push_str(&entry(
            &told.at,
            COLUMN,
            &format!("{}: {}", told.outcome.words(), told.message),
        ));
    }
    if out.is_empty() { out } else { format!("{TITLE}FINDINGS{TITLE:#}\n{out}") }
}

fn basis(storm: &Storm) -> String {
    format!("{}\n", wrap(&basis_words(storm), 0, 0))
}

/// What the numbers rest on.
pub(crate) fn basis_words(storm: &Storm) -> String {
    let totals = &storm.passed.totals;
    let off = totals.balance.to_m3().abs() / totals.rain.to_m3().max(1e-9);
    // Below that it is the rounding of sums, and another machine's is another.
    let closes = if off < 1e-12 { "better than 1e-12".to_owned() } else { format!("{off:.0e}") };
    format!(
        "Lines and columns move as rigid columns of water, tanks as level pools; pressure waves and \
         air are not modelled. {} steps; the balance closes to {closes} of the rain.",
        storm.passed.steps,
    )
}
