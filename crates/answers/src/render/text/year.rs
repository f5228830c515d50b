//! The report of `wetrun year` for people: what each use got first, then where the water went.

use super::entry;
use crate::days::Days;
use crate::render::show::Show;
use crate::render::table::{Cells, TITLE, Table};
use crate::render::wrap::wrap;
use anstyle::Style;
use wetrun_units::{Volume, decimal};
use wetrun_year::{Order, Year};

const COLUMN: usize = 13;

/// The whole report.
pub fn year(report: &Days) -> String {
    let show = Show { main: report.site.units, both: false };
    let parts = [
        head(report, show),
        without(report, show),
        tanks(report, show),
        worth(report),
        sizes(report, show),
        months(report, show),
        basis(report),
    ];
    let parts: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    parts.join("\n")
}

fn head(report: &Days, show: Show) -> String {
    let mut out = format!("{}\n", wrap(&run_words(report), 0, 2));
    for (index, wants) in report.site.uses.iter().enumerate() {
        out.push_str(&entry(&wants.tag, COLUMN, &got(report, index)));
    }
    out.push_str(&entry("water", COLUMN, &went(report, show)));
    if let Some(words) = heaviest(report, show) {
        out.push_str(&entry("heaviest", COLUMN, &words));
    }
    out
}

/// Which days were run.
fn run_words(report: &Days) -> String {
    let (year, rain) = (&report.year, &report.rain);
    let last = rain.first.plus(year.days.saturating_sub(1));
    let missing = match year.days_missing {
        0 => "none missing".to_owned(),
        days => format!("{days} missing, counted as dry"),
    };
    format!("{}: {} days of rain, {} to {last}, {missing}", report.site.name, year.days, rain.first)
}

fn went(report: &Days, show: Show) -> String {
    let totals = &report.year.totals;
    let v = |volume: Volume| show.prose(|s| s.show_volume(volume));
    format!(
        "{} fell on the roofs, {} reached the tanks, {} was used, {} ran onto the ground; with \
         uses {} it would be {} used",
        v(totals.rain),
        v(totals.caught),
        v(totals.used),
        v(totals.overflowed),
        other_words(report.order),
        v(report.other.totals.used),
    )
}

fn heaviest(report: &Days, show: Show) -> Option<String> {
    let (day, depth) = report.year.heaviest?;
    let depth = show.prose(|s| s.show_size(depth));
    Some(format!("{depth} on {}", report.rain.first.plus(day)))
}

/// Which days were run, where the water went, the heaviest day.
pub(crate) fn head_lines(report: &Days) -> Vec<String> {
    let show = Show { main: report.site.units, both: false };
    let heaviest = heaviest(report, show).map(|words| format!("The heaviest day: {words}."));
    [format!("{}.", run_words(report)), format!("{}.", went(report, show))]
        .into_iter()
        .chain(heaviest)
        .collect()
}

/// What each use got.
pub(crate) fn uses_sentence(report: &Days) -> String {
    let uses = report.site.uses.iter().enumerate();
    let each: Vec<String> =
        uses.map(|(index, wants)| format!("{}: {}", wants.tag, got(report, index))).collect();
    if each.is_empty() { "No use takes water.".to_owned() } else { each.join("; ") }
}

fn other_words(order: Order) -> &'static str {
    match order {
        Order::UseLast => "first in the day",
        Order::UseFirst => "last in the day",
    }
}

fn got(report: &Days, index: usize) -> String {
    let (Some(got), Some(other)) = (report.year.uses.get(index), report.other.uses.get(index))
    else {
        return String::new();
    };
    let share = |met: Volume, asked: Volume| decimal(100.0 * met.to_m3() / asked.to_m3(), 1);
    if got.asked.to_m3() <= 0.0 {
        return "takes nothing on these days".to_owned();
    }
    let (low, high) = (share(got.met, got.asked), share(other.met, other.asked));
    let met = format!("{low} % of what it takes ({high} % by the other order)");
    if got.days_short == 0 {
        return format!("{met}, never short");
    }
    let from = report.rain.first.plus(got.longest_from);
    format!(
        "{met}, short on {} days, the longest run {} from {from}",
        got.days_short, got.longest_short
    )
}

fn without(report: &Days, show: Show) -> String {
    let Some((tag, open)) = &report.open else { return String::new() };
    let short = |year: &Year| year.uses.iter().map(|wants| wants.days_short).sum::<usize>();
    let cost = (open.totals.used.to_m3() - report.year.totals.used.to_m3()).max(0.0);
    let cost = show.prose(|s| s.show_volume(Volume::m3(cost)));
    let words = format!(
        "shut for that time it costs {cost} of supply; days short, summed over the uses: {} \
         instead of {}; what would have come to it ran to the ground",
        short(&report.year),
        short(open)
    );
    entry(tag, COLUMN, &words)
}

fn tanks(report: &Days, show: Show) -> String {
    let volume = |table: Table, name: &str| table.column(name, |s| s.show_volume(Volume::ZERO));
    let mut table = Table::new("TANKS", show);
    for name in ["start", "received", "given", "overflowed", "end"] {
        table = volume(table, name);
    }
    table = table.plain_column("days empty");
    for (tank, held) in report.site.network.tanks().iter().zip(&report.year.tanks) {
        let mut cells = Cells::new(show);
        for value in [held.start, held.received, held.given, held.overflowed, held.end] {
            cells = cells.number(|s| s.show_volume(value));
        }
        table.row(tank.tag.clone(), cells.plain(held.days_empty.to_string()), Style::new());
    }
    table.render()
}

fn worth(report: &Days) -> String {
    let said = worth_lines(report);
    if said.is_empty() {
        return String::new();
    }
    let said: String = said.iter().map(|(tag, words)| entry(tag, COLUMN, words)).collect();
    format!("{TITLE}WHAT MORE WOULD BRING{TITLE:#}\n{said}")
}

/// What more of a tank or a roof would bring, in days of supply a year, and what each use costs.
pub(crate) fn worth_lines(report: &Days) -> Vec<(String, String)> {
    let show = Show { main: report.site.units, both: false };
    let uses = &report.year.uses;
    let asked_m3: f64 = uses.iter().map(|wants| wants.asked.to_m3()).sum();
    if asked_m3 <= 0.0 {
        return Vec::new();
    }
    // A day of supply is what all uses ask for on the mean of these days; a year has 365.25 of them.
    let days = |gain: Volume| format!("{} days", decimal(gain.to_m3() / asked_m3 * 365.25, 1));
    let mut said = Vec::new();
    for (tank, step) in report.site.network.tanks().iter().zip(&report.worth.tanks) {
        let volume = show.prose(|s| s.show_volume(step.volume));
        let [one, two] = step.brings.map(days);
        let words =
            format!("the first {volume} more would add {one} of supply a year, the next {two}");
        said.push((tank.tag.clone(), words));
    }
    let (area, gain) = report.worth.roofs;
    let area = show.prose(|s| s.show_area(area));
    let words = format!("{area} more, shared by all as they are, would add {} a year", days(gain));
    said.push(("roofs".to_owned(), words));
    for (index, (wants, spares)) in report.site.uses.iter().zip(&report.worth.spares).enumerate() {
        let costs: Vec<String> = (report.site.uses.iter().zip(spares).enumerate())
            .filter(|(other, (_, days))| *other != index && **days != 0)
            .map(|(_, (other, days))| format!("{} {days} days short", other.tag))
            .collect();
        if !costs.is_empty() {
            let words = format!("what it takes costs {}", costs.join(", "));
            said.push((wants.tag.clone(), words));
        }
    }
    said
}

/// What the uses would get with one tank of another size.
fn sizes(report: &Days, show: Show) -> String {
    let mut table = Table::new("ONE TANK OF ANOTHER SIZE", show)
        .column("volume", |s| s.show_volume(Volume::ZERO))
        .column("used", |s| s.show_volume(Volume::ZERO))
        .plain_column("of what is asked");
    let asked: f64 = report.year.uses.iter().map(|wants| wants.asked.to_m3()).sum();
    if asked <= 0.0 {
        return String::new();
    }
    for size in &report.sizes {
        let share = format!("{} %", decimal(100.0 * size.met.to_m3() / asked, 1));
        let cells = Cells::new(show)
            .number(|s| s.show_volume(size.volume))
            .number(|s| s.show_volume(size.met))
            .plain(share);
        table.row(report.site.network.tanks()[size.tank].tag.clone(), cells, Style::new());
    }
    table.render()
}

fn months(report: &Days, show: Show) -> String {
    let mut table = Table::new("MONTHS", show);
    for name in ["rain", "caught", "overflow", "asked", "met", "held at end"] {
        table = table.column(name, |s| s.show_volume(Volume::ZERO));
    }
    for month in &report.year.months {
        let mut cells = Cells::new(show);
        let values =
            [month.rain, month.caught, month.overflowed, month.asked, month.met, month.end];
        for value in values {
            cells = cells.number(|s| s.show_volume(value));
        }
        table.row(format!("{:04}-{:02}", month.year, month.month), cells, Style::new());
    }
    table.render()
}

fn basis(report: &Days) -> String {
    format!("{}\n", wrap(&basis_words(report), 0, 0))
}

/// What the numbers rest on.
pub(crate) fn basis_words(report: &Days) -> String {
    let order = match report.order {
        Order::UseLast => "overflow, transfers, then uses of what stood there in the morning",
        Order::UseFirst => "uses, overflow, then transfers",
    };
    format!(
        "Each day: runoff, {order}. The two orders bracket what a finer step would give. The \
         months are sums of days, not a balance by months. Past years promise nothing for those \
         to come; whether the water may be drunk is not judged here."
    )
}
