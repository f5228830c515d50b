//! The level schedule for people: the answer first, then the tables an installer works from.

use crate::as_built::{Built, GoOn};
use crate::level_report::Report;
use crate::readings::closes;
use crate::render::show::Show;
use crate::render::table::{Cells, TITLE, Table};
use crate::render::text::verdict::cause;
use crate::render::wrap::{width, wrap};
use crate::site_levels::Level;
use anstyle::{AnsiColor, Style};
use std::path::Path;
use wetrun_design::levels::{By, Limits, Stop};
use wetrun_units::{Length, Shown, UnitSystem, decimal};
use wetrun_verdict::Cause;

/// So many ways to win the margin back are printed, the smallest moves first.
const WAYS: usize = 6;

/// The whole report.
pub fn levels(report: &Report) -> String {
    let mut parts = vec![answer(report)];
    if let Some(built) = &report.built {
        parts.push(closing(report));
        parts.push(doubts(report, built));
        parts.push(turned(report, built));
        parts.push(deviations(report, built));
        parts.push(win_back(report, built));
    }
    parts.push(if report.holds() { schedule(report) } else { would_hold(report) });
    parts.push(readings(report));
    if report.built.is_none() {
        parts.push(closing(report));
    }
    parts.push(watertight(report));
    parts.push(notes(report));
    parts.retain(|part| !part.is_empty());
    parts.join("\n")
}

/// The first lines: go on or not, and the tolerance.
fn answer(report: &Report) -> String {
    let units = report.solved.site.units;
    let (word, color) = match (report.go_on(), report.holds()) {
        (Some(GoOn::Yes), _) => ("GO ON", AnsiColor::Green),
        (Some(GoOn::MeasureAgain), _) => ("MEASURE AGAIN", AnsiColor::Red),
        (Some(GoOn::RulesTurned), _) => ("NOT YET", AnsiColor::Yellow),
        (Some(GoOn::BelowTarget), _) => ("BELOW TARGET", AnsiColor::Yellow),
        (Some(GoOn::Stop), _) => ("STOP", AnsiColor::Red),
        (None, true) => ("LEVELS", AnsiColor::Green),
        (None, false) => ("FAILS", AnsiColor::Red),
    };
    let style = Style::new().bold().fg_color(Some(color.into()));
    let words = format!("{}{}{}", readings_first(report), water(report), tolerance(report));
    let indent = if width(word) > 12 { 2 } else { width(word) + 2 };
    let name = &report.solved.site.name;
    let datum = report.solved.site.datum.as_deref().map_or(String::new(), |d| format!("; {d}"));
    let rain = units.show_intensity(report.solved.scenario.intensity);
    let mut under = format!("{name}, {rain} of rain{datum}");
    if let Some(built) = &report.built {
        let measured = built.found.iter().flatten().count();
        let left = built.found.len() - measured;
        let levels = if measured == 1 { "level" } else { "levels" };
        under = format!("{under}; {measured} {levels} measured, {left} as drawn");
    }
    format!(
        "{style}{word}{style:#}  {}\n{}{}\n",
        wrap(&words, width(word) + 2, indent),
        " ".repeat(indent),
        wrap(&under, indent, indent)
    )
}

/// What is wrong with the readings, before anything that rests on them.
fn readings_first(report: &Report) -> String {
    let Some(built) = report.built.as_ref() else { return String::new() };
    let mut wrong = Vec::new();
    if let Some(close) = report.closes.iter().find(|close| !closes(close)) {
        wrong.push(format!("the readings do not close on {}", close.on));
    }
    match built.doubts.as_slice() {
        [] => {}
        [one] => wrong.push(format!("{} lies far from its design", one.name)),
        many => wrong.push(format!("{} levels lie far from their design", many.len())),
    }
    match (wrong.is_empty(), built.turned.len()) {
        (false, _) => format!("{}; by these readings ", wrong.join(", and ")),
        (true, 0) => String::new(),
        (true, 1) => "1 rule of the review no longer passes; in the storm ".to_owned(),
        (true, n) => format!("{n} rules of the review no longer pass; in the storm "),
    }
}

/// What the verdict says.
fn water(report: &Report) -> String {
    let units = report.solved.site.units;
    let now = report.now();
    if !report.holds() {
        return cause(now, show(report));
    }
    let Some(worst) = report.schedule.worst() else {
        return "no downspout, so no level matters".to_owned();
    };
    let tag = &now.site.network.downspout(worst.at).tag;
    let over = units.down().show_height(worst.margin);
    let asked = units.show_height(now.verdict.asked);
    format!("{tag} is tightest, with {over} over its {asked}")
}

/// How far all levels that are still to be set may be off at once.
fn tolerance(report: &Report) -> String {
    let units = report.solved.site.units;
    let which = if report.built.is_some() { "every level not yet measured" } else { "every level" };
    match report.schedule.tolerance_all {
        Some(all) => {
            format!("; {which} may be off by {} at once", units.down().show_height(all))
        }
        None if report.holds() || report.built.is_some() => String::new(),
        None => "; a site that fails has no room for error".to_owned(),
    }
}

/// A limit rounded towards where the level stands, so that what is printed still holds.
fn inward(units: UnitSystem, limit: Length, lowest: bool) -> Shown {
    if lowest { units.up().show_level(limit) } else { units.down().show_level(limit) }
}

/// What stops a level, by the name of its rule; none where no state shows it.
pub(crate) fn stopped_by(by: By) -> Option<&'static str> {
    match by {
        By::Rule(rule) => Some(rule),
        By::Verdict(cause) => Some(match cause? {
            Cause::Spill => "no-spill",
            Cause::Escape => "no-escape",
            Cause::Rim => "tank-rim",
            Cause::Gutter => "gutter-capacity",
            Cause::Outlet => "gutter-outlet",
            Cause::Freeboard => "freeboard",
        }),
    }
}

fn show(report: &Report) -> Show {
    Show { main: report.solved.site.units, both: false }
}

/// Every level with its limits.
fn schedule(report: &Report) -> String {
    if report.levels.is_empty() {
        return String::new();
    }
    let units = report.solved.site.units;
    let built = report.built.is_some();
    let level_column = |s: UnitSystem| s.show_level(Length::ZERO);
    let mut table =
        Table::new(if built { "LEVELS AS BUILT" } else { "LEVELS TO SET" }, show(report))
            .column("design", level_column);
    if built {
        table = table.column("built", level_column);
    }
    table =
        table.column("lowest", level_column).column("highest", level_column).plain_column("takes");
    if !built {
        table = table.plain_column("");
    }
    let mut by_rules = Vec::new();
    for level in &report.levels {
        let limits = report.limits(level);
        let mut limit = |stop: Option<&Stop>, lowest: bool| {
            let Some(stop) = stop else { return "-".to_owned() };
            let number = inward(units, stop.level, lowest).number;
            let By::Rule(rule) = stop.by else { return number };
            let side = if lowest { "lower" } else { "higher" };
            by_rules.push(format!("{} {side}: {rule} ({})", level.name(), stop.at));
            format!("{number}*")
        };
        let lowest = limit(limits.and_then(|l| l.low_stop.as_ref()), true);
        let highest = limit(limits.and_then(|l| l.high_stop.as_ref()), false);
        let mut cells = Cells::new(show(report)).number(|s| s.show_level(level.design));
        if built {
            cells = cells.maybe(report.found(level), |s, found| s.show_level(found));
        }
        cells = cells.words(&lowest).words(&highest).plain(takes(limits));
        if !built {
            cells = cells.plain(matters(limits));
        }
        table.row(level.name(), cells, Style::new());
    }
    let mut out = table.render();
    let words = "lowest, highest: how far this level alone may go with the rest as it stands; - \
                 where no limit was found within 5 m. takes: what each unit off in that direction \
                 takes from the tightest downspout.";
    out.push_str(&format!("  {}\n", wrap(words, 2, 2)));
    if !by_rules.is_empty() {
        let words = format!("* beyond it a rule no longer passes: {}.", by_rules.join("; "));
        out.push_str(&format!("  {}\n", wrap(&words, 2, 2)));
    }
    out
}

/// How far each level alone would have to go on a site that fails.
fn would_hold(report: &Report) -> String {
    if report.levels.is_empty() {
        return String::new();
    }
    let built = report.built.is_some();
    let level_column = |s: UnitSystem| s.show_level(Length::ZERO);
    let mut table = Table::new("LEVELS", show(report)).column("design", level_column);
    if built {
        table = table.column("built", level_column);
    }
    table = table
        .column("holds alone at", level_column)
        .column("higher by", |s| s.show_height(Length::ZERO));
    for level in &report.levels {
        let limits = report.limits(level);
        let mend = limits.and_then(|l| l.mend);
        let higher = limits.and_then(|l| Some(l.mend? - l.level));
        let mut cells = Cells::new(show(report)).number(|s| s.show_level(level.design));
        if built {
            cells = cells.maybe(report.found(level), |s, found| s.show_level(found));
        }
        let cells = cells.maybe(mend, |s, to| s.show_level(to));
        let cells = cells.maybe(higher, |s, by| s.show_height(by));
        table.row(level.name(), cells, Style::new());
    }
    let none = report.mends().is_empty();
    let words = if none {
        "No one level alone does it: with the rest as it stands, none was found within 5 m at \
         which everything holds."
    } else {
        "holds alone at: the nearest level at which everything holds with the rest as it stands, \
         solved as it is printed, with no rule turned; - where none was found within 5 m."
    };
    format!("{}  {}\n", table.render(), wrap(words, 2, 2))
}

/// What a unit off takes from the worst margin, and in which direction.
fn takes(limits: Option<&Limits>) -> String {
    let Some(effect) = limits.map(|l| l.effect).filter(|e| !e.is_harmless()) else {
        return "-".to_owned();
    };
    let share = decimal(effect.cost().to_m() / 0.001, 2);
    format!("{share} {}", if effect.worse_low() { "low" } else { "high" })
}

fn matters(limits: Option<&Limits>) -> &'static str {
    match limits {
        Some(limits) if !limits.effect.is_harmless() => "matters",
        Some(limits) if limits.is_harmless() => "harmless",
        Some(_) => "to its limit",
        None => "",
    }
}

/// The rod reading for every level that is still to be set, its range, and room for what was
/// found.
fn readings(report: &Report) -> String {
    let Some(instrument) = report.instrument else { return String::new() };
    let open: Vec<&Level> = report.levels.iter().filter(|l| report.found(l).is_none()).collect();
    if open.is_empty() {
        return String::new();
    }
    let units = report.solved.site.units;
    let rod = |level: Length| report.rod.show(instrument.reading(level)).number;
    let unit = report.rod.show(Length::ZERO).unit;
    let mut table = Table::new("ROD READINGS", show(report))
        .plain_column("set to")
        .plain_column("least")
        .plain_column("most")
        .plain_column("as built");
    for level in open {
        let limits = report.limits(level);
        let of = |stop: Option<&Stop>, least: bool| {
            let shown = |s: &Stop| report.rod.show_limit(instrument.reading(s.level), least).number;
            stop.map_or("-".to_owned(), shown)
        };
        let cells = Cells::new(show(report))
            .plain(rod(level.design))
            .plain(of(limits.and_then(|l| l.high_stop.as_ref()), true))
            .plain(of(limits.and_then(|l| l.low_stop.as_ref()), false))
            .plain("..........");
        table.row(level.name(), cells, Style::new());
    }
    let unit = if unit.is_empty() { "feet and inches" } else { unit };
    let fails = if report.holds() { "" } else { " Least and most are for a site that holds." };
    let words = format!(
        "in {unit}, height of instrument {}; a high level reads small. A minus: the rod upside \
         down, its foot on the level.{fails}",
        units.show_level(instrument.height)
    );
    format!("{}  {}\n", table.render(), wrap(&words, 2, 2))
}

/// How well the readings close on a benchmark.
fn closing(report: &Report) -> String {
    let units = report.solved.site.units;
    let mut out = String::new();
    for close in &report.closes {
        let error_m = close.error().to_m();
        let side = if error_m > 0.0 { "high" } else { "low" };
        let off = match units {
            UnitSystem::Us => format!("{} ft", decimal(error_m.abs() / 0.3048, 3)),
            UnitSystem::Si => format!("{} mm", decimal(error_m.abs() * 1000.0, 1)),
        };
        let advice =
            if closes(close) { "it closes" } else { "too much: shoot again before you go by it" };
        let words = format!(
            "{} comes out at {}, {off} {side} of its {}; {advice}",
            close.on,
            units.show_level(close.found),
            units.show_level(close.known)
        );
        out.push_str(&format!("  {}\n", wrap(&words, 2, 2)));
    }
    if out.is_empty() && report.built.is_some() && report.instrument.is_some() {
        let words = "none was taken: a last shot on a benchmark shows whether the rest can be \
                     trusted";
        out = format!("  {}\n", wrap(words, 2, 2));
    }
    if out.is_empty() { out } else { format!("{TITLE}CLOSING CHECK{TITLE:#}\n{out}") }
}

/// Up to what level joints must be tight, and the level of the water test.
fn watertight(report: &Report) -> String {
    let network = &report.now().site.network;
    let levels = &report.schedule.watertight_to;
    if levels.is_empty() {
        return String::new();
    }
    let mut table = Table::new("WATERTIGHT UP TO", show(report))
        .column("joints tight to", |s| s.show_level(Length::ZERO))
        .column("standing level", |s| s.show_level(Length::ZERO));
    let states = &report.schedule.state.steady.downspouts;
    for ((downspout, level), state) in network.downspouts().iter().zip(levels).zip(states) {
        let cells = Cells::new(show(report))
            // Upwards, so that what is printed is tight enough.
            .number(|s| inward(s, *level, true))
            .number(|s| s.show_level(state.standing_level));
        table.row(downspout.tag.as_str(), cells, Style::new());
    }
    let units = report.solved.site.units;
    let tests = network.test_levels().into_iter().map(|test| {
        let lines: Vec<&str> = test.lines.iter().map(|l| network.line(*l).tag.as_str()).collect();
        let at = network.end_tag(test.mouth.end());
        // Downwards, so that it does not run over there.
        let level = units.down().show_level(test.level);
        format!("{} to {level}, the {} at {at}", lines.join(", "), test.mouth.words())
    });
    let words = format!(
        "Risers are tight up to their tank's inlet. Water test, with the risers plugged at the \
         inlet: fill {}: there a blocked outlet would let the water out. Joints above it are \
         looked at in the first storm.",
        tests.collect::<Vec<_>>().join("; ")
    );
    format!("{}  {}\n", table.render(), wrap(&words, 2, 2))
}

/// Readings that nobody should go by before they were taken again.
fn doubts(report: &Report, built: &Built) -> String {
    if built.doubts.is_empty() {
        return String::new();
    }
    let units = report.solved.site.units;
    let mut out = format!("{TITLE}READ AGAIN{TITLE:#}\n");
    for doubt in &built.doubts {
        let side = if doubt.off.to_m() < 0.0 { "below" } else { "above" };
        let off = units.show_height(Length::m(doubt.off.to_m().abs()));
        let mut words = format!("{} comes out {off} {side} its design", doubt.name);
        if let Some(turned) = doubt.sign_turned {
            let turned = units.show_level(turned);
            words.push_str(&format!("; with the sign of the reading turned it is {turned}"));
        }
        out.push_str(&format!("  {}\n", wrap(&words, 2, 4)));
    }
    let beyond = units.show_height(crate::readings::doubted_beyond(units));
    let words = format!(
        "More than {beyond} off: measure it again. If it is so, put it into the site file and check \
         that."
    );
    out.push_str(&format!("  {}\n", wrap(&words, 2, 2)));
    out
}

/// What no longer passes of the review.
fn turned(report: &Report, built: &Built) -> String {
    if built.turned.is_empty() {
        let words = "Of the rules of the review none turned against the drawing.";
        let quiet = report.go_on() == Some(GoOn::Yes);
        return if quiet { format!("{}\n", wrap(words, 0, 0)) } else { String::new() };
    }
    let mut out = format!("{TITLE}NO LONGER PASSES{TITLE:#}\n");
    for finding in &built.turned {
        let words = format!("{}, {}: {}", finding.rule, finding.at, finding.message);
        out.push_str(&format!("  {}\n", wrap(&words, 2, 4)));
    }
    out
}

/// The measured levels and what each of them does.
fn deviations(report: &Report, built: &Built) -> String {
    let mut table = Table::new("MEASURED", show(report))
        .column("design", |s| s.show_level(Length::ZERO))
        .column("built", |s| s.show_level(Length::ZERO))
        .column("high by", |s| s.show_height(Length::ZERO))
        .column("effect", |s| s.show_height(Length::ZERO));
    let mut rows = 0;
    for (level, found) in report.levels.iter().zip(&built.found) {
        let Some(found) = *found else { continue };
        rows += 1;
        let deviations = built.as_built.deviations.iter();
        let deviation = deviations.copied().find(|d| d.set_point == level.set_point);
        let cells = Cells::new(show(report))
            .number(|s| s.show_level(level.design))
            .number(|s| s.show_level(found))
            .number(|s| s.show_height(found - level.design))
            .maybe(deviation.map(|d| d.effect), |s, e| s.show_height(e));
        table.row(level.name(), cells, Style::new());
    }
    if rows == 0 {
        return String::new();
    }
    let words = "effect: what this one alone does to the margin of the tightest downspout.";
    format!("{}  {}\n", table.render(), wrap(words, 2, 2))
}

/// What could be set differently: a level not yet measured, one set again, or several set back.
fn win_back(report: &Report, built: &Built) -> String {
    if report.holds() {
        return String::new();
    }
    let mut out = format!("{TITLE}TO WIN THE MARGIN BACK, one of{TITLE:#}\n");
    let mut line = |words: String| out.push_str(&format!("  {}\n", wrap(&words, 2, 4)));
    let mends = report.mends();
    let (again, open): (Vec<_>, Vec<_>) =
        mends.into_iter().partition(|(level, ..)| report.found(level).is_some());
    for (level, from, to) in open.iter().take(WAYS) {
        line(format!("set {}", one(report, level, *from, *to)));
    }
    for (level, from, to) in again.iter().take(WAYS) {
        line(format!("set again {}", one(report, level, *from, *to)));
    }
    let together: Vec<String> =
        built.as_built.set_back.iter().map(|set_point| report.name(*set_point)).collect();
    match together.as_slice() {
        [] if open.is_empty() && again.is_empty() => {
            line("nothing was found: ask the designer".to_owned());
        }
        [] | [_] => {}
        some => line(format!("set back to the drawing all of {}", some.join(", "))),
    }
    out
}

fn one(report: &Report, level: &Level, from: Length, to: Length) -> String {
    let units = report.solved.site.units;
    let move_m = (to - from).to_m();
    let side = if move_m < 0.0 { "lower" } else { "higher" };
    let by = units.show_height(Length::m(move_m.abs()));
    let mut words = format!("{} {by} {side}, to {}", level.name(), units.show_level(to));
    if let Some(instrument) = report.instrument {
        let rod = report.rod.show_limit(instrument.reading(to), move_m < 0.0);
        words.push_str(&format!(" (rod {})", rod.to_string().trim_end()));
    }
    words
}

/// What is said where the site as built was written.
pub fn written(out: &Path, report: &Report) -> String {
    let words = match report.go_on() {
        Some(GoOn::MeasureAgain) => "from readings that are to be taken again",
        Some(GoOn::RulesTurned) => "where rules of the review no longer pass",
        Some(GoOn::BelowTarget | GoOn::Stop) => "which fails",
        Some(GoOn::Yes) | None => return String::new(),
    };
    format!("warning: `{}` is the site as built, {words}\n", out.display())
}

/// What the numbers rest on.
fn notes(report: &Report) -> String {
    let words = "A lip moves with its outlet; line ends and profile ends move with the point, \
                 foot or inlet they stand at. Limits are exact by the steady state in the storm; \
                 the tolerance for all is that of the worst combination.";
    let mut out = format!("{}\n", wrap(words, 0, 0));
    if report.instrument.is_none() {
        let reading = match report.solved.site.units {
            UnitSystem::Us => "4.32 ft",
            UnitSystem::Si => "1.317 m",
        };
        let more = format!("`--backsight BM1={reading}` adds the rod reading for every level.");
        out.push_str(&format!("{}\n", wrap(&more, 0, 0)));
    }
    out
}
