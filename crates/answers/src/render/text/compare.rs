//! The comparison for people: what changed, the margins side by side, what turned.

use super::entry;
use crate::comparison::{Comparison, Turn};
use crate::difference::Change;
use crate::outcome::Status;
use crate::render::show::Show;
use crate::render::table::{Cells, TITLE, Table};
use crate::render::wrap::wrap;
use crate::render::{pairs, rain};
use crate::solved::Solved;
use anstyle::{AnsiColor, Style};
use wetrun_checks::{Amount, Finding, Outcome};
use wetrun_units::{Intensity, Length, UnitSystem};

/// The column where the words of a turned item start.
const COLUMN: usize = 13;

/// The whole report.
pub fn compare(comparison: &Comparison) -> String {
    let units = comparison.after.site.units;
    let show = Show { main: units, both: false };
    let mut out = format!("{TITLE}REVISIONS{TITLE:#}\n");
    out.push_str(&revision("A", &comparison.before, show));
    out.push_str(&revision("B", &comparison.after, show));
    out.push_str(&format!("\n{TITLE}CHANGED{TITLE:#}\n"));
    if comparison.changes.is_empty() {
        out.push_str("  nothing\n");
    }
    for change in &comparison.changes {
        out.push_str(&format!("  {}\n", wrap(&changed(units, change), 2, 6)));
    }
    out.push('\n');
    out.push_str(&margins(comparison, show));
    let (worse, turns): (Vec<&Turn>, Vec<&Turn>) =
        comparison.findings.iter().partition(|turn| turn.fails_worse());
    out.push_str(&format!("\n{TITLE}FINDINGS THAT TURNED{TITLE:#}\n"));
    if turns.is_empty() {
        out.push_str("  none\n");
    }
    turns.into_iter().for_each(|turn| out.push_str(&turned(turn)));
    if !worse.is_empty() {
        out.push_str(&format!("\n{TITLE}FAILS WORSE THAN BEFORE{TITLE:#}\n"));
    }
    worse.into_iter().for_each(|turn| out.push_str(&turned(turn)));
    out
}

fn revision(name: &str, solved: &Solved, show: Show) -> String {
    let (word, color) = match solved.status() {
        Status::Fail => ("fails", AnsiColor::Red),
        _ => ("holds", AnsiColor::Green),
    };
    let style = Style::new().bold().fg_color(Some(color.into()));
    let revision = solved.facts.revision.as_deref();
    let revision = revision.map_or(String::new(), |r| format!(", revision {r}"));
    let margin = super::verdict::cause(solved, show);
    let words = format!("{}{revision} {word}: {margin}", solved.site.name);
    let line = entry(name, 5, &words);
    line.replacen(&format!(" {word}:"), &format!(" {style}{word}{style:#}:"), 1)
}

/// `lines.L1.length: 12 m -> 14 m (2.00 m more)`.
fn changed(units: UnitSystem, change: &Change) -> String {
    let key = &change.key;
    match (&change.before, &change.after) {
        (Some(before), Some(after)) => {
            let by = change.by.map_or(String::new(), |by| grown(units, by));
            format!("{key}: {before} -> {after}{by}")
        }
        (Some(before), None) => format!("{key}: {before} -> left out"),
        (None, Some(after)) => format!("{key}: new, {after}"),
        (None, None) => key.clone(),
    }
}

fn grown(units: UnitSystem, by: Length) -> String {
    let word = if by.to_m() < 0.0 { "less" } else { "more" };
    let amount = Amount::Length(Length::m(by.to_m().abs())).show(units);
    format!(" ({amount} {word})")
}

fn margins(comparison: &Comparison, show: Show) -> String {
    let (before, after) = (&comparison.before, &comparison.after);
    let mut table = Table::new("HEADROOM", show)
        .column("A", |s| s.show_height(Length::ZERO))
        .column("B", |s| s.show_height(Length::ZERO))
        .column("change", |s| s.show_height(Length::ZERO))
        .column("spills at, A", |s| s.show_intensity(Intensity::ZERO))
        .column("spills at, B", |s| s.show_intensity(Intensity::ZERO));
    for (tag, was, now) in pairs(before, after) {
        let headroom = |solved: &Solved, index: Option<usize>| {
            index.map(|i| solved.steady.downspouts[i].headroom)
        };
        let rain = |solved: &Solved, index: Option<usize>| {
            let own = |i: usize| solved.spill_rains.downspouts.get(i).copied().flatten();
            index.map(|i| (own(i), solved.scenario.intensity))
        };
        let (a, b) = (headroom(before, was), headroom(after, now));
        let change = a.zip(b).map(|(a, b)| b - a);
        let cells = Cells::new(show)
            .maybe(a, |s, x| s.show_height(x))
            .maybe(b, |s, x| s.show_height(x))
            .maybe(change, |s, x| s.show_height(x))
            .maybe(rain(before, was), |s, (rain, storm)| rain::cell(s, rain, storm))
            .maybe(rain(after, now), |s, (rain, storm)| rain::cell(s, rain, storm));
        table.row(tag, cells, Style::new());
    }
    table.render()
}

fn turned(turn: &Turn) -> String {
    let Some((rule, at)) = turn.name() else { return String::new() };
    let word = |f: &Option<Finding>| f.as_ref().map_or("not judged", |f| f.outcome.word());
    let style = match turn.after.as_ref().map(|f| f.outcome) {
        Some(Outcome::Fail) => Style::new().fg_color(Some(AnsiColor::Red.into())),
        Some(Outcome::Pass) => Style::new().fg_color(Some(AnsiColor::Green.into())),
        _ => Style::new(),
    };
    let now = turn.after.as_ref().map_or("not judged", |f| f.outcome.word());
    let said = turn.after.as_ref().or(turn.before.as_ref());
    let message = said.map_or("", |f| f.message.as_str());
    let words = format!("{rule} at {at}, was {}: {message}", word(&turn.before));
    let mut out = entry(now, COLUMN.max(now.len() + 4), &words);
    out = out.replacen(now, &format!("{style}{now}{style:#}"), 1);
    if let Some(mend) = turn.after.as_ref().and_then(|f| f.mend.as_deref()) {
        out.push_str(&entry("", COLUMN, &format!("mend: {mend}")));
    }
    out
}
