//! A doubt on paper: how sure each downspout is, what decides it, and what one fault does.

use super::scaled;
use crate::doubt::Doubted;
use crate::outcome::Refusal;
use crate::render::doubt::{Told, one_of};
use crate::render::text::doubt as words;
use crate::sheets::Printed;
use wetrun_doubt::Study;
use wetrun_network::DownspoutId;
use wetrun_sheet::Medium;
use wetrun_sheet::graph::{Axis, Limit, Rows, Span, SpanRow};
use wetrun_sheet::paper::{Block, Part, Table};
use wetrun_units::{Length, decimal};

/// Rows of a drawing at the most; the tables of `--format csv` have all.
const MOST: usize = 24;
/// An input that less of the variance is owed to has no bar.
const SAID: f64 = 0.005;

/// A doubt as the bytes of a file; the site file's bytes are named on every page by their hash.
///
/// # Errors
/// A refusal where the writer of PDF refuses.
pub fn doubt(report: &Doubted, file: &[u8], medium: Medium) -> Result<Printed, Refusal> {
    let settled = &report.settled;
    super::printed(
        &super::paper(&settled.site, &settled.facts, file, part(report, medium == Medium::Svg)),
        medium,
    )
}

/// The doubt as a part of a printed set; where its drawings stand alone, the first says the answer too.
pub(crate) fn part(report: &Doubted, alone: bool) -> Part {
    let told = report.told();
    let (settled, study) = (&report.settled, &report.study);
    let sentence = words::sentence(report, &told);
    let mut blocks = vec![
        Block::Verdict {
            good: settled.verdict.holds() && study.fails.chance <= 0.0,
            word: "How sure".to_owned(),
            sentence: sentence.clone(),
        },
        Block::Figure(bands(report, if alone { sentence } else { String::new() }).drawing()),
    ];
    if let Some(shares) = shares(study, &told, &settled.site.name) {
        blocks.push(Block::Figure(shares.drawing()));
    }
    blocks.push(Block::Heading("The smallest bad luck".to_owned()));
    blocks.push(Block::Text(words::nearest_words(study, &told)));
    if !study.faults.is_empty() {
        blocks.push(Block::Heading("One plain fault, by harm".to_owned()));
        blocks.push(Block::Table(faults(report, &told)));
    }
    let advice = words::advice_lines(study, &told);
    if !advice.is_empty() {
        blocks.push(Block::Heading("What would lower the chance".to_owned()));
        blocks.extend(advice.into_iter().map(Block::Text));
    }
    blocks.push(Block::Text(words::basis_words(report)));
    Part { title: "How sure the margins are".to_owned(), wide: true, blocks }
}

/// The headroom of each downspout as a band, the least sure first.
fn bands(report: &Doubted, words: String) -> Rows {
    let (site, study) = (&report.settled.site, &report.study);
    let scale = scaled::height(site.units);
    let asked = scale.number(report.settled.verdict.asked.to_m());
    let mut order: Vec<usize> = (0..study.downspouts.len()).collect();
    let low = |place: usize| {
        study.downspouts[place].headroom.map_or(f64::INFINITY, |levels| levels[0].to_m())
    };
    order.sort_by(|&a, &b| low(a).total_cmp(&low(b)));
    let left_out = order.len().saturating_sub(MOST);
    order.truncate(MOST);
    let rows: Vec<SpanRow> = (order.iter())
        .map(|&place| {
            let at = &study.downspouts[place];
            let levels = at.headroom.map(|levels| levels.map(|level| scale.number(level.to_m())));
            let spans = levels.map(|[from, _, to]| Span { from, to, strong: false });
            SpanRow {
                label: site.network.downspout(DownspoutId::new(place)).tag.clone(),
                spans: spans.into_iter().collect(),
                mark: levels.map(|[_, middle, _]| middle),
                words: format!("spills in {}", one_of(&at.spills)),
            }
        })
        .collect();
    let ends = rows.iter().flat_map(|row| &row.spans).flat_map(|span| [span.from, span.to]);
    let (least, most) = ends
        .chain([0.0, asked])
        .fold((0.0_f64, 0.0_f64), |(low, high), end| (low.min(end), high.max(end)));
    let air = 0.04 * (most - least).max(1e-9);
    let more = match left_out {
        0 => String::new(),
        more => format!("; {more} that are surer are left out"),
    };
    let name = format!(
        "headroom, {}: the band holds 90 of 100 storms, the bar is their middle{more}",
        scale.unit
    );
    let opening = Limit { label: "opening".to_owned(), value: 0.0, hard: true };
    let freeboard = Limit { label: "freeboard".to_owned(), value: asked, hard: false };
    let freeboard = (report.settled.verdict.asked > Length::ZERO).then_some(freeboard);
    Rows {
        title: format!("{}: how sure each downspout's headroom is", site.name),
        words,
        across: Axis::round(name, least - air, most + air, 8.0),
        rows,
        limits: std::iter::once(opening).chain(freeboard).collect(),
    }
}

/// What the least headroom hangs on, as bars; nothing where it is the same in every storm.
fn shares(study: &Study, told: &Told<'_>, site: &str) -> Option<Rows> {
    let owed = study.owed_to.iter().filter(|owed| owed.total >= SAID).take(MOST);
    let rows: Vec<SpanRow> = owed
        .map(|owed| {
            let [first, total] = [owed.first, owed.total].map(|share| 100.0 * share.max(0.0));
            SpanRow {
                label: told.input(&study.inputs[owed.input].subject),
                spans: vec![
                    Span { from: 0.0, to: total, strong: false },
                    Span { from: 0.0, to: first, strong: true },
                ],
                mark: None,
                words: format!("{} % alone, {} % in all", decimal(first, 1), decimal(total, 1)),
            }
        })
        .collect();
    let most = rows.iter().flat_map(|row| &row.spans).map(|span| span.to).fold(0.0, f64::max);
    (!rows.is_empty()).then(|| Rows {
        title: format!("{site}: what the least headroom is owed to"),
        words: String::new(),
        across: Axis::round(
            "part of its variance, %: alone (dark), and together with others (pale)",
            0.0,
            most * 1.05,
            8.0,
        ),
        rows,
        limits: Vec::new(),
    })
}

fn faults(report: &Doubted, told: &Told<'_>) -> Table {
    let units = report.settled.site.units;
    let mut table = Table::new(&[
        ("Fault", "", false),
        ("Spilled", units.show_flow(wetrun_units::Flow::ZERO).unit, true),
        ("Headroom", units.show_height(Length::ZERO).unit, true),
        ("Of", "", false),
        ("Water leaves at", "", false),
    ]);
    table.narrow(&["Fault", "Spilled", "Headroom"]);
    for harm in &report.study.faults {
        let dash = || "–".to_owned();
        if !harm.solved {
            table.row([told.fault(harm), dash(), dash(), dash(), "not solved".to_owned()]);
            continue;
        }
        table.row([
            told.fault(harm),
            units.show_flow(harm.spilled).number,
            harm.headroom.map_or_else(dash, |headroom| units.show_height(headroom).number),
            harm.worst.map_or_else(dash, |id| told.downspout(id).to_owned()),
            words::leaves_at(harm, told),
        ]);
    }
    table
}
