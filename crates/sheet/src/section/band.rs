//! The table under a section: a column for each place, a row for each value.

use super::Frame;
use super::profile::{Node, Run};
use super::stack::spread;
use crate::draw::font::Weight;
use crate::draw::{Anchor, Drawing, Ink, Layer, Pt, Rect, Stroke, Text, fitted, text_width_pt};
use crate::values::level;
use wetrun_units::{Length, UnitSystem, decimal};

/// Room for the rows' names.
const NAMES_PT: f64 = 104.0;
const ROW_PT: f64 = 10.6;
const LEADER_PT: f64 = 18.0;

/// A column's width and the size of its text.
#[derive(Clone, Copy)]
struct Columns {
    width_pt: f64,
    size_pt: f64,
}

/// Wide columns where there are few, narrow ones where there are many.
const WIDE: Columns = Columns { width_pt: 33.0, size_pt: 7.4 };
const NARROW: Columns = Columns { width_pt: 25.0, size_pt: 6.3 };

/// Rows with a value at each place, then rows with a value for each line between places.
const PLACE_ROWS: usize = 8;
const LINE_ROWS: usize = 5;

/// Height of leaders and rows together.
pub(super) fn height_pt() -> f64 {
    LEADER_PT + ROW_PT * (PLACE_ROWS + LINE_ROWS) as f64
}

/// How many columns fit.
pub(super) fn most_columns(width_pt: f64) -> usize {
    fit(width_pt, NARROW)
}

fn fit(width_pt: f64, columns: Columns) -> usize {
    (((width_pt - NAMES_PT) / columns.width_pt) as usize).max(3)
}

pub(super) fn draw(drawing: &mut Drawing, frame: &Frame<'_>) {
    let top = frame.bottom_pt + LEADER_PT;
    let right = drawing.width_pt;
    let nodes = &frame.profile.nodes[frame.nodes.clone()];
    let wanted: Vec<f64> = nodes.iter().map(|n| frame.x(n.vert.x_m)).collect();
    let size = if nodes.len() <= fit(right, WIDE) { WIDE } else { NARROW };
    let half = size.width_pt / 2.0;
    let columns = spread(&wanted, size.width_pt, NAMES_PT + half, right - half);
    rules(drawing, top, right);
    names(drawing, frame, size.size_pt);
    leaders(drawing, frame, &wanted, &columns);
    for (node, &x) in nodes.iter().zip(&columns) {
        for (row, text) in place_values(frame.input.units, node).into_iter().enumerate() {
            let weight = if row == 0 || row == 6 { Weight::Bold } else { Weight::Book };
            let at = Pt(x, top + ROW_PT * (row as f64 + 0.72));
            cell(drawing, at, Columns { width_pt: size.width_pt - 2.0, ..size }, text, weight);
        }
    }
    for run in &frame.profile.runs {
        let (from, to) =
            (run.first_node.max(*frame.nodes.start()), run.last_node.min(*frame.nodes.end()));
        if from < to {
            let start = *frame.nodes.start();
            let span = (columns[from - start], columns[to - start]);
            line_cells(drawing, frame, run, top, span, size.size_pt);
        }
    }
}

fn rules(drawing: &mut Drawing, top: f64, right: f64) {
    let rule = Stroke::solid(Ink::Rule, 0.35);
    for row in (0..PLACE_ROWS + LINE_ROWS).step_by(2) {
        let r = Rect { x: 0.0, y: top + ROW_PT * row as f64, w: right, h: ROW_PT };
        drawing.rect(Layer::Table, Some(Ink::Pale), None, r);
    }
    for row in [0, PLACE_ROWS, PLACE_ROWS + LINE_ROWS] {
        let y = top + ROW_PT * row as f64;
        let stroke = if row == PLACE_ROWS { rule } else { Stroke::solid(Ink::Black, 0.7) };
        drawing.line(Layer::Table, stroke, &[Pt(0.0, y), Pt(right, y)]);
    }
}

/// From each place's invert down to its column.
fn leaders(drawing: &mut Drawing, frame: &Frame<'_>, wanted: &[f64], columns: &[f64]) {
    let thin = Stroke::solid(Ink::Rule, 0.4);
    let nodes = &frame.profile.nodes[frame.nodes.clone()];
    for ((node, &x), &column) in nodes.iter().zip(wanted).zip(columns) {
        let invert = frame.y(node.vert.invert_m);
        let points = [
            Pt(x, invert),
            Pt(x, frame.bottom_pt + 2.0),
            Pt(column, frame.bottom_pt + LEADER_PT - 2.0),
            Pt(column, frame.bottom_pt + LEADER_PT),
        ];
        drawing.line(Layer::Mark, thin, &points);
    }
}

/// Names of the rows with their units; [`place_values`] and [`line_values`] fill them.
fn names(drawing: &mut Drawing, frame: &Frame<'_>, size_pt: f64) {
    let units = frame.input.units;
    let (long, small, flow) = match units {
        UnitSystem::Us => ("ft", "in", "gpm"),
        UnitSystem::Si => ("m", "mm", "L/s"),
    };
    let rows = [
        "Place".to_owned(),
        format!("Along the pipe, {long}"),
        format!("Ground, {long}"),
        format!("Cover over pipe, {small}"),
        format!("Crown, {long}"),
        format!("Invert, {long}"),
        format!("Storm grade line, {long}"),
        format!("Rest level, {long}"),
        "Line".to_owned(),
        format!("Bore, {small}"),
        format!("Length, {long}"),
        format!("Flow, {flow}"),
        format!("Head lost, {small}"),
    ];
    let top = frame.bottom_pt + LEADER_PT;
    for (row, name) in rows.into_iter().enumerate() {
        let at = Pt(3.0, top + ROW_PT * (row as f64 + 0.72));
        drawing.text(Layer::Table, Text::new(at, size_pt, name));
    }
}

fn place_values(units: UnitSystem, node: &Node) -> [String; PLACE_ROWS] {
    let show = |level_m: f64| level(units, Length::m(level_m));
    let or_dash = |level_m: Option<f64>| level_m.map_or("–".to_owned(), show);
    let cover = match node.cover_m {
        Some(cover_m) if cover_m < 0.0 => "above".to_owned(),
        Some(cover_m) => units.show_height(Length::m(cover_m)).number,
        None => "–".to_owned(),
    };
    let tag = if node.tag.is_empty() { "·".to_owned() } else { node.tag.clone() };
    [
        tag,
        units.show_length(Length::m(node.vert.along_m)).number,
        or_dash(node.vert.ground_m),
        cover,
        show(node.crown_m),
        show(node.vert.invert_m),
        show(node.vert.head_m),
        or_dash(node.vert.rest_m),
    ]
}

fn line_cells(
    drawing: &mut Drawing,
    frame: &Frame<'_>,
    run: &Run,
    top: f64,
    span: (f64, f64),
    size_pt: f64,
) {
    let input = frame.input;
    let units = input.units;
    let line = input.network.line(run.line);
    let state = &input.steady.lines[run.line.index()];
    let sign = if run.forward { 1.0 } else { -1.0 };
    let bore = match units {
        UnitSystem::Us => decimal(run.bore_m / 0.0254, 2),
        UnitSystem::Si => decimal(run.bore_m * 1000.0, 0),
    };
    let loss = Length::m((state.from_head.to_m() - state.to_head.to_m()) * sign);
    let values = [
        line.tag.clone(),
        bore,
        units.show_length(line.length).number,
        units.show_flow(state.flow * sign).number,
        units.show_height(loss).number,
    ];
    let first = top + ROW_PT * PLACE_ROWS as f64;
    let thin = Stroke::solid(Ink::Rule, 0.5);
    for x in [span.0, span.1] {
        let bottom = first + ROW_PT * LINE_ROWS as f64;
        drawing.line(Layer::Table, thin, &[Pt(x, first), Pt(x, bottom)]);
    }
    let middle = (span.0 + span.1) / 2.0;
    let room = Columns { width_pt: span.1 - span.0 - 1.0, size_pt };
    for (row, text) in values.into_iter().enumerate() {
        let weight = if row == 0 { Weight::Bold } else { Weight::Book };
        cell(drawing, Pt(middle, first + ROW_PT * (row as f64 + 0.72)), room, text, weight);
    }
}

/// A value in the middle of its column: set smaller where it must be, cut off at the last.
fn cell(drawing: &mut Drawing, at: Pt, room: Columns, text: String, weight: Weight) {
    const LEAST_PT: f64 = 4.8;
    let Columns { width_pt, mut size_pt } = room;
    let wide = text_width_pt(&text, size_pt, weight);
    if wide > width_pt {
        size_pt = (size_pt * width_pt / wide).max(LEAST_PT);
    }
    let text = fitted(&text, size_pt, weight, width_pt);
    let label = Text { weight, ..Text::new(at, size_pt, text) };
    drawing.text(Layer::Table, label.anchored(Anchor::Middle));
}
