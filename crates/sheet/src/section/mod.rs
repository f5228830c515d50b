//! Long sections: the route of a downspout from its opening to the tank, to scale.

mod band;
mod chart;
mod ends;
pub(crate) mod grade;
mod mouths;
pub(crate) mod profile;
mod scale;
pub(crate) mod stack;
mod view;

use crate::draw::font::Weight;
use crate::draw::{Anchor, Drawing, Ink, Pt, Text, fitted};
use crate::input::SheetInput;
use crate::values::{Class, class, governing, mouth, over_rim, route};
use profile::Profile;
use scale::Scales;
pub(crate) use scale::{round_scale, round_step};
pub use view::{Held, Mark, Room, SectionView, Spot};
use wetrun_network::{DownspoutId, End};

/// How every section's title begins.
pub(crate) const TITLE: &str = "Long section";

/// Routes so few are all drawn.
const FEW: usize = 3;
/// Sections drawn at the most, and lines on their routes together, where not all are asked for.
const MOST_SECTIONS: usize = 12;
const MOST_LINES: usize = 400;

/// What every part of one section's drawing needs to know.
struct Frame<'a> {
    input: &'a SheetInput<'a>,
    profile: &'a Profile,
    room: Room,
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

/// The downspouts whose routes are drawn and told piece by piece, the one that decides first:
/// then those that fail, and those that lead past water that comes out elsewhere. A small site
/// shows all.
pub(crate) fn chosen(input: &SheetInput<'_>) -> Vec<DownspoutId> {
    let mut ids: Vec<DownspoutId> = governing(input).into_iter().collect();
    let failing = input.verdict.failures().iter();
    ids.extend(failing.filter_map(|failure| failure.downspout()));
    let all = (0..input.network.downspouts().len()).map(DownspoutId::new);
    let mut elsewhere: Vec<End> = Vec::new();
    for id in all.clone() {
        let mut new = places(input, id).filter(|end| !elsewhere.contains(end));
        if let Some(first) = new.next() {
            let more: Vec<End> = new.collect();
            elsewhere.push(first);
            elsewhere.extend(more);
            ids.push(id);
        }
    }
    if input.all_routes || all.len() <= FEW {
        ids.extend(all);
    }
    let mut seen = vec![false; input.network.downspouts().len()];
    ids.retain(|id| !std::mem::replace(&mut seen[id.index()], true));
    ids.retain(|&id| !route(input, id).is_empty());
    if !input.all_routes {
        ids.truncate(MOST_SECTIONS);
        let mut lines = 0;
        ids.retain(|&id| {
            let first = lines == 0;
            lines += route(input, id).len();
            first || lines <= MOST_LINES
        });
    }
    ids
}

/// The places on the route of a downspout where water comes out in the storm, but for itself.
fn places(input: &SheetInput<'_>, id: DownspoutId) -> impl Iterator<Item = End> {
    let lines = route(input, id);
    let ends = lines.into_iter().flat_map(|line| {
        let line = input.network.line(line);
        [line.from, line.to]
    });
    ends.filter(|end| match end {
        End::Point(point) => mouth(input, *point).is_some_and(|mouth| mouth.escapes.is_some()),
        End::Tank(tank) => over_rim(input, *tank).is_some(),
        End::Downspout(_) => false,
    })
}

/// What the sections leave out, in words; nothing where all routes are drawn.
pub(crate) fn left_out(input: &SheetInput<'_>) -> Option<String> {
    let (all, drawn) = (input.network.downspouts().len(), chosen(input).len());
    (drawn < all).then(|| {
        format!(
            "Sections and tables of losses show {drawn} of {all} routes: the one that decides, and those that fail. `--all-routes` shows every one."
        )
    })
}

/// The sections of the routes that are drawn.
pub(crate) fn drawings(input: &SheetInput<'_>) -> Vec<Drawing> {
    let ids = chosen(input);
    ids.into_iter().flat_map(|id| of(input, id)).collect()
}

/// The section of one downspout's route; nothing where it reaches no tank.
pub(crate) fn of(input: &SheetInput<'_>, downspout: DownspoutId) -> Vec<Drawing> {
    let profile = profile::of(input, downspout);
    profile.map(|profile| drawn(&frames(input, &profile, Room::PAPER, None))).unwrap_or_default()
}

/// The same for a screen, with the places of its levels.
pub(crate) fn view(
    input: &SheetInput<'_>,
    downspout: DownspoutId,
    room: Room,
    held: Option<Held>,
) -> Option<SectionView> {
    let profile = profile::of(input, downspout)?;
    let frames = frames(input, &profile, room, held);
    let first = frames.first()?;
    Some(SectionView {
        held: Held { scales: first.scales, base_m: first.base_m },
        marks: frames.iter().enumerate().flat_map(|(panel, f)| view::marks(f, panel)).collect(),
        panels: drawn(&frames),
    })
}

/// One route's panels: as many as its columns need where there is a table, else one.
fn frames<'a>(
    input: &'a SheetInput<'a>,
    profile: &'a Profile,
    room: Room,
    held: Option<Held>,
) -> Vec<Frame<'a>> {
    let count = profile.nodes.len();
    let most = if room.table { band::most_columns(room.width_pt) } else { count.max(2) };
    let pieces = count.saturating_sub(1).div_ceil(most - 1).max(1);
    let per_piece = (count - 1).div_ceil(pieces).max(1);
    let ranges: Vec<_> = (0..pieces)
        .map(|p| (p * per_piece).min(count - 1)..=((p + 1) * per_piece).min(count - 1))
        .filter(|r| r.start() < r.end() || count == 1)
        .collect();
    let bottom_pt = room.height_pt - if room.table { band::height_pt() } else { 0.0 };
    let fitted = || {
        let (low_m, high_m) = level_range(input, profile);
        let longest_m = ranges
            .iter()
            .map(|r| profile.nodes[*r.end()].vert.x_m - profile.nodes[*r.start()].vert.x_m)
            .fold(1e-3, f64::max);
        let plot = (
            room.width_pt - room.left_pt() - room.right_pt(),
            bottom_pt - room.head_pt() - chart::PAD_PT - chart::TOP_PT,
        );
        let scales = match room.is_paper() {
            true => Scales::fit(input.units, longest_m, high_m - low_m, plot),
            false => Scales::fill(longest_m, high_m - low_m, plot),
        };
        Held { scales, base_m: low_m - chart::PAD_PT / scales.up_pt(1.0) }
    };
    let Held { scales, base_m } = held.unwrap_or_else(fitted);
    let left_pt = room.left_pt();
    let frame = |nodes| Frame { input, profile, room, scales, base_m, nodes, left_pt, bottom_pt };
    ranges.into_iter().map(frame).collect()
}

fn drawn(frames: &[Frame<'_>]) -> Vec<Drawing> {
    frames.iter().enumerate().map(|(piece, frame)| draw(frame, piece, frames.len())).collect()
}

fn draw(frame: &Frame<'_>, piece: usize, pieces: usize) -> Drawing {
    let title = title(frame.input, frame.profile);
    let Room { width_pt, height_pt, .. } = frame.room;
    let mut drawing = Drawing::new(title.clone(), width_pt, height_pt);
    if frame.room.title {
        let part = match pieces {
            1 => String::new(),
            _ => format!(", part {} of {pieces}", piece + 1),
        };
        let title = fitted(&title, 9.5, Weight::Bold, width_pt * 0.55);
        let heading = Text::new(Pt(0.0, 10.0), 9.5, format!("{title}{part}")).bold();
        drawing.text(crate::draw::Layer::Label, heading);
    }
    if frame.room.labels {
        let words = match frame.room.is_paper() {
            true => frame.scales.words(frame.input.units),
            false => frame.scales.stretched(),
        };
        let scale = Text::new(Pt(width_pt, 10.0), 7.0, words);
        drawing.text(crate::draw::Layer::Label, scale.ink(Ink::Grey).anchored(Anchor::End));
    }
    chart::draw(&mut drawing, frame);
    if frame.room.table {
        band::draw(&mut drawing, frame);
    }
    drawing
}

fn title(input: &SheetInput<'_>, profile: &Profile) -> String {
    let network = input.network;
    let from = &network.downspout(profile.downspout).tag;
    let to = profile.nodes.last().map_or("", |n| n.tag.as_str());
    let governs =
        if governing(input) == Some(profile.downspout) { " (governing route)" } else { "" };
    let verdict = match class(input, profile.downspout) {
        Class::Holds => String::new(),
        class => format!(": {}", class.words()),
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
    let tops = profile.nodes.iter().filter_map(|node| match node.kind {
        profile::NodeKind::Point(id) => mouths::top_m(input, id),
        _ => None,
    });
    levels.extend(tops);
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
