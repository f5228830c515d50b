//! The report of `wetrun flush` for people: what to open, in which order, and what each line does.

use crate::flush::{Cure, Flush, FlushRun, Inflow};
use crate::render::clock;
use crate::render::show::Show;
use crate::render::table::{Cells, TITLE, Table};
use crate::render::wrap::wrap;
use anstyle::{AnsiColor, Style};
use wetrun_checks::Outcome;
use wetrun_motion::{COUNTS, Flushed};
use wetrun_network::PointId;
use wetrun_units::{Flow, Length, Speed, Volume};

const WORD: usize = 7;
/// Less than this that stays in a line is not worth a word.
const A_DROP: Volume = Volume::m3(1e-4);

/// The whole report.
pub fn flush(flush: &Flush, both_units: bool) -> String {
    let show = Show { main: flush.site.units, both: both_units };
    let mut parts = vec![head(flush, show)];
    for run in &flush.runs {
        parts.push(one(flush, run, show));
    }
    parts.push(basis(flush, show));
    parts.retain(|part| !part.is_empty());
    parts.join("\n")
}

/// Warnings, then the order of opening.
fn head(flush: &Flush, show: Show) -> String {
    let mut text = String::new();
    let bold = Style::new().bold();
    let entry = |style: Style, word: &str, message: &str| {
        format!("{style}{word:<WORD$}{style:#}{}\n", wrap(message, WORD, WORD))
    };
    for told in flush.findings.iter().filter(|told| told.outcome == Outcome::Caution) {
        let style = bold.fg_color(Some(AnsiColor::Yellow.into()));
        let word = match told.rule {
            "flush-no-drain" => "NONE",
            "flush-submerged-inlet" => "FIRST",
            "flush-frost" => "FROST",
            _ => "NOTE",
        };
        text += &entry(style, word, &format!("{}: {}", told.at, told.message));
    }
    for (place, alone) in flush.order.iter().enumerate() {
        let word = if place == 0 { "OPEN" } else { "THEN" };
        let to = flush.runs_to(alone.at).map_or_else(String::new, |to| format!(" to {to}"));
        let message = format!(
            "{} by itself: {} run out{to}, {}",
            tag(flush, alone.at),
            amount(alone.flushed.drained, show),
            timing(&alone.flushed, show)
        );
        text += &entry(bold, word, &message);
    }
    text
}

fn tag(flush: &Flush, point: PointId) -> &str {
    &flush.site.network.point(point).tag
}

fn amount(volume: Volume, show: Show) -> String {
    clock::volume(show.main, volume)
}

/// How long most of it takes, and what stays.
fn timing(flushed: &Flushed, show: Show) -> String {
    let left = flushed.left();
    let stays = match left > A_DROP {
        true => format!("{} stay", amount(left, show)),
        false => "nothing stays".to_owned(),
    };
    let time = clock::length(flushed.most_drained);
    match flushed.cut_off {
        true => format!("and after {time} more still comes; {stays}"),
        false => format!("95 % of it in {time}; {stays}"),
    }
}

/// One run: its lines, its columns, and what stays where.
fn one(flush: &Flush, run: &FlushRun, show: Show) -> String {
    format!(
        "{}{}{}\n",
        lines(flush, run, show),
        columns(flush, run, show),
        wrap(&said(flush, run, show).join(" "), 0, 0)
    )
}

fn lines(flush: &Flush, run: &FlushRun, show: Show) -> String {
    let tags: Vec<&str> = run.open.iter().map(|point| tag(flush, *point)).collect();
    let title = format!("{} OPEN", tags.join(", "));
    let mut table = Table::new(&title, show)
        .column("fastest", |s| s.show_speed(Speed::ZERO))
        .plain_column("at")
        .plain_column("carries for")
        .column("as far as", |s| s.show_length(Length::ZERO))
        .column("of", |s| s.show_length(Length::ZERO))
        .column("would take", |s| s.show_flow(Flow::ZERO))
        .column("passes", |s| s.show_volume(Volume::ZERO));
    let ways = flush.ways(run);
    for (place, line) in flush.site.network.lines().iter().enumerate() {
        let swept = &run.flushed.lines[place];
        let carries = run.carries(place, flush.carries());
        let long = if carries { clock::length(swept.carried_for) } else { "-".to_owned() };
        let passes = Volume::m3(swept.passed.to_m3().abs());
        let cells = Cells::new(show)
            .number(|s| s.show_speed(swept.peak_velocity))
            .plain(clock::moment(swept.peak_at))
            .plain(long)
            .maybe(carries.then_some(swept.carried), |s, v| s.show_length(v))
            .maybe(ways[place], |s, v| s.show_length(v))
            .maybe(run.needs[place].map(|needs| needs.flow), |s, v| s.show_flow(v))
            .number(|s| s.show_volume(passes));
        table.row(line.tag.as_str(), cells, Style::new());
    }
    table.render()
}

fn columns(flush: &Flush, run: &FlushRun, show: Show) -> String {
    if run.flushed.columns.is_empty() {
        return String::new();
    }
    let mut table = Table::new("DOWNSPOUTS", show)
        .column("stood at", |s| s.show_level(Length::ZERO))
        .column("foot", |s| s.show_level(Length::ZERO))
        .plain_column("down at");
    for (downspout, column) in flush.site.network.downspouts().iter().zip(&run.flushed.columns) {
        let down = match column.down_at {
            None => "never".to_owned(),
            Some(at) if at.to_s() <= 0.0 => "the start".to_owned(),
            Some(at) => clock::moment(at),
        };
        let cells = Cells::new(show)
            .number(|s| s.show_level(column.start_level))
            .number(|s| s.show_level(downspout.foot))
            .plain(down);
        table.row(downspout.tag.as_str(), cells, Style::new());
    }
    table.render()
}

/// What became of the water of a run, and what its lines would take.
fn said(flush: &Flush, run: &FlushRun, show: Show) -> Vec<String> {
    let network = &flush.site.network;
    let flushed = &run.flushed;
    let mut said = vec![format!(
        "Of {} that stood{}, {}: {}.",
        amount(flushed.stood, show),
        if flushed.hosed > COUNTS {
            format!(" and {} from the hose", amount(flushed.hosed, show))
        } else {
            String::new()
        },
        out(flush, run, show),
        timing(flushed, show)
    )];
    let left: Vec<String> = flush
        .left(run)
        .into_iter()
        .filter(|(_, volume)| *volume > A_DROP)
        .map(|(tag, volume)| format!("{} in {tag}", amount(volume, show)))
        .collect();
    if !left.is_empty() {
        said.push(format!("What stays: {}.", left.join(", ")));
    }
    if !flush.hoses.is_empty() {
        said.push(format!("Followed for {}.", clock::length(flushed.ended)));
    }
    let poor = run.needs.iter().flatten();
    let (does, never): (Vec<&Inflow>, Vec<&Inflow>) = poor.partition(|needs| needs.does);
    if !does.is_empty() {
        said.push(format!(
            "{} of {} lines carry no silt; a hose of as much as \"would take\" at the line's upper \
             end, held until it has swept the line, would do it.",
            does.len() + never.len(),
            network.lines().len()
        ));
    }
    if !never.is_empty() {
        let lines = network.lines().iter().zip(&run.needs);
        let tags = lines.filter(|(_, needs)| needs.is_some_and(|needs| !needs.does));
        let tags: Vec<&str> = tags.map(|(line, _)| line.tag.as_str()).collect();
        said.push(format!(
            "In {} no hose does it: these drains draw too little that way.",
            tags.join(", ")
        ));
    }
    said.extend(larger(flush, run, show));
    said.extend(gulps(flush, run, show));
    said
}

/// Which larger drains would carry silt through which lines.
fn larger(flush: &Flush, run: &FlushRun, show: Show) -> Option<String> {
    let mut bores: Vec<Length> = run.cures.iter().filter_map(|cure| cure.drain).collect();
    bores.sort_by(|a, b| a.to_m().total_cmp(&b.to_m()));
    bores.dedup();
    let does = bores.iter().map(|bore| {
        let lines = named(flush, run, |cure| cure.drain == Some(*bore));
        format!("a bore of {} in {lines}", show.prose(|s| s.show_size(*bore)))
    });
    let does: Vec<String> = does.collect();
    let drains = if run.open.len() > 1 { "these drains" } else { "this drain" };
    (!does.is_empty()).then(|| {
        format!("With {drains} wider, no hose is needed: {} would do it.", does.join(", "))
    })
}

/// The tags of the lines with a cure of some kind.
fn named(flush: &Flush, run: &FlushRun, of: impl Fn(&Cure) -> bool) -> String {
    let lines = flush.site.network.lines().iter().zip(&run.cures);
    let tags = lines.filter(|(_, cure)| of(cure)).map(|(line, _)| line.tag.as_str());
    tags.collect::<Vec<_>>().join(", ")
}

/// Which gulps would.
fn gulps(flush: &Flush, run: &FlushRun, show: Show) -> Option<String> {
    let network = &flush.site.network;
    let lines = network.lines().iter().zip(&run.cures);
    let does = lines.filter_map(|(line, cure)| {
        let gulp = cure.gulp?;
        let stands = match gulp.downspout {
            Some(id) => network.downspout(id).tag.clone(),
            None => "a standpipe of its bore".to_owned(),
        };
        Some(format!(
            "{} by {} in {stands}, up to {}",
            line.tag,
            amount(gulp.volume, show),
            show.prose(|s| s.show_level(gulp.level))
        ))
    });
    let does: Vec<String> = does.collect();
    (!does.is_empty()).then(|| {
        format!(
            "So would water that is held up at a line's upper end by a plug and let go as the drain \
             opens: {}. Pull a plug from above, by its chain.",
            does.join("; ")
        )
    })
}

/// Which ways the water left.
fn out(flush: &Flush, run: &FlushRun, show: Show) -> String {
    let flushed = &run.flushed;
    let drains = run.open.iter().zip(&flushed.drains);
    let drains =
        drains.map(|(at, drain)| (drain.passed, format!("run out at {}", tag(flush, *at))));
    let tanks = flush.site.network.tanks().iter().zip(&flushed.into_tanks);
    let tanks = tanks.map(|(tank, into)| (*into, format!("run into {}", tank.tag)));
    let lost = (flushed.lost, "come out of openings and over lips".to_owned());
    let ways = drains.chain(tanks).chain([lost]).filter(|(volume, _)| *volume > COUNTS);
    let ways: Vec<String> =
        ways.map(|(volume, words)| format!("{} {words}", amount(volume, show))).collect();
    if ways.is_empty() { "nothing runs out".to_owned() } else { ways.join(", ") }
}

fn basis(flush: &Flush, show: Show) -> String {
    if flush.runs.is_empty() {
        return String::new();
    }
    let speed = show.prose(|s| s.show_speed(flush.carries()));
    let mains = show.prose(|s| s.show_speed(Speed::m_per_s(0.762)));
    let source = match flush.facts.flush_speed {
        Some(_) => "targets.flush_velocity".to_owned(),
        None => format!(
            "small drains once a day, from memory of EN 752; new mains are flushed at {mains}"
        ),
    };
    let words = format!(
        "Silt is carried from {speed} on, on the full bore ({source}). Each drain opens at once \
         over lines at rest, in dry weather. Open drains by hand where local rules let the water \
         go; nobody stands in a trench or reaches into a tank for it."
    );
    format!("{TITLE}BASIS{TITLE:#}\n  {}\n", wrap(&words, 2, 2))
}
