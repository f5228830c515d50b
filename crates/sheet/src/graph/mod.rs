//! Graphs: curves over a common axis in panels below one another, and spans in rows.
//!
//! Values are plain numbers in the unit that stands in the name of their axis or panel.

mod curves;
mod rows;

pub use curves::{Graph, Limit, Look, Panel, Trace};
pub use rows::{Rows, Span, SpanRow};

use crate::draw::font::Weight;
use crate::draw::{Anchor, Drawing, Ink, Layer, Pt, Rect, Stroke, Text, clean, fitted};
use crate::paper::wrap;

/// Width of every graph: that of letter paper on its side, less its margins.
pub const WIDTH_PT: f64 = 720.0;

const FINE: Stroke = Stroke::solid(Ink::Rule, 0.25);
const EDGE: Stroke = Stroke::solid(Ink::Rule, 0.6);
const TITLE_PT: f64 = 10.5;
const WORDS_PT: f64 = 8.0;
const TICK_PT: f64 = 6.5;
const NAME_PT: f64 = 7.5;

/// An axis: its ends and what is written at its ticks.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// Its name, with the unit.
    pub name: String,
    /// Value at its near end.
    pub from: f64,
    /// Value at its far end.
    pub to: f64,
    /// Values with words; those that lie outside, or too close to the one before, are left out.
    pub ticks: Vec<(f64, String)>,
}

impl Axis {
    /// An axis with round numbers at its ticks, about `count` of them.
    pub fn round(name: impl Into<String>, from: f64, to: f64, count: f64) -> Self {
        Self { name: name.into(), from, to, ticks: ticks(from, to, count) }
    }
}

/// About `count` round values between two, either of which may be the larger.
pub(crate) fn ticks(from: f64, to: f64, count: f64) -> Vec<(f64, String)> {
    let (low, high) = (from.min(to), from.max(to));
    if !(high > low && low.is_finite() && high.is_finite()) {
        return Vec::new();
    }
    let step = crate::section::round_step((high - low) * 5.0 / count.max(1.0));
    let decimals = (0..6).find(|&d| step * [1.0, 1e1, 1e2, 1e3, 1e4, 1e5][d] > 0.999).unwrap_or(6);
    let first = (low / step - 1e-9).ceil();
    let values = (0..200).map(|i| (first + f64::from(i)) * step);
    let inside = values.take_while(|&value| value <= high + step * 1e-9);
    // No minus before a 0.
    inside.map(|value| (value, wetrun_units::decimal(value + 0.0, decimals))).collect()
}

/// Where values of an axis lie between two places on the page.
#[derive(Clone, Copy, Debug)]
struct Scale {
    from: f64,
    to: f64,
    near_pt: f64,
    far_pt: f64,
}

impl Scale {
    fn at(&self, value: f64) -> f64 {
        let span = self.to - self.from;
        let part = if span == 0.0 { 0.5 } else { (value - self.from) / span };
        self.near_pt + part.clamp(0.0, 1.0) * (self.far_pt - self.near_pt)
    }

    fn holds(&self, value: f64) -> bool {
        let (low, high) = (self.from.min(self.to), self.from.max(self.to));
        let slack = (high - low) * 1e-9;
        value >= low - slack && value <= high + slack
    }
}

/// What stands over a graph: its title, and a sentence in as many lines as it needs.
struct Head<'a> {
    title: &'a str,
    lines: Vec<String>,
}

impl<'a> Head<'a> {
    fn new(title: &'a str, words: &str) -> Self {
        let lines = wrap(&clean(words), WORDS_PT, Weight::Book, WIDTH_PT - 4.0);
        Self { title, lines: lines.into_iter().filter(|line| !line.is_empty()).collect() }
    }

    fn height_pt(&self) -> f64 {
        18.0 + self.lines.len() as f64 * WORDS_PT * 1.35
    }

    fn draw(&self, drawing: &mut Drawing) {
        let title = fitted(self.title, TITLE_PT, Weight::Bold, drawing.width_pt - 4.0);
        drawing.text(Layer::Label, Text::new(Pt(0.0, TITLE_PT), TITLE_PT, title).bold());
        for (row, line) in self.lines.iter().enumerate() {
            let y = TITLE_PT + 3.0 + (row as f64 + 1.0) * WORDS_PT * 1.3;
            drawing.text(Layer::Label, Text::new(Pt(0.0, y), WORDS_PT, line.clone()));
        }
    }
}

/// The axis at the foot of a frame: fine lines up through it, words below it.
fn across(drawing: &mut Drawing, axis: &Axis, scale: Scale, frame: Rect, words: bool) {
    let bottom = frame.y + frame.h;
    let mut free_from = f64::NEG_INFINITY;
    for (value, label) in axis.ticks.iter().filter(|(value, _)| scale.holds(*value)) {
        let x = scale.at(*value);
        drawing.line(Layer::Frame, FINE, &[Pt(x, frame.y), Pt(x, bottom)]);
        let text = Text::new(Pt(x, bottom + 9.0), TICK_PT, label.clone());
        let text = text.anchored(Anchor::Middle).ink(Ink::Grey);
        if words && text.left_pt() > free_from {
            free_from = text.left_pt() + text.width_pt() + 4.0;
            drawing.text(Layer::Frame, text);
        }
    }
    if words {
        let at = Pt(frame.x + frame.w, bottom + 19.0);
        let name = Text::new(at, NAME_PT, axis.name.clone()).anchored(Anchor::End);
        drawing.text(Layer::Frame, name.ink(Ink::Grey));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        let words = |from, to, count| -> Vec<String> {
            ticks(from, to, count).into_iter().map(|(_, words)| words).collect()
        };
        assert_eq!(words(0.0, 10.0, 5.0), ["0", "2", "4", "6", "8", "10"]);
        assert_eq!(words(0.3, -0.1, 4.0), ["-0.1", "0.0", "0.1", "0.2", "0.3"]);
        assert!(words(1.0, 1.0, 4.0).is_empty());
        assert!(words(f64::NAN, 1.0, 4.0).is_empty());
    }
}
