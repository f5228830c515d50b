//! Curves over a common axis, in panels below one another.

use super::{Axis, EDGE, FINE, Head, NAME_PT, Scale, TICK_PT, WIDTH_PT, across, ticks};
use crate::draw::font::Weight;
use crate::draw::{Anchor, Drawing, Ink, Layer, Pt, Rect, Stroke, Text, fitted};
use crate::section::stack::spread;

const LEFT_PT: f64 = 40.0;
/// Room for the names of the curves.
const RIGHT_PT: f64 = 150.0;
/// Over a panel, for its name.
const OVER_PT: f64 = 14.0;
const UNDER_PT: f64 = 6.0;
const FOOT_PT: f64 = 24.0;
const LABEL_PT: f64 = 7.0;

/// Panels over one axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Graph {
    /// What it shows.
    pub title: String,
    /// What it says, in a sentence; may be empty.
    pub words: String,
    /// The common axis.
    pub across: Axis,
    /// The panels, from the top.
    pub panels: Vec<Panel>,
}

/// One panel.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// What its values are, with the unit.
    pub name: String,
    /// Its height in points.
    pub height_pt: f64,
    /// The value at its upper edge; below `foot` where values grow downwards.
    pub head: f64,
    /// The value at its lower edge.
    pub foot: f64,
    /// Its curves, back to front.
    pub traces: Vec<Trace>,
    /// Values that the curves are held against.
    pub limits: Vec<Limit>,
}

/// One curve.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// Its name, written where it ends.
    pub label: String,
    /// How it is drawn.
    pub look: Look,
    /// Places along and values, in order; straight between them.
    pub points: Vec<(f64, f64)>,
}

/// How a curve is drawn. Lines differ in their dashes, not by colour alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// Filled to the value 0.
    Filled,
    /// The n-th kind of line.
    Line(usize),
}

/// A value across the whole panel.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Its name.
    pub label: String,
    /// Its value.
    pub value: f64,
    /// Whether it must not be passed, rather than being kept from.
    pub hard: bool,
}

impl Limit {
    pub(super) fn stroke(&self) -> Stroke {
        match self.hard {
            true => Stroke::solid(Ink::Short, 1.1),
            false => Stroke::dashed(Ink::Thin, 0.9, &[5.0, 2.5]),
        }
    }
}

impl Graph {
    /// The graph as a drawing.
    pub fn drawing(&self) -> Drawing {
        let each = self.panels.iter().map(|panel| OVER_PT + panel.height_pt + UNDER_PT);
        let head = Head::new(&self.title, &self.words);
        let height_pt = head.height_pt() + each.sum::<f64>() + FOOT_PT;
        let mut drawing = Drawing::new(self.title.clone(), WIDTH_PT, height_pt);
        head.draw(&mut drawing);
        let mut top = head.height_pt();
        for (index, panel) in self.panels.iter().enumerate() {
            top += OVER_PT;
            let w = WIDTH_PT - LEFT_PT - RIGHT_PT;
            let frame = Rect { x: LEFT_PT, y: top, w, h: panel.height_pt };
            let last = index + 1 == self.panels.len();
            self.panel(&mut drawing, panel, frame, last);
            top += panel.height_pt + UNDER_PT;
        }
        drawing
    }

    fn panel(&self, drawing: &mut Drawing, panel: &Panel, frame: Rect, last: bool) {
        let bottom = frame.y + frame.h;
        let along = Scale {
            from: self.across.from,
            to: self.across.to,
            near_pt: frame.x,
            far_pt: frame.x + frame.w,
        };
        let up = Scale { from: panel.foot, to: panel.head, near_pt: bottom, far_pt: frame.y };
        let name = fitted(&panel.name, NAME_PT, Weight::Book, WIDTH_PT - frame.x);
        drawing.text(Layer::Frame, Text::new(Pt(frame.x, frame.y - 4.0), NAME_PT, name));
        across(drawing, &self.across, along, frame, last);
        for (value, label) in ticks(panel.foot, panel.head, frame.h / 18.0) {
            let y = up.at(value);
            drawing.line(Layer::Frame, FINE, &[Pt(frame.x, y), Pt(frame.x + frame.w, y)]);
            let label = Text::new(Pt(frame.x - 4.0, y + 2.2), TICK_PT, label);
            drawing.text(Layer::Frame, label.anchored(Anchor::End).ink(Ink::Grey));
        }
        let mut names: Vec<(f64, String, Stroke)> = Vec::new();
        for trace in panel.traces.iter().filter(|trace| !trace.points.is_empty()) {
            let points = thinned(trace.points.iter().map(|&(x, y)| Pt(along.at(x), up.at(y))));
            let stroke = stroke(trace.look);
            if trace.look == Look::Filled {
                let mut area = points.clone();
                let base = up.at(0.0);
                area.extend(points.last().map(|end| Pt(end.0, base)));
                area.extend(points.first().map(|start| Pt(start.0, base)));
                drawing.polygon(Layer::Water, Some(Ink::Water), None, &area);
            }
            drawing.line(Layer::Water, stroke, &points);
            let end = points.last().map_or(bottom, |end| end.1);
            names.push((end, trace.label.clone(), stroke));
        }
        for limit in panel.limits.iter().filter(|limit| up.holds(limit.value)) {
            let y = up.at(limit.value);
            let stroke = limit.stroke();
            drawing.line(Layer::Mark, stroke, &[Pt(frame.x, y), Pt(frame.x + frame.w, y)]);
            names.push((y, limit.label.clone(), stroke));
        }
        drawing.rect(Layer::Frame, None, Some(EDGE), frame);
        write_names(drawing, names, frame);
    }
}

/// Names to the right of a panel, each beside the end of its line and led to it by a piece of the
/// same line.
fn write_names(drawing: &mut Drawing, mut names: Vec<(f64, String, Stroke)>, frame: Rect) {
    names.retain(|(_, label, _)| !label.is_empty());
    names.sort_by(|a, b| a.0.total_cmp(&b.0));
    let wanted: Vec<f64> = names.iter().map(|(y, ..)| *y).collect();
    let gap = LABEL_PT * 1.25;
    let places = spread(&wanted, gap, frame.y + 2.0, frame.y + frame.h - 2.0);
    let edge = frame.x + frame.w;
    for ((y, label, stroke), place) in names.into_iter().zip(places) {
        drawing.line(Layer::Frame, FINE, &[Pt(edge, y), Pt(edge + 7.0, place)]);
        drawing.line(Layer::Frame, stroke, &[Pt(edge + 7.0, place), Pt(edge + 25.0, place)]);
        let room = RIGHT_PT - 30.0;
        let words = fitted(&label, LABEL_PT, Weight::Book, room);
        drawing.text(Layer::Label, Text::new(Pt(edge + 29.0, place + 2.4), LABEL_PT, words));
    }
}

fn stroke(look: Look) -> Stroke {
    const LINES: [Stroke; 6] = [
        Stroke::solid(Ink::Storm, 1.4),
        Stroke::solid(Ink::Black, 0.9),
        Stroke::dashed(Ink::Ample, 1.2, &[6.0, 2.0]),
        Stroke::dashed(Ink::Grey, 1.2, &[2.0, 1.6]),
        Stroke::dashed(Ink::Black, 0.9, &[8.0, 2.0, 1.5, 2.0]),
        Stroke::solid(Ink::Grey, 0.6),
    ];
    match look {
        Look::Filled => Stroke::solid(Ink::Storm, 0.8),
        Look::Line(kind) => LINES[kind % LINES.len()],
    }
}

/// The same line with no more points than can be told apart: of those that share a sliver of the
/// width, the first, the highest, the lowest and the last.
fn thinned(points: impl Iterator<Item = Pt>) -> Vec<Pt> {
    const SLIVER_PT: f64 = 0.4;
    let mut kept: Vec<Pt> = Vec::new();
    let mut sliver: Vec<Pt> = Vec::new();
    for point in points.filter(|point| point.0.is_finite() && point.1.is_finite()) {
        if sliver.first().is_some_and(|first| point.0 - first.0 > SLIVER_PT) {
            keep(&mut kept, &mut sliver);
        }
        sliver.push(point);
    }
    keep(&mut kept, &mut sliver);
    kept
}

fn keep(kept: &mut Vec<Pt>, sliver: &mut Vec<Pt>) {
    if sliver.len() <= 4 {
        kept.append(sliver);
        return;
    }
    let by_height = |of: &Vec<Pt>, sign: f64| {
        (0..of.len()).max_by(|&a, &b| (sign * of[a].1).total_cmp(&(sign * of[b].1))).unwrap_or(0)
    };
    let mut places = [0, by_height(sliver, 1.0), by_height(sliver, -1.0), sliver.len() - 1];
    places.sort_unstable();
    let mut last = None;
    for place in places {
        if last != Some(place) {
            kept.push(sliver[place]);
        }
        last = Some(place);
    }
    sliver.clear();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thinned_line_keeps_its_peaks() {
        let wave = |i: u32| Pt(f64::from(i) * 0.01, if i == 777 { 9.0 } else { 1.0 });
        let thin = thinned((0..2000).map(wave));
        assert!(thin.len() < 250, "{}", thin.len());
        assert!(thin.iter().any(|point| point.1 == 9.0));
        assert!(thin.windows(2).all(|pair| pair[0].0 <= pair[1].0));
        assert_eq!(thin.first(), Some(&wave(0)));
        assert_eq!(thin.last(), Some(&wave(1999)));
    }
}
