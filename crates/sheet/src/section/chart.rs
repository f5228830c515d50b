//! The picture itself: ground, pipe, grade line, rest level, marks, and its key.

use super::Frame;
use super::ends;
use super::mouths;
use super::profile::{Node, NodeKind, Run, Turn, Vert};
use super::scale::round_step;
use crate::draw::font::Weight;
use crate::draw::place::Taken;
use crate::draw::{Anchor, Drawing, Ink, Layer, Pt, Rect, Stroke, Text, fitted};
use crate::values::{level, mouths};
use wetrun_units::{Length, UnitSystem, trimmed};

/// Room above the chart for its title and key.
pub(super) const HEAD_PT: f64 = 36.0;
/// Room between the lowest level and the chart's lower edge.
pub(super) const PAD_PT: f64 = 24.0;
/// Room over the highest level for the headroom in words.
pub(super) const TOP_PT: f64 = 32.0;

const GRADE: Stroke = Stroke::dashed(Ink::Storm, 1.5, &[7.0, 2.0]);
const REST: Stroke = Stroke::dashed(Ink::Storm, 0.8, &[2.0, 2.0]);
const WALL: Stroke = Stroke::solid(Ink::Black, 0.7);
const GROUND: Stroke = Stroke::solid(Ink::Earth, 1.1);

/// Rise over run (on site) from which a pipe is drawn as a riser.
const STEEP: f64 = 2.0;

pub(super) fn draw(drawing: &mut Drawing, frame: &Frame<'_>) {
    if frame.room.labels {
        key(drawing, frame);
    }
    level_rule(drawing, frame);
    ground(drawing, frame);
    for run in &frame.profile.runs {
        pipe(drawing, frame, run);
    }
    let mut taken = Taken::default();
    if frame.is_first() {
        ends::downspout(drawing, frame, &mut taken);
    } else {
        match_line(drawing, frame, *frame.nodes.start(), &mut taken);
    }
    if frame.is_last() {
        ends::tank(drawing, frame, &mut taken);
    } else {
        match_line(drawing, frame, *frame.nodes.end(), &mut taken);
    }
    for run in &frame.profile.runs {
        rest_line(drawing, frame, run, &mut taken);
        grade_line(drawing, frame, run, &mut taken);
    }
    let left_out = marks(drawing, frame, &mut taken);
    if !left_out.is_empty() {
        let words = format!("No room in the drawing for: {}.", left_out.join("; "));
        let words = fitted(&words, 6.5, Weight::Book, drawing.width_pt - 4.0);
        drawing.text(Layer::Label, Text::new(Pt(0.0, 31.5), 6.5, words).ink(Ink::Grey));
    }
}

/// What each line means.
fn key(drawing: &mut Drawing, frame: &Frame<'_>) {
    let y = 22.0;
    let mut x = 0.0;
    let entries = [
        (GROUND, "ground"),
        (WALL, "pipe (invert and crown)"),
        (GRADE, "storm grade line (total head)"),
        (REST, "rest level between storms"),
    ];
    for (stroke, name) in entries {
        drawing.line(Layer::Frame, stroke, &[Pt(x, y - 2.2), Pt(x + 24.0, y - 2.2)]);
        let text = Text::new(Pt(x + 28.0, y), 7.0, name);
        x += 28.0 + text.width_pt() + 16.0;
        drawing.text(Layer::Label, text);
    }
    for (turn, name) in [(Turn::Hump, "hump (air)"), (Turn::Sag, "sag (silt)")] {
        turn_mark(drawing, Pt(x + 4.0, y - 2.2), turn);
        let text = Text::new(Pt(x + 11.0, y), 7.0, name);
        x += 11.0 + text.width_pt() + 14.0;
        drawing.text(Layer::Label, text);
    }
    let leaks = mouths(frame.input).any(|(_, mouth)| mouth.escapes.is_some());
    if leaks || frame.input.verdict.tanks.iter().any(|room| room.leaves) {
        mouths::leak(drawing, Pt(x + 8.0, y - 4.0));
        drawing.text(Layer::Label, Text::new(Pt(x + 21.0, y), 7.0, "water comes out"));
    }
}

/// A rule of levels at the left edge, with fine lines across the chart.
fn level_rule(drawing: &mut Drawing, frame: &Frame<'_>) {
    let unit_m = if frame.input.units == UnitSystem::Us { 0.3048 } else { 1.0 };
    let height = (frame.bottom_pt - frame.room.head_pt()) / frame.scales.up_pt(unit_m);
    let step = round_step(height);
    let base = frame.base_m / unit_m;
    let mut tick = (base / step).ceil();
    while tick * step <= base + height {
        let level_m = tick * step * unit_m;
        let y = frame.y(level_m);
        let fine = Stroke::solid(Ink::Rule, 0.25);
        drawing.line(Layer::Frame, fine, &[Pt(22.0, y), Pt(drawing.width_pt, y)]);
        let decimals = if step < 0.1 { 2 } else { 1 };
        let text = wetrun_units::decimal(tick * step, decimals);
        let label = Text::new(Pt(20.0, y + 2.0), 6.0, text).ink(Ink::Grey).anchored(Anchor::End);
        drawing.text(Layer::Frame, label);
        tick += 1.0;
    }
}

fn in_panel<'r>(frame: &Frame<'_>, run: &'r Run) -> &'r [Vert] {
    let first = frame.nodes.start().saturating_sub(run.first_node).min(run.verts.len());
    let last = (frame.nodes.end() + 1).saturating_sub(run.first_node).min(run.verts.len());
    if first < last && run.first_node <= *frame.nodes.end() { &run.verts[first..last] } else { &[] }
}

fn ground(drawing: &mut Drawing, frame: &Frame<'_>) {
    let known = ground_line(frame);
    if let (Some(first), Some(last)) = (known.first(), known.last()) {
        let mut soil = known.clone();
        soil.extend([Pt(last.0, frame.bottom_pt), Pt(first.0, frame.bottom_pt)]);
        drawing.polygon(Layer::Ground, Some(Ink::Soil), None, &soil);
    }
    drawing.line(Layer::Ground, GROUND, &known);
}

fn ground_line(frame: &Frame<'_>) -> Vec<Pt> {
    let nodes = &frame.profile.nodes[frame.nodes.clone()];
    let at = |n: &Node| Some(Pt(frame.x(n.vert.x_m), frame.y(n.vert.ground_m?)));
    nodes.iter().filter_map(at).collect()
}

fn pipe(drawing: &mut Drawing, frame: &Frame<'_>, run: &Run) {
    let verts = in_panel(frame, run);
    let rise = frame.scales.up_pt(run.bore_m);
    let width = frame.scales.along_pt(run.bore_m).max(4.0);
    for pair in verts.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let (ax, bx) = (frame.x(a.x_m), frame.x(b.x_m));
        let (ay, by) = (frame.y(a.invert_m), frame.y(b.invert_m));
        if (b.invert_m - a.invert_m).abs() > STEEP * (b.x_m - a.x_m) {
            // A riser: its width is drawn along, its ends reach the crown of what it joins.
            let (top, bottom) = (ay.min(by) - rise, ay.max(by));
            let corners = [
                Pt(ax - width / 2.0, bottom),
                Pt(bx - width / 2.0, top),
                Pt(bx + width / 2.0, top),
                Pt(ax + width / 2.0, bottom),
            ];
            drawing.polygon(Layer::Pipe, Some(Ink::Water), Some(WALL), &corners);
        } else {
            let corners = [Pt(ax, ay), Pt(bx, by), Pt(bx, by - rise), Pt(ax, ay - rise)];
            drawing.polygon(Layer::Pipe, Some(Ink::Water), None, &corners);
            drawing.line(Layer::Pipe, WALL, &[Pt(ax, ay), Pt(bx, by)]);
            drawing.line(Layer::Pipe, WALL, &[Pt(ax, ay - rise), Pt(bx, by - rise)]);
        }
    }
}

fn grade_line(drawing: &mut Drawing, frame: &Frame<'_>, run: &Run, taken: &mut Taken) {
    let here = in_panel(frame, run);
    let (Some(first), Some(last)) = (here.first(), here.last()) else { return };
    let points: Vec<Pt> = (run.grade.iter())
        .filter(|at| at.x_m >= first.x_m - 1e-9 && at.x_m <= last.x_m + 1e-9)
        .map(|at| Pt(frame.x(at.x_m), frame.y(at.head_m)))
        .collect();
    for pair in points.windows(2) {
        let (top, bottom) = (pair[0].1.min(pair[1].1), pair[0].1.max(pair[1].1));
        taken.keep(Rect {
            x: pair[0].0,
            y: top - 1.0,
            w: pair[1].0 - pair[0].0,
            h: bottom - top + 2.0,
        });
    }
    drawing.line(Layer::Water, GRADE, &points);
}

fn rest_line(drawing: &mut Drawing, frame: &Frame<'_>, run: &Run, taken: &mut Taken) {
    for pair in in_panel(frame, run).windows(2) {
        let (a, b) = (pair[0], pair[1]);
        // Of two levels the higher is that of a crest at one end: the stretch holds the lower.
        let levels = [a.rest_m, b.rest_m].into_iter().flatten();
        let Some(level_m) = levels.min_by(f64::total_cmp) else { continue };
        // Up to where the invert rises out of the water.
        let wet = |v: Vert| v.invert_m <= level_m;
        let meet = |dry: Vert, wet: Vert| {
            let part = (level_m - wet.invert_m) / (dry.invert_m - wet.invert_m);
            wet.x_m + (dry.x_m - wet.x_m) * part.clamp(0.0, 1.0)
        };
        let from_m = if wet(a) { a.x_m } else { meet(a, b) };
        let to_m = if wet(b) { b.x_m } else { meet(b, a) };
        let y = frame.y(level_m);
        let (a, b) = (Pt(frame.x(from_m), y), Pt(frame.x(to_m), y));
        drawing.line(Layer::Water, REST, &[a, b]);
        keep_line(taken, a, b, 0.0);
    }
}

/// Tags of points and marks of humps, sags, drains and openings, each where there is room; gives
/// what found none. A tag alone is not missed: it stands in the table.
fn marks(drawing: &mut Drawing, frame: &Frame<'_>, taken: &mut Taken) -> Vec<String> {
    let mut left_out = Vec::new();
    let plot = Rect {
        x: frame.left_pt - 4.0,
        y: frame.room.head_pt(),
        w: drawing.width_pt - frame.left_pt - frame.room.right_pt() + 8.0,
        h: frame.bottom_pt - frame.room.head_pt(),
    };
    for run in &frame.profile.runs {
        let rise = frame.scales.up_pt(run.bore_m);
        for pair in in_panel(frame, run).windows(2) {
            let at = |v: Vert| Pt(frame.x(v.x_m), frame.y(v.invert_m));
            keep_line(taken, at(pair[0]), at(pair[1]), rise);
        }
    }
    for index in frame.nodes.clone() {
        let node = &frame.profile.nodes[index];
        let (x, invert) = (frame.x(node.vert.x_m), frame.y(node.vert.invert_m));
        if let Some(turn) = node.turn {
            let y = if turn == Turn::Hump { frame.y(node.crown_m) - 5.0 } else { invert + 5.0 };
            turn_mark(drawing, Pt(x, y), turn);
            taken.keep(Rect { x: x - 4.0, y: y - 4.0, w: 8.0, h: 8.0 });
        }
    }
    let nodes = &frame.profile.nodes[frame.nodes.clone()];
    left_out.extend(mouths::draw(drawing, frame, nodes, taken, plot));
    let mut off_ground = taken.clone();
    for pair in ground_line(frame).windows(2) {
        keep_line(&mut off_ground, pair[0], pair[1], 0.0);
    }
    for index in frame.nodes.clone() {
        let node = &frame.profile.nodes[index];
        let (x, invert) = (frame.x(node.vert.x_m), frame.y(node.vert.invert_m));
        let crown = frame.y(node.crown_m);
        let NodeKind::Point(id) = node.kind else { continue };
        let point = frame.input.network.point(id);
        let tag = fitted(&point.tag, 7.0, Weight::Bold, 76.0);
        let mut words = vec![tag.clone()];
        if let Some(drain) = point.drain {
            let size = match frame.input.units {
                UnitSystem::Us => format!("{} in", trimmed(drain.to_m() / 0.0254, 2)),
                UnitSystem::Si => format!("{} mm", trimmed(drain.to_m() * 1000.0, 2)),
            };
            words.push(format!("drain {size}"));
        }
        if point.cleanout {
            words.push("cleanout".to_owned());
        }
        let full = words.join(", ");
        let above = [crown - 12.0, crown - 20.0, crown - 28.0, crown - 4.0];
        let below = [invert + 14.0, invert + 22.0, invert + 30.0, invert + 38.0];
        // Beside a vent the words keep clear of its hood.
        let side = if mouths::top_m(frame.input, id).is_some() { 6.0 } else { 3.0 };
        let places = above.into_iter().chain(below).flat_map(|y| {
            [
                (Pt(x, y), Anchor::Middle),
                (Pt(x + side, y), Anchor::Start),
                (Pt(x - side, y), Anchor::End),
                (Pt(x + side + 9.0, y), Anchor::Start),
                (Pt(x - side - 9.0, y), Anchor::End),
            ]
        });
        let places: Vec<(Pt, Anchor)> = places.collect();
        let words = if full == tag { vec![&tag] } else { vec![&full, &tag] };
        let words: Vec<Text> =
            words.into_iter().map(|words| Text::new(Pt(x, crown), 7.0, words).bold()).collect();
        let free = |taken: &mut Taken| {
            words.iter().find_map(|text| taken.first_place(plot, text, places.iter().copied()))
        };
        // Clear of the ground line where there is such a place.
        let placed = free(&mut off_ground).or_else(|| free(taken));
        if placed.as_ref().is_none_or(|text| text.text != full) && full != tag {
            left_out.push(full);
        }
        if let Some(text) = placed {
            off_ground.keep(text.bounds());
            taken.keep(text.bounds());
            drawing.text(Layer::Label, text);
        }
    }
    left_out
}

/// Keeps a line and `rise` above it free. A sloping piece is kept in slices, so that its box does
/// not bar the room beside it.
fn keep_line(taken: &mut Taken, a: Pt, b: Pt, rise: f64) {
    const SLICES: usize = 6;
    let slices = if (b.1 - a.1).abs() > 0.0 { SLICES } else { 1 };
    let at = |slice: usize| {
        let part = slice as f64 / slices as f64;
        (a.0 + (b.0 - a.0) * part, a.1 + (b.1 - a.1) * part)
    };
    for slice in 0..slices {
        let ((x0, y0), (x1, y1)) = (at(slice), at(slice + 1));
        let (top, bottom) = (y0.min(y1) - rise, y0.max(y1));
        taken.keep(Rect { x: x0 - 1.0, y: top - 1.0, w: x1 - x0 + 2.0, h: bottom - top + 2.0 });
    }
}

fn turn_mark(drawing: &mut Drawing, at: Pt, turn: Turn) {
    let tip = if turn == Turn::Hump { -3.5 } else { 3.5 };
    let points =
        [Pt(at.0, at.1 + tip), Pt(at.0 + 3.5, at.1 - tip * 0.6), Pt(at.0 - 3.5, at.1 - tip * 0.6)];
    let fill = if turn == Turn::Hump { Some(Ink::White) } else { Some(Ink::Black) };
    drawing.polygon(Layer::Mark, fill, Some(Stroke::solid(Ink::Black, 0.7)), &points);
}

/// Where the section goes on on another panel.
fn match_line(drawing: &mut Drawing, frame: &Frame<'_>, node: usize, taken: &mut Taken) {
    let x = frame.x(frame.profile.nodes[node].vert.x_m);
    let head_pt = frame.room.head_pt();
    let height = frame.bottom_pt - head_pt;
    taken.keep(Rect { x: x - 1.0, y: head_pt, w: 2.0, h: height });
    let stroke = Stroke::dashed(Ink::Black, 0.7, &[8.0, 2.0, 1.5, 2.0]);
    drawing.line(Layer::Frame, stroke, &[Pt(x, head_pt + 4.0), Pt(x, frame.bottom_pt)]);
    let at = Pt(x, head_pt + 2.0);
    drawing.text(Layer::Label, Text::new(at, 6.0, "match line").anchored(Anchor::Middle));
}

/// A level with its unit, for labels.
pub(super) fn level_words(frame: &Frame<'_>, level_m: f64) -> String {
    level(frame.input.units, Length::m(level_m))
}
