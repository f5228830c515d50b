//! Long sections: the route of a downspout from its opening to the tank, to scale.

mod band;
mod chart;
mod ends;
mod grade;
mod profile;
mod scale;
mod stack;

use crate::draw::font::Weight;
use crate::draw::{Anchor, Drawing, Ink, Pt, Text, fitted};
use crate::input::SheetInput;
use crate::values::{Margin, governing, margin, route};
use profile::Profile;
use scale::Scales;
use wetrun_network::{DownspoutId, End};

/// How every section's title begins.
pub(crate) const TITLE: &str = "Long section";

/// Sections drawn at the most, and lines on their routes together; a larger site shows the
/// worst downspouts.
const MOST_SECTIONS: usize = 24;
const MOST_LINES: usize = 400;

/// Room of a section in points; it fits letter and A4 on their side, within margins.
const WIDTH_PT: f64 = 720.0;
const HEIGHT_PT: f64 = 474.0;

/// What every part of one section's drawing needs to know.
struct Frame<'a> {
    input: &'a SheetInput<'a>,
    profile: &'a Profile,
    scales: Scales,
    /// Level at the chart's lower edge.
    base_m: f64,
    /// Nodes of this panel.
    nodes: std::ops::RangeInclusive<usize>,
    /// Page coordinates of the plot: left edge of the route, lower edge of the chart.
    left_pt: f64,
    bottom_pt: f64,
}

impl Frame<'_> {
    fn x(&self, along_m: f64) -> f64 {
        let start_m = self.profile.nodes[*self.nodes.start()].vert.x_m;
        self.left_pt + self.scales.along_pt(along_m - start_m)
    }

    fn y(&self, level_m: f64) -> f64 {
        self.bottom_pt - self.scales.up_pt(level_m - self.base_m)
    }

    fn is_first(&self) -> bool {
        *self.nodes.start() == 0
    }

    fn is_last(&self) -> bool {
        *self.nodes.end() + 1 == self.profile.nodes.len()
    }
}

/// The downspouts whose sections are drawn: all in file order, or the worst of a large site.
pub(crate) fn chosen(input: &SheetInput<'_>) -> Vec<DownspoutId> {
    let states = &input.steady.downspouts;
    let lines = |i: usize| route(input, DownspoutId::new(i)).len();
    let mut ids: Vec<(usize, usize)> = (0..states.len()).map(|i| (i, lines(i))).collect();
    ids.retain(|&(_, lines)| lines > 0);
    let all: usize = ids.iter().map(|&(_, lines)| lines).sum();
    if ids.len() > MOST_SECTIONS || all > MOST_LINES {
        ids.sort_by(|&(a, _), &(b, _)| {
            let key = |i: usize| (margin(&states[i], input.freeboard), states[i].headroom.to_m());
            key(a).0.cmp(&key(b).0).then(key(a).1.total_cmp(&key(b).1))
        });
        let mut room = MOST_LINES;
        ids.truncate(MOST_SECTIONS);
        ids.retain(|&(index, lines)| {
            // The governing route is drawn however long it is.
            let fits = lines <= room || Some(DownspoutId::new(index)) == governing(input);
            room = room.saturating_sub(if fits { lines } else { 0 });
            fits
        });
    }
    ids.into_iter().map(|(index, _)| DownspoutId::new(index)).collect()
}

/// The long sections, one for each chosen downspout, more where a route is long.
pub(crate) fn drawings(input: &SheetInput<'_>) -> Vec<Drawing> {
    let ids = chosen(input);
    ids.into_iter()
        .filter_map(|id| profile::of(input, id))
        .flat_map(|p| panels(input, &p))
        .collect()
}

/// The drawings of one route: as many panels as its columns need.
fn panels(input: &SheetInput<'_>, profile: &Profile) -> Vec<Drawing> {
    let most = band::most_columns(WIDTH_PT);
    let count = profile.nodes.len();
    let pieces = count.saturating_sub(1).div_ceil(most - 1).max(1);
    let per_piece = (count - 1).div_ceil(pieces).max(1);
    let ranges: Vec<_> = (0..pieces)
        .map(|p| (p * per_piece).min(count - 1)..=((p + 1) * per_piece).min(count - 1))
        .filter(|r| r.start() < r.end() || count == 1)
        .collect();
    let (low_m, high_m) = level_range(input, profile);
    let chart_height_pt = HEIGHT_PT - band::height_pt() - chart::HEAD_PT;
    let longest_m = ranges
        .iter()
        .map(|r| profile.nodes[*r.end()].vert.x_m - profile.nodes[*r.start()].vert.x_m)
        .fold(1e-3, f64::max);
    let room = (
        WIDTH_PT - ends::LEFT_PT - ends::RIGHT_PT,
        chart_height_pt - chart::PAD_PT - chart::TOP_PT,
    );
    let scales = Scales::fit(input.units, longest_m, high_m - low_m, room);
    let pieces = ranges.len();
    ranges
        .into_iter()
        .enumerate()
        .map(|(piece, nodes)| {
            let frame = Frame {
                input,
                profile,
                scales,
                base_m: low_m - chart::PAD_PT / scales.up_pt(1.0),
                nodes,
                left_pt: ends::LEFT_PT,
                bottom_pt: HEIGHT_PT - band::height_pt(),
            };
            draw(&frame, piece, pieces)
        })
        .collect()
}

fn draw(frame: &Frame<'_>, piece: usize, pieces: usize) -> Drawing {
    let title = title(frame.input, frame.profile);
    let mut drawing = Drawing::new(title.clone(), WIDTH_PT, HEIGHT_PT);
    let part = if pieces > 1 { format!(", part {} of {pieces}", piece + 1) } else { String::new() };
    let title = fitted(&title, 9.5, Weight::Bold, WIDTH_PT * 0.5);
    let heading = Text::new(Pt(0.0, 10.0), 9.5, format!("{title}{part}")).bold();
    drawing.text(crate::draw::Layer::Label, heading);
    let scale = Text::new(Pt(WIDTH_PT, 10.0), 7.0, frame.scales.words(frame.input.units));
    drawing.text(crate::draw::Layer::Label, scale.ink(Ink::Grey).anchored(Anchor::End));
    chart::draw(&mut drawing, frame);
    band::draw(&mut drawing, frame);
    drawing
}

fn title(input: &SheetInput<'_>, profile: &Profile) -> String {
    let network = input.network;
    let from = &network.downspout(profile.downspout).tag;
    let to = profile.nodes.last().map_or("", |n| n.tag.as_str());
    let state = &input.steady.downspouts[profile.downspout.index()];
    let margin = margin(state, input.freeboard);
    let governs =
        if governing(input) == Some(profile.downspout) { " (governing route)" } else { "" };
    let verdict = match margin {
        Margin::Ample => String::new(),
        Margin::Thin | Margin::Spills => format!(": {}", margin.words()),
    };
    format!("{TITLE} {from} to {to}{governs}{verdict}")
}

/// The lowest and the highest level that the drawing shows.
fn level_range(input: &SheetInput<'_>, profile: &Profile) -> (f64, f64) {
    let network = input.network;
    let downspout = network.downspout(profile.downspout);
    let state = &input.steady.downspouts[profile.downspout.index()];
    let mut levels =
        vec![downspout.lip.to_m(), downspout.outlet.to_m(), state.standing_level.to_m()];
    levels.push(downspout.foot.to_m());
    for run in &profile.runs {
        for vert in &run.verts {
            levels.extend([vert.invert_m, vert.invert_m + run.bore_m, vert.head_m]);
            levels.extend(vert.ground_m);
        }
    }
    let vents = profile.nodes.iter().filter_map(|node| match node.kind {
        profile::NodeKind::Point(id) => input.vent(id)?.top,
        _ => None,
    });
    levels.extend(vents.map(|top| top.to_m()));
    if let Some(End::Tank(id)) = ends::finish(network, profile) {
        let tank = network.tank(id);
        let given = [tank.floor, tank.rim, tank.ground, tank.overflow.as_ref().map(|o| o.level)];
        levels.extend(given.into_iter().flatten().map(|l| l.to_m()));
        levels.extend(input.steady.tanks[id.index()].water_level.map(|l| l.to_m()));
    }
    let low = levels.iter().copied().filter(|l| l.is_finite()).fold(f64::INFINITY, f64::min);
    let high = levels.iter().copied().filter(|l| l.is_finite()).fold(f64::NEG_INFINITY, f64::max);
    if low < high { (low, high) } else { (low - 0.5, low + 0.5) }
}
