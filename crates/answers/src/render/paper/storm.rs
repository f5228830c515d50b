//! The storm on paper: the rain, the water in the downspouts against their openings, the tanks.

use super::scaled;
use crate::outcome::{Refusal, Status};
use crate::render::clock;
use crate::render::show::Show;
use crate::render::text::storm as words;
use crate::sheets::Printed;
use crate::storm::Storm;
use wetrun_checks::Outcome;
use wetrun_motion::{COUNTS, Moment};
use wetrun_network::DownspoutId;
use wetrun_sheet::Medium;
use wetrun_sheet::graph::{Axis, Graph, Limit, Look, Panel, Trace};
use wetrun_sheet::paper::{Block, Part, Table};
use wetrun_units::{Flow, Length, Scale, Time};

/// So many downspouts and tanks have curves; the tables have all.
const MOST: usize = 5;

/// A storm as the bytes of a file; the site file's bytes are named on every page by their hash.
///
/// # Errors
/// A refusal where the writer of PDF refuses.
pub fn storm(storm: &Storm, file: &[u8], medium: Medium) -> Result<Printed, Refusal> {
    super::printed(
        &super::paper(&storm.site, &storm.facts, file, part(storm, medium == Medium::Svg)),
        medium,
    )
}

/// The storm as a part of a printed set; where its graph stands alone, that says the verdict too.
pub(crate) fn part(storm: &Storm, alone: bool) -> Part {
    let show = Show { main: storm.site.units, both: false };
    let good = storm.status() == Status::Pass;
    let word = if good { "HOLDS" } else { "FAILS" };
    let cause = words::cause(storm, show);
    let said = format!("{word}: {cause}");
    let mut blocks = vec![
        Block::Verdict { good, word: word.to_owned(), sentence: cause },
        Block::Figure(graph(storm, if alone { said } else { String::new() }).drawing()),
        Block::Text(words::under(storm, show)),
    ];
    let meaning = storm.meaning();
    if !meaning.is_empty() {
        blocks.push(Block::Heading("What differs from the steady check, and why".to_owned()));
        blocks.extend(meaning.iter().cloned().map(Block::Text));
    }
    blocks.push(Block::Heading("Downspouts".to_owned()));
    blocks.push(Block::Table(downspouts(storm)));
    blocks.push(Block::Heading("Tanks".to_owned()));
    blocks.push(Block::Table(tanks(storm)));
    blocks.push(Block::Heading("Where the rain went".to_owned()));
    let rows = words::water_rows(storm).into_iter();
    blocks.push(Block::Facts(
        rows.map(|(name, volume, words)| {
            let volume = clock::volume(storm.site.units, volume);
            (name.to_owned(), format!("{volume} {words}"))
        })
        .collect(),
    ));
    let told = storm.findings.iter().filter(|told| told.outcome != Outcome::Pass);
    let told: Vec<String> = told
        .map(|told| format!("{}: {}: {}", told.at, told.outcome.words(), told.message))
        .collect();
    if !told.is_empty() {
        blocks.push(Block::Cautions(told));
    }
    blocks.push(Block::Text(words::basis_words(storm)));
    Part { title: "The storm as it passes".to_owned(), wide: true, blocks }
}

fn graph(storm: &Storm, words: String) -> Graph {
    let end = shown_until(storm);
    let time = scaled::time(end);
    let to = time.number(end.to_s());
    let more = if end < storm.passed.ended {
        format!("; the run goes on for {}", clock::length(storm.passed.ended))
    } else {
        String::new()
    };
    let moments: Vec<&Moment> =
        storm.passed.moments.iter().filter(|moment| moment.at <= end).collect();
    let mut panels = vec![rain(storm, time, end), levels(storm, &moments, time)];
    panels.extend(contents(storm, &moments, time));
    panels.extend(leaving(storm, &moments, time));
    Graph {
        title: format!("{}: the storm as it passes", storm.site.name),
        words,
        across: Axis::round(format!("time, {}{more}", time.unit), 0.0, to, 10.0),
        panels,
    }
}

/// Up to where the graph goes: a while after the rain, and after all that a table names.
fn shown_until(storm: &Storm) -> Time {
    let last = storm.course.blocks().last().map_or(0.0, |block| block.at_s);
    let passed = &storm.passed;
    let peaks = passed.downspouts.iter().map(|course| course.peak_at.to_s());
    let full = passed.tanks.iter().filter_map(|course| course.full_at).map(Time::to_s);
    let last = peaks.chain(full).fold(last, f64::max);
    Time::s((last * 1.4 + 60.0).min(passed.ended.to_s()))
}

fn rain(storm: &Storm, time: Scale, end: Time) -> Panel {
    let scale = scaled::rain(storm.site.units);
    let blocks = storm.course.blocks();
    let mut points = Vec::new();
    for (index, block) in blocks.iter().enumerate() {
        let until = blocks.get(index + 1).map_or(end.to_s(), |next| next.at_s);
        let rain = scale.number(block.rain_m_per_s);
        points.push((time.number(block.at_s), rain));
        points.push((time.number(until.min(end.to_s())), rain));
    }
    let heaviest = scale.number(storm.heaviest().to_m_per_s());
    Panel {
        name: format!("Rain, {}", scale.unit),
        height_pt: 44.0,
        head: 0.0,
        foot: heaviest.max(1e-9) * 1.08,
        traces: vec![Trace { label: "rain".to_owned(), look: Look::Filled, points }],
        limits: Vec::new(),
    }
}

/// How far each downspout's water stands below its opening: the opening is the upper line.
fn levels(storm: &Storm, moments: &[&Moment], time: Scale) -> Panel {
    let network = &storm.site.network;
    let scale = scaled::height(storm.site.units);
    let mut order: Vec<DownspoutId> =
        (0..storm.passed.downspouts.len()).map(DownspoutId::new).collect();
    order.sort_by(|&a, &b| storm.headroom(a).to_m().total_cmp(&storm.headroom(b).to_m()));
    let shown = &order[..order.len().min(MOST)];
    let mut deepest: f64 = storm.freeboard.to_m() * 1.2;
    let mut highest: f64 = 0.0;
    let traces: Vec<Trace> = (shown.iter().enumerate())
        .map(|(kind, &at)| {
            let opening = network.downspout(at).opening();
            let course = &storm.passed.downspouts[at.index()];
            let mut points: Vec<(f64, f64)> = (moments.iter())
                .map(|moment| (moment.at, opening - moment.levels[at.index()]))
                .chain([(course.peak_at, storm.headroom(at))])
                .map(|(at, below)| (time.number(at.to_s()), scale.number(below.to_m())))
                .collect();
            points.sort_by(|a, b| a.0.total_cmp(&b.0));
            deepest = deepest.max((opening - course.start_level).to_m());
            highest = highest.min(storm.headroom(at).to_m());
            let room = storm.site.units.show_height(storm.headroom(at));
            let label =
                format!("{}  {room} {}", network.downspout(at).tag, clock::at(course.peak_at));
            Trace { label, look: Look::Line(kind), points }
        })
        .collect();
    let more = match order.len() - shown.len() {
        0 => String::new(),
        more => format!(" (the {MOST} with the least headroom; {more} more keep more)"),
    };
    let span = deepest - highest;
    let freeboard = Limit {
        label: "freeboard asked for".to_owned(),
        value: scale.number(storm.freeboard.to_m()),
        hard: false,
    };
    let opening = Limit { label: "opening".to_owned(), value: 0.0, hard: true };
    let asked = storm.freeboard > Length::ZERO;
    Panel {
        name: format!("Water in the downspouts below each one's opening, {}{more}", scale.unit),
        height_pt: 118.0,
        head: scale.number(highest - 0.06 * span),
        foot: scale.number(deepest + 0.04 * span),
        traces,
        limits: std::iter::once(opening).chain(asked.then_some(freeboard)).collect(),
    }
}

/// What the tanks hold, those that store.
fn contents(storm: &Storm, moments: &[&Moment], time: Scale) -> Option<Panel> {
    let network = &storm.site.network;
    let tanks = network.tanks().iter().zip(&storm.passed.tanks).enumerate();
    let stores = tanks.filter(|(_, (_, course))| course.start.is_some());
    let mut traces = Vec::new();
    let mut count = 0;
    for (place, (tank, _)) in stores {
        count += 1;
        if traces.len() == MOST {
            continue;
        }
        let top = tank.overflow.as_ref().map(|overflow| overflow.level);
        let part = |moment: &&Moment| {
            let level = moment.tanks.get(place).copied().flatten()?;
            let held = scaled::per_cent(tank.floor, top, level)?;
            Some((time.number(moment.at.to_s()), held))
        };
        let points: Vec<(f64, f64)> = moments.iter().filter_map(part).collect();
        let Some(end) = points.last() else { continue };
        let label = format!("{}  {} %", tank.tag, wetrun_units::decimal(end.1, 0));
        traces.push(Trace { label, look: Look::Line(traces.len()), points });
    }
    if traces.is_empty() {
        return None;
    }
    let more = match count - traces.len() {
        0 => String::new(),
        more => format!(" (the first {MOST}; {more} more in the table)"),
    };
    let held = traces.iter().flat_map(|trace| trace.points.iter().map(|point| point.1));
    let most = held.fold(100.0, f64::max);
    Some(Panel {
        name: format!("Tanks, % of what they hold below their overflow{more}"),
        height_pt: 58.0,
        head: most * 1.1,
        foot: 0.0,
        traces,
        limits: vec![Limit { label: "full".to_owned(), value: 100.0, hard: false }],
    })
}

/// What comes to the tanks, runs over from them off the site, and is lost.
fn leaving(storm: &Storm, moments: &[&Moment], time: Scale) -> Option<Panel> {
    let network = &storm.site.network;
    let scale = scaled::flow(storm.site.units);
    let over = |moment: &Moment, to_ground: bool| -> Flow {
        let tanks = network.tanks().iter().zip(&moment.overflows);
        let goes = tanks.filter(|(tank, _)| {
            tank.overflow.as_ref().is_some_and(|overflow| overflow.to.is_none() == to_ground)
        });
        goes.map(|(_, &flow)| flow).sum()
    };
    // What one tank passes to the next comes to the tanks once.
    let into_tanks = |moment: &Moment| -> Flow {
        moment.received.iter().copied().sum::<Flow>() - over(moment, false)
    };
    let off_site = |moment: &Moment| over(moment, true);
    let spilled = |moment: &Moment| -> Flow { moment.spills.iter().copied().sum() };
    let curve = |label: &str, kind: Look, of: &dyn Fn(&Moment) -> Flow| {
        let point = |moment: &&Moment| {
            (time.number(moment.at.to_s()), scale.number(of(moment).to_m3_per_s()))
        };
        let points: Vec<(f64, f64)> = moments.iter().map(point).collect();
        Trace { label: label.to_owned(), look: kind, points }
    };
    let mut traces = vec![curve("to the tanks", Look::Filled, &into_tanks)];
    let runs_over = (network.tanks().iter().zip(&storm.passed.tanks)).any(|(tank, course)| {
        course.overflowed > COUNTS
            && tank.overflow.as_ref().is_some_and(|overflow| overflow.to.is_none())
    });
    if runs_over {
        traces.push(curve("over, off the site", Look::Line(2), &off_site));
    }
    if storm.passed.totals.spilled > COUNTS {
        traces.push(curve("spilled", Look::Line(1), &spilled));
    }
    let all = traces.iter().flat_map(|trace| trace.points.iter().map(|point| point.1));
    let (least, most) = all.fold((0.0_f64, 0.0_f64), |(a, b), v| (a.min(v), b.max(v)));
    (most > 0.0).then(|| Panel {
        name: format!("Flows, {}", scale.unit),
        height_pt: 58.0,
        head: most * 1.08,
        foot: least * 1.08,
        traces,
        limits: Vec::new(),
    })
}

fn downspouts(storm: &Storm) -> Table {
    let units = storm.site.units;
    let network = &storm.site.network;
    let unit = |shown: wetrun_units::Shown| shown.unit;
    let mut table = Table::new(&[
        ("Downspout", "", false),
        ("Opening", unit(units.show_level(Length::ZERO)), true),
        ("Highest", unit(units.show_level(Length::ZERO)), true),
        ("At", "", true),
        ("Headroom", unit(units.show_height(Length::ZERO)), true),
        ("Held for ever", unit(units.show_height(Length::ZERO)), true),
        ("Spilled", "", true),
        ("For", "", true),
    ]);
    table.narrow(&["Downspout", "Highest", "Headroom"]);
    for (place, course) in storm.passed.downspouts.iter().enumerate() {
        let at = DownspoutId::new(place);
        let steady = storm.steady.downspouts[place].headroom;
        let spills = course.spilled > COUNTS;
        let or_dash = |text: String| if spills { text } else { "–".to_owned() };
        table.row([
            network.downspout(at).tag.clone(),
            units.show_level(network.downspout(at).opening()).number,
            units.show_level(course.peak_level).number,
            clock::moment(course.peak_at),
            units.show_height(storm.headroom(at)).number,
            units.show_height(steady).number,
            or_dash(clock::volume(units, course.spilled)),
            or_dash(clock::length(course.spills_for)),
        ]);
    }
    table
}

fn tanks(storm: &Storm) -> Table {
    let units = storm.site.units;
    let mut table = Table::new(&[
        ("Tank", "", false),
        ("At the start", "", true),
        ("Received", "", true),
        ("Ran over", "", true),
        ("Over its rim", "", true),
        ("At the end", "", true),
        ("Full at", "", true),
    ]);
    table.narrow(&["Tank", "Received", "Ran over"]);
    for (tank, course) in storm.site.network.tanks().iter().zip(&storm.passed.tanks) {
        let volume = |volume| clock::volume(units, volume);
        let held = |held: Option<_>| held.map_or("–".to_owned(), volume);
        table.row([
            tank.tag.clone(),
            held(course.start),
            volume(course.received),
            volume(course.overflowed),
            if course.over_rim > COUNTS { volume(course.over_rim) } else { "–".to_owned() },
            held(course.end),
            course.full_at.map_or("–".to_owned(), clock::moment),
        ]);
    }
    table
}
