//! Years of rain on paper: what stands in the tanks over the days, the months, and tanks of other
//! sizes.

use super::scaled;
use crate::days::Days;
use crate::outcome::Refusal;
use crate::render::text::year as words;
use crate::sheets::Printed;
use wetrun_sheet::Medium;
use wetrun_sheet::graph::{Axis, Graph, Limit, Look, Panel, Trace};
use wetrun_sheet::paper::{Block, Part, Table};
use wetrun_units::{Volume, decimal};
use wetrun_year::MonthYear;

/// So many tanks have panels or curves; the tables have all.
const MOST: usize = 5;
/// More months than this are shown as years.
const MOST_MONTHS: usize = 72;
/// So many days or more have a tick for each year, fewer for each month.
const FEW_DAYS: usize = 800;

/// The run as the bytes of a file; the site file's bytes are named on every page by their hash.
///
/// # Errors
/// A refusal where the writer of PDF refuses.
pub fn year(report: &Days, file: &[u8], medium: Medium) -> Result<Printed, Refusal> {
    super::printed(
        &super::paper(&report.site, &report.facts, file, part(report, medium == Medium::Svg)),
        medium,
    )
}

/// The run as a part of a paper; where its graph stands alone, that says the answer too.
pub(crate) fn part(report: &Days, alone: bool) -> Part {
    let short = report.year.uses.iter().any(|wants| wants.days_short > 0);
    let told: Vec<String> = words::head_lines(report);
    let sentence = words::uses_sentence(report);
    let mut blocks = vec![Block::Verdict {
        good: !short,
        word: if short { "Goes short" } else { "Never short" }.to_owned(),
        sentence: sentence.clone(),
    }];
    let words = if alone { sentence } else { String::new() };
    blocks.push(Block::Figure(days(report, words).drawing()));
    blocks.push(Block::Figure(months(report).drawing()));
    blocks.extend(sizes(report).map(|graph| Block::Figure(graph.drawing())));
    blocks.extend(told.into_iter().map(Block::Text));
    blocks.push(Block::Heading("Tanks".to_owned()));
    blocks.push(Block::Table(tanks(report)));
    let worth = words::worth_lines(report);
    if !worth.is_empty() {
        blocks.push(Block::Heading("What more would bring".to_owned()));
        blocks.push(Block::Facts(worth));
    }
    blocks.push(Block::Text(words::basis_words(report)));
    Part { title: "Days of rain".to_owned(), wide: true, blocks }
}

/// The rain, what stands in each tank in the evening, and on which days a use goes short.
fn days(report: &Days, words: String) -> Graph {
    let course = &report.year.course;
    let network = &report.site.network;
    let volume = scaled::volume(report.site.units);
    let size = scaled::height(report.site.units);
    let rains = (report.rain.days.iter().enumerate())
        .flat_map(|(day, rain)| {
            let depth = size.number(rain.unwrap_or_default().to_m());
            let day = day as f64;
            [(day, 0.0), (day, depth), (day + 1.0, depth), (day + 1.0, 0.0)]
        })
        .collect::<Vec<_>>();
    let most = rains.iter().map(|point| point.1).fold(1e-9, f64::max);
    let mut panels = vec![Panel {
        name: format!("Rain of each day, {}", size.unit),
        height_pt: 44.0,
        head: 0.0,
        foot: most * 1.08,
        traces: vec![Trace { label: "rain".to_owned(), look: Look::Filled, points: rains }],
        limits: Vec::new(),
    }];
    let left_out = network.tanks().len().saturating_sub(MOST);
    let height_pt = if network.tanks().len() > 3 { 36.0 } else { 54.0 };
    for (place, tank) in network.tanks().iter().enumerate().take(MOST) {
        let held = |(day, one): (usize, &wetrun_year::Course)| {
            (day as f64 + 1.0, volume.number(one.tanks[place].to_m3()))
        };
        let start = report.year.tanks[place].start;
        let points: Vec<(f64, f64)> = std::iter::once((0.0, volume.number(start.to_m3())))
            .chain(course.iter().enumerate().map(held))
            .collect();
        let full = volume.number(tank.volume.unwrap_or_default().to_m3());
        let most = points.iter().map(|point| point.1).fold(full, f64::max).max(1e-9);
        panels.push(Panel {
            name: format!("{} in the evening, {}", tank.tag, volume.unit),
            height_pt,
            head: most * 1.1,
            foot: 0.0,
            traces: vec![Trace { label: tank.tag.clone(), look: Look::Filled, points }],
            limits: vec![Limit { label: "full".to_owned(), value: full, hard: false }],
        });
    }
    let lacks = |one: &wetrun_year::Course| scaled::share(one.asked - one.met, one.asked);
    let points: Vec<(f64, f64)> = (course.iter().enumerate())
        .flat_map(|(day, one)| {
            let lack = lacks(one);
            let day = day as f64;
            [(day, 0.0), (day, lack), (day + 1.0, lack), (day + 1.0, 0.0)]
        })
        .collect();
    panels.push(Panel {
        name: "Missing of what all uses take that day, %".to_owned(),
        height_pt: 30.0,
        head: 105.0,
        foot: 0.0,
        traces: vec![Trace { label: "missing".to_owned(), look: Look::Filled, points }],
        limits: Vec::new(),
    });
    let more = match left_out {
        0 => String::new(),
        more => format!("; {more} more tanks in the table"),
    };
    let word = if report.year.days < FEW_DAYS { "month" } else { "year" };
    Graph {
        title: format!("{}: days of rain", report.site.name),
        words,
        across: Axis {
            name: format!("first day of the {word}{more}"),
            from: 0.0,
            to: course.len() as f64,
            ticks: first_days(report),
        },
        panels,
    }
}

/// The first days of the months, or of the years where there are many.
fn first_days(report: &Days) -> Vec<(f64, String)> {
    let all = (0..report.year.days).map(|day| (day, report.rain.first.plus(day).parts()));
    let few = report.year.days < FEW_DAYS;
    let begins = all.filter(|(_, (_, month, day))| *day == 1 && (few || *month == 1));
    begins
        .map(|(at, (year, month, _))| {
            let words = if few { format!("{year:04}-{month:02}") } else { format!("{year:04}") };
            (at as f64, words)
        })
        .collect()
}

/// One bar of the months' graph.
struct Bar {
    name: String,
    caught: Volume,
    asked: Volume,
    met: Volume,
    overflowed: Volume,
}

fn bars(report: &Days) -> Vec<Bar> {
    let by_years = report.year.months.len() > MOST_MONTHS;
    let mut bars: Vec<Bar> = Vec::new();
    for MonthYear { year, month, caught, asked, met, overflowed, .. } in &report.year.months {
        let name = match by_years {
            true => format!("{year:04}"),
            false => format!("{year:04}-{month:02}"),
        };
        match bars.last_mut().filter(|bar| bar.name == name) {
            Some(bar) => {
                bar.caught = bar.caught + *caught;
                bar.asked = bar.asked + *asked;
                bar.met = bar.met + *met;
                bar.overflowed = bar.overflowed + *overflowed;
            }
            None => bars.push(Bar {
                name,
                caught: *caught,
                asked: *asked,
                met: *met,
                overflowed: *overflowed,
            }),
        }
    }
    bars
}

/// Sums of the days by months: a picture of them, never the balance itself.
fn months(report: &Days) -> Graph {
    let volume = scaled::volume(report.site.units);
    let bars = bars(report);
    let steps = |of: &dyn Fn(&Bar) -> Volume| -> Vec<(f64, f64)> {
        (bars.iter().enumerate())
            .flat_map(|(place, bar)| {
                let height = volume.number(of(bar).to_m3());
                [(place as f64, height), (place as f64 + 1.0, height)]
            })
            .collect()
    };
    let traces = vec![
        Trace { label: "caught".to_owned(), look: Look::Filled, points: steps(&|bar| bar.caught) },
        Trace {
            label: "asked for".to_owned(),
            look: Look::Line(2),
            points: steps(&|bar| bar.asked),
        },
        Trace { label: "met".to_owned(), look: Look::Line(1), points: steps(&|bar| bar.met) },
        Trace {
            label: "ran over".to_owned(),
            look: Look::Line(3),
            points: steps(&|bar| bar.overflowed),
        },
    ];
    let all = traces.iter().flat_map(|trace| trace.points.iter().map(|point| point.1));
    let most = all.fold(1e-9, f64::max);
    let by_years = report.year.months.len() > MOST_MONTHS;
    let (word, count) = if by_years { ("year", bars.len()) } else { ("month", bars.len()) };
    let ticks = bars.iter().enumerate().map(|(place, bar)| (place as f64 + 0.5, bar.name.clone()));
    Graph {
        title: format!("{}: sums of the days by {word}s", report.site.name),
        words: String::new(),
        across: Axis {
            name: format!("{word}s"),
            from: 0.0,
            to: count.max(1) as f64,
            ticks: ticks.collect(),
        },
        panels: vec![Panel {
            name: format!("Volume in each {word}, {}", volume.unit),
            height_pt: 130.0,
            head: most * 1.08,
            foot: 0.0,
            traces,
            limits: Vec::new(),
        }],
    }
}

/// What all uses get where one tank has another volume, the others as they are.
fn sizes(report: &Days) -> Option<Graph> {
    let volume = scaled::volume(report.site.units);
    let asked: Volume = report.year.uses.iter().map(|wants| wants.asked).sum();
    if asked.to_m3() <= 0.0 {
        return None;
    }
    let tanks = report.site.network.tanks();
    let traces: Vec<Trace> = (tanks.iter().enumerate())
        .take(MOST)
        .map(|(place, tank)| {
            let own = report.sizes.iter().filter(|size| size.tank == place);
            let point = |size: &crate::days::TankOfSize| {
                (volume.number(size.volume.to_m3()), scaled::share(size.met, asked))
            };
            Trace {
                label: tank.tag.clone(),
                look: Look::Line(place),
                points: own.map(point).collect(),
            }
        })
        .collect();
    let points = || traces.iter().flat_map(|trace| &trace.points);
    let (least, most) = points().fold((100.0_f64, 0.0_f64), |(a, b), p| (a.min(p.1), b.max(p.1)));
    let widest = points().map(|point| point.0).fold(1e-9, f64::max);
    let now = scaled::share(report.year.totals.used, asked);
    let air = (most - least).max(1.0) * 0.12;
    Some(Graph {
        title: format!("{}: one tank of another size", report.site.name),
        words:
            "Half to four times its volume, the others as they are; the share met is that of all \
                uses together."
                .to_owned(),
        across: Axis::round(format!("volume of the tank, {}", volume.unit), 0.0, widest, 8.0),
        panels: vec![Panel {
            name: "Met of what all uses ask for, %".to_owned(),
            height_pt: 110.0,
            head: most + air,
            foot: (least - air).max(0.0),
            traces,
            limits: vec![Limit {
                label: format!("as drawn, {} %", decimal(now, 1)),
                value: now,
                hard: false,
            }],
        }],
    })
}

fn tanks(report: &Days) -> Table {
    let units = report.site.units;
    let unit = units.show_volume(Volume::ZERO).unit;
    let mut table = Table::new(&[
        ("Tank", "", false),
        ("Start", unit, true),
        ("Received", unit, true),
        ("Given", unit, true),
        ("Ran over", unit, true),
        ("End", unit, true),
        ("Days empty", "", true),
    ]);
    table.narrow(&["Tank", "Received", "Given"]);
    for (tank, held) in report.site.network.tanks().iter().zip(&report.year.tanks) {
        let values = [held.start, held.received, held.given, held.overflowed, held.end];
        let values = values.map(|volume| units.show_volume(volume).number);
        let row = std::iter::once(tank.tag.clone()).chain(values);
        table.row(row.chain([held.days_empty.to_string()]));
    }
    table
}
