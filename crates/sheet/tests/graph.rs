//! Graphs: a value read off a curve by the ticks beside it is the value that was given.
#![allow(clippy::unwrap_used)]

mod support;

use support::marks::{outside, overlapping};
use wetrun_sheet::draw::{Drawing, Layer, Pt, Shape};
use wetrun_sheet::graph::{Axis, Graph, Limit, Look, Panel, Rows, Span, SpanRow, Trace};

fn panel(name: &str, head: f64, foot: f64, points: Vec<(f64, f64)>) -> Panel {
    Panel {
        name: name.to_owned(),
        height_pt: 90.0,
        head,
        foot,
        traces: vec![Trace { label: "a curve".to_owned(), look: Look::Line(0), points }],
        limits: vec![Limit { label: "a limit".to_owned(), value: 3.0, hard: true }],
    }
}

fn graph(panels: Vec<Panel>) -> Graph {
    Graph {
        title: "Curves".to_owned(),
        words: "What they say. ".repeat(30),
        across: Axis::round("time, min", 0.0, 60.0, 10.0),
        panels,
    }
}

/// Numbers at ticks that stand in one column or one row, with their places.
fn ticks(drawing: &Drawing, place: impl Fn(Pt) -> Option<f64>) -> Vec<(f64, f64)> {
    let texts = drawing.texts().filter(|(layer, _)| **layer == Layer::Frame);
    let numbers = texts.filter_map(|(_, text)| Some((text.text.parse().ok()?, place(text.at)?)));
    numbers.collect()
}

/// The value at a place, on the line through two ticks.
fn read_off(ticks: &[(f64, f64)], place: f64) -> f64 {
    let (a, b) = (ticks[0], ticks[ticks.len() - 1]);
    a.0 + (b.0 - a.0) * (place - a.1) / (b.1 - a.1)
}

fn curve(drawing: &Drawing) -> Vec<Pt> {
    let paths = drawing.shapes.iter().filter_map(|shape| match shape {
        Shape::Path(Layer::Water, path) => Some(path.points.clone()),
        _ => None,
    });
    paths.max_by_key(Vec::len).unwrap()
}

#[test]
fn values_are_read_off_as_given() {
    let points: Vec<(f64, f64)> =
        (0..=30).map(|i| (f64::from(i) * 2.0, 1.0 + f64::from(i * i % 37) / 8.0)).collect();
    for (head, foot) in [(6.0, 0.0), (0.0, 6.0)] {
        let drawing = graph(vec![panel("Flow, L/s", head, foot, points.clone())]).drawing();
        let drawn = curve(&drawing);
        assert_eq!(drawn.len(), points.len());
        let bottom = drawn.iter().map(|p| p.1).fold(f64::MIN, f64::max);
        // The words of ticks stand a little below their height, those of the axis under the frame.
        let up = ticks(&drawing, |at| (at.0 < 40.0).then_some(at.1 - 2.2));
        let along = ticks(&drawing, |at| (at.0 >= 39.0 && at.1 > bottom).then_some(at.0));
        assert!(up.len() >= 3 && along.len() >= 5, "{up:?} {along:?}");
        for (&(x, y), at) in points.iter().zip(&drawn) {
            assert!((read_off(&along, at.0) - x).abs() < 1e-6, "{x}");
            assert!((read_off(&up, at.1) - y).abs() < 1e-6, "{y}");
        }
    }
}

#[test]
fn names_part_and_nothing_is_cut_off() {
    let mut crowded = panel("Levels, m", 10.0, 0.0, vec![(0.0, 1.0), (60.0, 5.0)]);
    for kind in 0..6 {
        let points = vec![(0.0, 1.0), (60.0, 5.0 + 0.01 * f64::from(kind))];
        let label = format!("downspout at the north-east corner of the long barn {kind}");
        crowded.traces.push(Trace { label, look: Look::Line(kind as usize), points });
    }
    let empty = panel("Nothing, m", 1.0, 0.0, Vec::new());
    let flat = panel("Flat, m", 1.0, 1.0, vec![(0.0, 1.0), (60.0, 1.0)]);
    let odd = panel("Odd, m", 1.0, 0.0, vec![(0.0, f64::NAN), (f64::INFINITY, 1.0)]);
    let drawing = graph(vec![crowded, empty, flat, odd]).drawing();
    assert_eq!(overlapping(&drawing), []);
    assert_eq!(outside(&drawing), Vec::<String>::new());

    let row = |i: u32| SpanRow {
        label: format!("the level of the outlet of downspout number {i} at the barn"),
        spans: vec![Span { from: -20.0, to: f64::from(i), strong: i.is_multiple_of(2) }],
        mark: Some(f64::from(i)),
        words: "spills in less than 1 of 1300000 such storms".to_owned(),
    };
    let limit = |value: f64| Limit { label: "freeboard".to_owned(), value, hard: value == 0.0 };
    let rows = Rows {
        title: "Bands".to_owned(),
        words: String::new(),
        across: Axis::round("headroom, mm", -25.0, 30.0, 8.0),
        rows: (0..24).map(row).collect(),
        limits: vec![limit(0.0), limit(3.0), limit(29.9)],
    };
    let drawing = rows.drawing();
    assert_eq!(overlapping(&drawing), []);
    assert_eq!(outside(&drawing), Vec::<String>::new());
}
