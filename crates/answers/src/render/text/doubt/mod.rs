//! The report of `wetrun doubt` for people: one sentence first, then who decides it, how near failure
//! is, and what to do.

mod bars;
mod inputs;

pub use inputs::yaml;

use crate::doubt::Doubted;
use crate::render::doubt::{Told, list, one_of, plain_chance};
use crate::render::show::Show;
use crate::render::table::{Cells, TITLE, Table};
use crate::render::wrap::wrap;
use anstyle::{AnsiColor, Style};
use wetrun_doubt::{AtDownspout, Chance, Harm, Study};
use wetrun_units::{Flow, Length, decimal};

/// So many rows of faults and of inputs are shown.
const MOST_FAULTS: usize = 14;
const MOST_OWED: usize = 10;
/// An input that less of the variance is owed to is summed with the others.
const SAID: f64 = 0.005;

/// The whole report.
pub fn doubt(report: &Doubted) -> String {
    let show = Show { main: report.settled.site.units, both: false };
    let told = report.told();
    let parts = [
        head(report, &told),
        downspouts(report, show),
        owed(&report.study, &told, show),
        nearest(&report.study, &told),
        faults(report, &told, show),
        advice(&report.study, &told),
        inputs::table(report, &told),
        basis(report),
    ];
    let parts: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    parts.join("\n")
}

/// The answer in one sentence.
fn head(report: &Doubted, told: &Told<'_>) -> String {
    let (site, study) = (&report.settled.site, &report.study);
    let color = if study.fails.chance > 0.0 { AnsiColor::Yellow } else { AnsiColor::Green };
    let color = if report.settled.verdict.holds() { color } else { AnsiColor::Red };
    let style = Style::new().bold().fg_color(Some(color.into()));
    let words = sentence(report, told);
    let rain = site.units.show_intensity(report.settled.scenario.intensity);
    let under = format!("{}, {rain} of rain, {} storms tried", site.name, study.samples);
    format!("{style}DOUBT{style:#}  {}\n       {}\n", wrap(&words, 7, 7), wrap(&under, 7, 7))
}

/// `D3 spills in 1 of 180 such storms; the rain and the loss of bend-45 decide it`.
pub(crate) fn sentence(report: &Doubted, told: &Told<'_>) -> String {
    let study = &report.study;
    let storms = if study.samples == 1 { "storm" } else { "storms" };
    let worst = |of: &dyn Fn(&AtDownspout) -> Chance| {
        let each = study.downspouts.iter().map(of).enumerate();
        let worst = each.rev().max_by(|a, b| a.1.chance.total_cmp(&b.1.chance))?;
        let tag = &report.settled.site.network.downspouts()[worst.0].tag;
        (worst.1.chance > 0.0).then_some((tag.clone(), worst.1))
    };
    let decides = decides(study, told);
    let drawn = match report.settled.verdict.holds() {
        true => String::new(),
        false => "as drawn it fails already; ".to_owned(),
    };
    if let Some((tag, chance)) = worst(&|at| at.spills) {
        return format!("{drawn}{tag} spills in {} such {storms}{decides}", one_of(&chance));
    }
    let none = format!("no downspout spills in {} such {storms}", study.samples);
    if study.fails.chance <= 0.0 {
        return format!("{none}, and none fails ({}){decides}", one_of(&study.fails));
    }
    match worst(&|at| at.short) {
        Some((tag, chance)) => format!(
            "{drawn}{none} ({}), but {tag} keeps less than its freeboard in {}{decides}",
            one_of(&study.spills),
            one_of(&chance)
        ),
        None => format!(
            "{drawn}{none} ({}), but a check fails in {}",
            one_of(&study.spills),
            one_of(&study.fails)
        ),
    }
}

/// The one or two inputs that the least headroom hangs on.
fn decides(study: &Study, told: &Told<'_>) -> String {
    // One that alone is owed so much needs no other beside it.
    const ALONE: f64 = 0.9;
    let mut said: Vec<String> = Vec::new();
    let mut sum = 0.0;
    for owed in study.owed_to.iter().filter(|owed| owed.total >= 0.05).take(2) {
        if sum >= ALONE {
            break;
        }
        sum += owed.total;
        said.push(told.input(&study.inputs[owed.input].subject));
    }
    match said.len() {
        0 => String::new(),
        1 => format!("; {} decides it", said[0]),
        _ => format!("; {} decide it", list(&said)),
    }
}

fn downspouts(report: &Doubted, show: Show) -> String {
    let (site, study) = (&report.settled.site, &report.study);
    let height = |s: wetrun_units::UnitSystem| s.show_height(Length::ZERO);
    let bars = bars::Bars::new(report);
    let mut table = Table::new("DOWNSPOUTS", show)
        .plain_column("spills in")
        .plain_column("short in")
        .column("5 %", height)
        .column("50 %", height)
        .column("95 %", height)
        .plain_column(&bars.head());
    for (downspout, at) in site.network.downspouts().iter().zip(&study.downspouts) {
        let mut cells = Cells::new(show).plain(short(&at.spills)).plain(short(&at.short));
        for index in 0..3 {
            cells = cells.maybe(at.headroom.map(|levels| levels[index]), |s, l| s.show_height(l));
        }
        let style = match (at.spills.chance > 0.0, at.short.chance > 0.0) {
            (true, _) => Style::new().fg_color(Some(AnsiColor::Red.into())),
            (false, true) => Style::new().fg_color(Some(AnsiColor::Yellow.into())),
            _ => Style::new(),
        };
        table.row(downspout.tag.clone(), cells.plain(bars.bar(at.headroom)), style);
    }
    let legend = wrap(&bars.legend(site.units), 2, 2);
    format!("{}  {legend}\n", table.render())
}

/// A chance in a narrow column.
fn short(chance: &Chance) -> String {
    one_of(chance).replace("less than ", "<").replace("more than ", ">")
}

fn owed(study: &Study, told: &Told<'_>, show: Show) -> String {
    if study.owed_to.iter().all(|owed| owed.total <= 0.0) {
        let words = "The least headroom is the same in every storm tried: what spills stands at its \
                     lip, or nothing is doubted.";
        return format!("{}\n", wrap(words, 0, 0));
    }
    let mut table = Table::new("THE LEAST HEADROOM IS OWED TO", show)
        .plain_column("alone")
        .plain_column("in all")
        .plain_column("");
    let said = study.owed_to.iter().take(MOST_OWED).filter(|owed| owed.total >= SAID);
    let percent = |share: f64| format!("{} %", decimal(100.0 * share, 1));
    let mut count = 0;
    for owed in said {
        count += 1;
        let bar = "#".repeat((20.0 * owed.total).round() as usize);
        let cells = Cells::new(show)
            .plain(percent(owed.first))
            .plain(percent(owed.total))
            .plain(format!("{bar:<20}"));
        table.row(told.input(&study.inputs[owed.input].subject), cells, Style::new());
    }
    let others = &study.owed_to[count..];
    if !others.is_empty() {
        let first: f64 = others.iter().map(|owed| owed.first).sum();
        let cells = Cells::new(show).plain(percent(first)).plain("").plain(" ".repeat(20));
        table.row(format!("{} others", others.len()), cells, Style::new());
    }
    table.render()
}

fn nearest(study: &Study, told: &Told<'_>) -> String {
    let title = format!("{TITLE}THE SMALLEST BAD LUCK{TITLE:#}\n");
    format!("{title}  {}\n", wrap(&nearest_words(study, told), 2, 2))
}

/// The combination of inputs nearest to the drawing at which a downspout begins to spill.
pub(crate) fn nearest_words(study: &Study, told: &Told<'_>) -> String {
    match &study.nearest {
        None => "No combination within six standard deviations of the drawing, each input within \
                 what it may be, makes a downspout spill."
            .to_owned(),
        Some(nearest) if nearest.moved.is_empty() => {
            format!("As drawn {} spills: no bad luck is needed.", told.downspout(nearest.at))
        }
        Some(nearest) => format!(
            "{} begins to spill with {}. That is {} standard deviations from the drawing: beyond a \
             plane there lies {}.",
            told.downspout(nearest.at),
            told.all_moved(study, &nearest.moved),
            decimal(nearest.distance, 2),
            plain_chance(nearest.chance)
        ),
    }
}

fn faults(report: &Doubted, told: &Told<'_>, show: Show) -> String {
    let study = &report.study;
    if study.faults.is_empty() {
        return String::new();
    }
    let mut table = Table::new("ONE PLAIN FAULT, BY HARM", show)
        .column("spilled", |s| s.show_flow(Flow::ZERO))
        .column("headroom", |s| s.show_height(Length::ZERO))
        .plain_column("worst")
        .plain_column("leaves at");
    for harm in study.faults.iter().take(MOST_FAULTS) {
        let worst = harm.worst.map_or("-", |id| told.downspout(id));
        let cells = match harm.solved {
            true => Cells::new(show)
                .number(|s| s.show_flow(harm.spilled))
                .maybe(harm.headroom, |s, headroom| s.show_height(headroom))
                .plain(worst)
                .plain(leaves_at(harm, told)),
            false => Cells::new(show).words("-").words("-").plain("-").plain("not solved"),
        };
        let style = match harm.spills.is_empty() {
            true => Style::new(),
            false => Style::new().fg_color(Some(AnsiColor::Red.into())),
        };
        table.row(told.fault(harm), cells, style);
    }
    let mut out = table.render();
    let rest = study.faults.len().saturating_sub(MOST_FAULTS);
    if rest > 0 {
        let spills = study.faults[MOST_FAULTS..].iter().filter(|harm| !harm.spills.is_empty());
        let words = match spills.count() {
            0 => format!("{rest} more do less harm; none of them spills."),
            n => format!("{rest} more do less harm; {n} of them spill. `--format json` has all."),
        };
        out.push_str(&format!("  {}\n", wrap(&words, 2, 2)));
    }
    out
}

/// Where water leaves: the first few tags, or that there is no way.
pub(crate) fn leaves_at(harm: &Harm, told: &Told<'_>) -> String {
    const MOST: usize = 3;
    let tags = |ids: &[wetrun_network::DownspoutId]| {
        let mut tags: Vec<&str> = ids.iter().take(MOST).map(|id| told.downspout(*id)).collect();
        let more = format!("+{}", ids.len().saturating_sub(MOST));
        if ids.len() > MOST {
            tags.push(&more);
        }
        tags.join(" ")
    };
    if !harm.no_way.is_empty() {
        return format!("no way: {}", tags(&harm.no_way));
    }
    match (harm.spills.is_empty(), harm.elsewhere.to_m3_per_s() > 0.0) {
        (false, _) => tags(&harm.spills),
        (true, true) => "vent, cap or rim".to_owned(),
        (true, false) => "-".to_owned(),
    }
}

fn advice(study: &Study, told: &Told<'_>) -> String {
    let said = advice_lines(study, told);
    if said.is_empty() {
        return String::new();
    }
    let said: String = said.iter().map(|words| line(words)).collect();
    format!("{TITLE}WHAT WOULD LOWER THE CHANCE{TITLE:#}\n{said}")
}

/// What to measure or do next, a line each; empty where there is no chance to lower.
pub(crate) fn advice_lines(study: &Study, told: &Told<'_>) -> Vec<String> {
    let mut said: Vec<String> = (study.advice.iter())
        .map(|advice| {
            let [before, after] = &advice.chance;
            format!("{}: {} becomes {}", told.step(advice.step), one_of(before), one_of(after))
        })
        .collect();
    if let Some(first) = study.advice.first() {
        let of = if first.of_spills { "a spill" } else { "a failing check" };
        said.push(format!("Chances of {of}, each number being found as it is drawn."));
    } else if study.fails.chance > 0.0 && study.fails.chance < 1.0 {
        said.push("nothing that can be measured lowers it by more than chance would".to_owned());
    }
    said
}

fn basis(report: &Doubted) -> String {
    format!("{TITLE}BASIS{TITLE:#}\n{}", line(&basis_words(report)))
}

/// What the chances rest on.
pub(crate) fn basis_words(report: &Doubted) -> String {
    let study = &report.study;
    let not_solved = match study.not_solved {
        0 => "every one of them solved".to_owned(),
        n => format!("{n} of them NOT SOLVED and left out of the chances"),
    };
    format!(
        "{} storms by a Latin design from seed {}, {not_solved}. Chances are of such a storm that \
         comes, not of a year; their bounds at 95 % stand in the JSON. They are worth what is said \
         of the inputs: `--inputs` prints that to be bettered. A chance that is small enough is for \
         the designer and the local code to say.",
        study.samples, study.seed
    )
}

fn line(words: &str) -> String {
    format!("  {}\n", wrap(words, 2, 4))
}
