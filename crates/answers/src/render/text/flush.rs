//! The report of `wetrun flush` for people: what to open, in which order, and what each line does.

use crate::flush::{Flush, FlushRun};
use crate::render::clock;
use crate::render::show::Show;
use crate::render::table::{Cells, TITLE, Table};
use crate::render::wrap::wrap;
use anstyle::{AnsiColor, Style};
use wetrun_motion::COUNTS;
use wetrun_network::PointId;
use wetrun_units::{Flow, Length, Speed, Volume};

const WORD: usize = 7;

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
    for told in &flush.findings {
        let style = bold.fg_color(Some(AnsiColor::Yellow.into()));
        let word = if told.rule == "flush-no-drain" { "NONE" } else { "FIRST" };
        let message = format!("{}: {}", told.at, told.message);
        text += &format!("{style}{word:<WORD$}{style:#}{}\n", wrap(&message, WORD, WORD));
    }
    for (place, drain) in flush.order.iter().enumerate() {
        let Some(run) = flush.runs.iter().find(|run| run.open == [*drain]) else { continue };
        let word = if place == 0 { "OPEN" } else { "THEN" };
        let to = flush.runs_to(*drain).map_or_else(String::new, |to| format!(" to {to}"));
        let message = format!(
            "{}: {} run out{to}, 95 % of it in {}; {}",
            tag(flush, *drain),
            amount(run.flushed.drained, show),
            clock::length(run.flushed.most_drained),
            stays(run, show)
        );
        text += &format!("{bold}{word:<WORD$}{bold:#}{}\n", wrap(&message, WORD, WORD));
    }
    text
}

fn tag(flush: &Flush, point: PointId) -> &str {
    &flush.site.network.point(point).tag
}

fn amount(volume: Volume, show: Show) -> String {
    clock::volume(show.main, volume)
}

fn stays(run: &FlushRun, show: Show) -> String {
    let kept = run.kept();
    if kept <= COUNTS { "nothing stays".to_owned() } else { format!("{} stay", amount(kept, show)) }
}

/// One run: its lines, and what stays where.
fn one(flush: &Flush, run: &FlushRun, show: Show) -> String {
    let network = &flush.site.network;
    let tags: Vec<&str> = run.open.iter().map(|point| tag(flush, *point)).collect();
    let title = format!("{} OPEN", tags.join(", "));
    let mut table = Table::new(&title, show)
        .column("fastest", |s| s.show_speed(Speed::ZERO))
        .plain_column("at")
        .plain_column("carries for")
        .column("as far as", |s| s.show_length(Length::ZERO))
        .column("of", |s| s.show_length(Length::ZERO))
        .column("would take", |s| s.show_flow(Flow::ZERO));
    for (place, line) in network.lines().iter().enumerate() {
        let swept = &run.flushed.lines[place];
        let carries = run.carries(place, flush.carries);
        let long = if carries { clock::length(swept.carried_for) } else { "-".to_owned() };
        let cells = Cells::new(show)
            .number(|s| s.show_speed(swept.peak_velocity))
            .plain(clock::moment(swept.peak_at))
            .plain(long)
            .maybe(carries.then_some(swept.carried), |s, v| s.show_length(v))
            .maybe(flush.way(run, place), |s, v| s.show_length(v))
            .maybe(run.needs[place], |s, v| s.show_flow(v));
        table.row(line.tag.as_str(), cells, Style::new());
    }
    let flushed = &run.flushed;
    let mut said = vec![format!(
        "{} of {} run out, 95 % of it in {}.",
        amount(flushed.drained, show),
        amount(flushed.stood + flushed.hosed, show),
        clock::length(flushed.most_drained)
    )];
    let left: Vec<String> = flush
        .left(run)
        .into_iter()
        .map(|(tag, volume)| format!("{} in {tag}", amount(volume, show)))
        .collect();
    if !left.is_empty() {
        said.push(format!("{} stay: {}.", amount(run.kept(), show), left.join(", ")));
    }
    let up: Vec<&str> = (network.downspouts().iter().zip(&flushed.columns))
        .filter(|(_, column)| column.down_at.is_none())
        .map(|(downspout, _)| downspout.tag.as_str())
        .collect();
    if !up.is_empty() {
        said.push(format!("Not down to the foot: {}.", up.join(", ")));
    }
    let poor = (0..network.lines().len()).filter(|line| !run.carries(*line, flush.carries)).count();
    if poor > 0 {
        said.push(format!(
            "{poor} of {} lines never carry silt; a hose of as much as the last column at the \
             line's upper end would.",
            network.lines().len()
        ));
    }
    format!("{}{}\n", table.render(), wrap(&said.join(" "), 0, 0))
}

fn basis(flush: &Flush, show: Show) -> String {
    if flush.runs.is_empty() {
        return String::new();
    }
    let speed = show.prose(|s| s.show_speed(flush.carries));
    let source = if flush.site.targets.flush_speed.is_some() {
        "targets.flush_velocity".to_owned()
    } else {
        "small drains once a day, from memory of EN 752; mains are flushed at 0.76 m/s".to_owned()
    };
    let words = format!(
        "Silt is carried from {speed} on, on the full bore ({source}). Each drain opens at once \
         over lines at rest, in dry weather. Open drains by hand where local rules let the water \
         go; nobody stands in a trench or reaches into a tank for it."
    );
    format!("{TITLE}BASIS{TITLE:#}\n  {}\n", wrap(&words, 2, 2))
}
