//! The level schedule for people: the answer first, then the tables an installer works from.

use crate::commands::levels::{Built, Report};
use crate::render::show::Show;
use crate::render::table::{Cells, TITLE, Table};
use crate::render::wrap::{width, wrap};
use crate::site_levels::Level;
use anstyle::{AnsiColor, Style};
use wetrun_design::levels::{Limits, Verdict, WinBack};
use wetrun_units::{Length, Shown, UnitSystem, decimal};

/// No closing error should be larger: nobody sets a level more closely (common practice).
const CLOSING: Length = Length::m(0.005);

/// The whole report.
pub(crate) fn levels(report: &Report) -> String {
    let mut parts = vec![answer(report)];
    if let Some(built) = &report.built {
        parts.push(deviations(report, built));
        parts.push(win_back(report, built));
    }
    parts.push(schedule(report));
    parts.push(readings(report));
    parts.push(closing(report));
    parts.push(watertight(report));
    parts.push(notes(report));
    parts.retain(|part| !part.is_empty());
    parts.join("\n")
}

/// The first lines: go on or not, and the tolerance.
fn answer(report: &Report) -> String {
    let units = report.solved.site.units;
    let (word, color) = match (report.verdict(), report.passes()) {
        (Some(Verdict::GoOn), true) => ("GO ON", AnsiColor::Green),
        (Some(Verdict::BelowTarget), _) => ("GO ON, BUT BELOW TARGET", AnsiColor::Yellow),
        (Some(_), _) => ("STOP", AnsiColor::Red),
        (None, true) => ("LEVELS", AnsiColor::Green),
        (None, false) => ("FAILS", AnsiColor::Red),
    };
    let style = Style::new().bold().fg_color(Some(color.into()));
    let words = format!("{}{}", worst(report), tolerance(report));
    let indent = if width(word) > 12 { 2 } else { width(word) + 2 };
    let name = &report.solved.site.name;
    let datum = report.solved.site.datum.as_deref().map_or(String::new(), |d| format!("; {d}"));
    let rain = units.show_intensity(report.solved.scenario.intensity);
    let mut under = format!("{name}, {rain} of rain{datum}");
    if let Some(built) = &report.built {
        let measured = built.found.iter().flatten().count();
        let left = built.found.len() - measured;
        under = format!("{under}; {measured} levels measured, {left} stand as drawn");
    }
    format!(
        "{style}{word}{style:#}  {}\n{}{}\n",
        wrap(&words, width(word) + 2, indent),
        " ".repeat(indent),
        wrap(&under, indent, indent)
    )
}

/// Where it is tightest.
fn worst(report: &Report) -> String {
    let units = report.solved.site.units;
    let Some(worst) = report.schedule.worst() else {
        return "no downspout, so no level matters".to_owned();
    };
    let tag = &report.solved.site.network.downspout(worst.at).tag;
    let size = |m: f64| units.show_height(Length::m(m.abs()));
    let target = units.show_height(report.drawn.freeboard);
    let margin_m = worst.margin.to_m();
    let headroom_m = margin_m + report.drawn.freeboard.to_m();
    if worst.spills {
        return format!("{tag} spills in the storm");
    }
    if report.schedule.passes() {
        let other = if report.fails_otherwise {
            "; something fails that no level changes: see `wetrun check`"
        } else {
            ""
        };
        return format!("{tag} is tightest, with {} over its {target}{other}", size(margin_m));
    }
    let left = if headroom_m > 0.0 {
        format!("water stays {} below its opening", size(headroom_m))
    } else {
        format!("water stands {} above its opening", size(headroom_m))
    };
    format!("{tag} lacks {} of its {target} freeboard: {left}", size(margin_m))
}

/// How far all levels may be off at once.
fn tolerance(report: &Report) -> String {
    let units = report.solved.site.units;
    match report.tolerance() {
        Some(all) => format!("; every level may be off by {} at once", floored(units, all)),
        None if report.passes() || report.built.is_some() => String::new(),
        None => "; a site that fails has no room for error".to_owned(),
    }
}

/// A small height rounded down, so that what is printed still holds.
fn floored(units: UnitSystem, height: Length) -> Shown {
    let step_m = match units {
        UnitSystem::Us => 0.1 * 0.0254,
        UnitSystem::Si => 0.001,
    };
    units.show_height(Length::m((height.to_m() / step_m + 1e-6).floor() * step_m))
}

/// A limit rounded towards the design level, so that what is printed still holds.
fn inward(units: UnitSystem, limit: Length, lowest: bool) -> Shown {
    let step_m = match units {
        UnitSystem::Us => 0.01 * 0.3048,
        UnitSystem::Si => 0.001,
    };
    let steps = limit.to_m() / step_m;
    let steps = if lowest { (steps - 1e-6).ceil() } else { (steps + 1e-6).floor() };
    units.show_level(Length::m(steps * step_m))
}

fn show(report: &Report) -> Show {
    Show { main: report.solved.site.units, both: false }
}

/// Every level with its limits.
fn schedule(report: &Report) -> String {
    // What fails as built has no limits; what to do about it stands above.
    if report.levels.is_empty() || (report.built.is_some() && !report.passes()) {
        return String::new();
    }
    let title = if report.built.is_some() { "LEVELS AS BUILT" } else { "LEVELS TO SET" };
    let mut table = Table::new(title, show(report))
        .column("design", |s| s.show_level(Length::ZERO))
        .column("lowest", |s| s.show_level(Length::ZERO))
        .column("highest", |s| s.show_level(Length::ZERO))
        .plain_column("takes")
        .plain_column("");
    for level in &report.levels {
        let limits = report.limits(level);
        let limit = |limit: Option<Length>, lowest| {
            limit.map_or("-".to_owned(), |l| inward(report.solved.site.units, l, lowest).number)
        };
        let cells = Cells::new(show(report))
            .number(|s| s.show_level(level.design))
            .words(&limit(limits.and_then(|l| l.lowest), true))
            .words(&limit(limits.and_then(|l| l.highest), false))
            .plain(takes(limits))
            .plain(matters(report, level, limits));
        table.row(level.name(), cells, Style::new());
    }
    let mut out = table.render();
    let words = "lowest, highest: how far this level alone may go with the rest as it stands; - \
                 where 5 m do no harm. takes: what each unit off in that direction takes from \
                 the tightest downspout.";
    out.push_str(&format!("  {}\n", wrap(words, 2, 2)));
    out
}

/// What a unit off takes from the worst margin, and in which direction.
fn takes(limits: Option<Limits>) -> String {
    let Some(effect) = limits.map(|l| l.effect).filter(|e| !e.is_harmless()) else {
        return "-".to_owned();
    };
    let share = decimal(effect.cost().to_m() / 0.001, 2);
    format!("{share} {}", if effect.worse_low() { "low" } else { "high" })
}

fn matters(report: &Report, level: &Level, limits: Option<Limits>) -> &'static str {
    match limits {
        _ if level.set_point.is_none() => "not in the storm",
        Some(limits) if !limits.effect.is_harmless() => "matters",
        Some(limits) if limits.is_harmless() && report.passes() => "harmless",
        Some(_) if report.passes() => "to its limit",
        _ => "",
    }
}

/// The rod reading for every level, its range, and room for what was found.
fn readings(report: &Report) -> String {
    let Some(instrument) = report.instrument else { return String::new() };
    let units = report.solved.site.units;
    let rod = |level: Length| report.rod.show(instrument.reading(level)).number;
    let unit = report.rod.show(Length::ZERO).unit;
    let mut table = Table::new("ROD READINGS", show(report))
        .plain_column("set to")
        .plain_column("least")
        .plain_column("most")
        .plain_column("as built");
    for level in &report.levels {
        let limits = report.limits(level);
        let of = |limit: Option<Length>, least: bool| {
            let shown = |l| report.rod.show_limit(instrument.reading(l), least).number;
            limit.map_or("-".to_owned(), shown)
        };
        let cells = Cells::new(show(report))
            .plain(rod(level.design))
            .plain(of(limits.and_then(|l| l.highest), true))
            .plain(of(limits.and_then(|l| l.lowest), false))
            .plain("..........");
        table.row(level.name(), cells, Style::new());
    }
    let unit = if unit.is_empty() { "feet and inches" } else { unit };
    let words = format!(
        "in {unit}, height of instrument {}; a high level reads small. A minus: the rod upside \
         down, its foot on the level.",
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
        let good = error_m.abs() <= CLOSING.to_m() + 1e-9;
        let advice = if good { "it closes" } else { "too much: shoot again before you set by it" };
        let words = format!(
            "{} comes out at {}, {off} {side} of its {}; {advice}",
            close.on,
            units.show_level(close.found),
            units.show_level(close.known)
        );
        out.push_str(&format!("  {}\n", wrap(&words, 2, 2)));
    }
    if out.is_empty() { out } else { format!("{TITLE}CLOSING CHECK{TITLE:#}\n{out}") }
}

/// Up to what level joints must be tight, and the level of the water test.
fn watertight(report: &Report) -> String {
    let network = &report.solved.site.network;
    let levels = &report.schedule.watertight_to;
    let highest = levels.iter().copied().map(Length::to_m).fold(f64::NEG_INFINITY, f64::max);
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
    let opening = |d: &&wetrun_network::Downspout| d.opening().to_m() < highest - 1e-9;
    let plugged: Vec<&str> =
        network.downspouts().iter().filter(opening).map(|d| d.tag.as_str()).collect();
    let units = report.solved.site.units;
    let mut words = format!(
        "Risers are tight up to their tank's inlet. Water test: fill to {} with the risers \
         plugged at the inlet",
        inward(units, Length::m(highest), true)
    );
    if !plugged.is_empty() {
        words.push_str(&format!("; plug lower openings too: {}", plugged.join(", ")));
    }
    format!("{}  {}.\n", table.render(), wrap(&words, 2, 2))
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
        let deviation = deviations.copied().find(|d| Some(d.set_point) == level.set_point);
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

/// What could still be set differently.
fn win_back(report: &Report, built: &Built) -> String {
    let as_built = &built.as_built;
    if as_built.verdict == Verdict::GoOn {
        return String::new();
    }
    let mut out = format!("{TITLE}TO WIN THE MARGIN BACK{TITLE:#}\n");
    let mut line = |words: String| out.push_str(&format!("  {}\n", wrap(&words, 2, 4)));
    for found in as_built.win_back.iter().take(6) {
        line(format!("set {}", one(report, found)));
    }
    for found in as_built.set_again.iter().filter(|w| w.lacks.to_m() <= 0.0).take(6) {
        line(format!("or set again {}", one(report, found)));
    }
    if as_built.win_back.is_empty() && as_built.set_again.is_empty() {
        line("no single level within 1 m does it: ask the designer".to_owned());
    }
    out
}

fn one(report: &Report, found: &WinBack) -> String {
    let units = report.solved.site.units;
    let move_m = (found.to - found.from).to_m();
    let side = if move_m < 0.0 { "lower" } else { "higher" };
    // Rounded onwards, so that what is printed is enough.
    let mut words = format!(
        "{} {} {side}, to {}",
        report.name(found.set_point),
        units.show_height(Length::m(move_m.abs())),
        inward(units, found.to, move_m > 0.0)
    );
    if let Some(instrument) = report.instrument {
        let rod = report.rod.show_limit(instrument.reading(found.to), move_m < 0.0);
        words.push_str(&format!(" (rod {})", rod.to_string().trim_end()));
    }
    if found.lacks.to_m() > 0.0 {
        let lacks = units.show_height(found.lacks);
        words.push_str(&format!("; that alone is not enough: {lacks} are still lacking"));
    }
    words
}

/// What the numbers rest on.
fn notes(report: &Report) -> String {
    let words = "A lip moves with its outlet; line ends and profile ends move with the point, \
                 foot or inlet they stand at. Limits are exact by the steady state in the storm; \
                 the tolerance for all is that of the worst combination.";
    let mut out = format!("{}\n", wrap(words, 0, 0));
    if report.instrument.is_none() {
        let more = "`--backsight BM1=4.32 ft` adds the rod reading for every level.";
        out.push_str(&format!("{}\n", wrap(more, 0, 0)));
    }
    out
}
