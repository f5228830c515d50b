//! The drawing layer: lines, polygons and measured text on a page, before any file format.

pub mod font;
pub mod number;
pub(crate) mod place;
mod shape;

pub use shape::{Anchor, Ink, Layer, Path, Pt, Rect, Shape, Stroke, Text};

use font::Weight;

/// A drawing: shapes in page points (1/72 in), x to the right, y downwards.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// What it shows, in words.
    pub title: String,
    /// Width in points.
    pub width_pt: f64,
    /// Height in points.
    pub height_pt: f64,
    /// Shapes, back to front.
    pub shapes: Vec<Shape>,
}

impl Drawing {
    /// An empty drawing of this size in points.
    pub fn new(title: impl Into<String>, width_pt: f64, height_pt: f64) -> Self {
        Self { title: clean(&title.into()), width_pt, height_pt, shapes: Vec::new() }
    }

    /// Draws a path that is stroked only.
    pub fn line(&mut self, layer: Layer, stroke: Stroke, points: &[Pt]) {
        self.push_path(layer, points, false, Some(stroke), None);
    }

    /// Draws a closed shape, filled and perhaps outlined.
    pub fn polygon(
        &mut self,
        layer: Layer,
        fill: Option<Ink>,
        stroke: Option<Stroke>,
        points: &[Pt],
    ) {
        self.push_path(layer, points, true, stroke, fill);
    }

    /// Draws a rectangle, filled and perhaps outlined.
    pub fn rect(&mut self, layer: Layer, fill: Option<Ink>, stroke: Option<Stroke>, r: Rect) {
        let corners =
            [Pt(r.x, r.y), Pt(r.x + r.w, r.y), Pt(r.x + r.w, r.y + r.h), Pt(r.x, r.y + r.h)];
        self.polygon(layer, fill, stroke, &corners);
    }

    /// Draws a disc as a polygon of 24 sides.
    pub fn disc(
        &mut self,
        layer: Layer,
        fill: Option<Ink>,
        stroke: Option<Stroke>,
        at: Pt,
        radius_pt: f64,
    ) {
        let points: Vec<Pt> = (0..24)
            .map(|i| {
                let angle = f64::from(i) * std::f64::consts::TAU / 24.0;
                Pt(at.0 + radius_pt * libm::cos(angle), at.1 + radius_pt * libm::sin(angle))
            })
            .collect();
        self.polygon(layer, fill, stroke, &points);
    }

    /// Writes one line of text; `at` is on its baseline. Control characters are taken out.
    pub fn text(&mut self, layer: Layer, text: Text) {
        let text = Text { text: clean(&text.text), ..text };
        if !text.text.trim().is_empty() {
            self.shapes.push(Shape::Text(layer, text));
        }
    }

    /// Puts another drawing onto this one, its top left corner at `at`.
    pub fn place(&mut self, other: &Drawing, at: Pt) {
        let moved = other.shapes.iter().map(|s| s.moved(at.0, at.1));
        self.shapes.extend(moved);
    }

    /// Everything written on the drawing.
    pub fn texts(&self) -> impl Iterator<Item = (&Layer, &Text)> {
        self.shapes.iter().filter_map(|shape| match shape {
            Shape::Text(layer, text) => Some((layer, text)),
            Shape::Path(..) => None,
        })
    }

    fn push_path(
        &mut self,
        layer: Layer,
        points: &[Pt],
        closed: bool,
        stroke: Option<Stroke>,
        fill: Option<Ink>,
    ) {
        let finite = points.iter().all(|p| p.0.is_finite() && p.1.is_finite());
        if points.len() >= 2 && finite {
            self.shapes
                .push(Shape::Path(layer, Path { points: points.to_vec(), closed, stroke, fill }));
        }
    }
}

/// The text without control characters, bidirectional overrides and other invisible marks:
/// a tag can then neither break a file format nor make a page show something else.
pub fn clean(text: &str) -> String {
    let odd = |c: char| {
        c.is_control()
            || matches!(c, '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}')
            || matches!(c, '\u{FEFF}' | '\u{FFFE}' | '\u{FFFF}')
    };
    text.chars().map(|c| if odd(c) { ' ' } else { c }).collect()
}

/// Width in points of a line of text in the embedded font.
pub fn text_width_pt(text: &str, size_pt: f64, weight: Weight) -> f64 {
    font::face(weight).width_em(text) * size_pt
}

/// The text, with an ellipsis in its middle where it is too wide: what tells long tags apart
/// mostly stands at their ends.
pub(crate) fn fitted(text: &str, size_pt: f64, weight: Weight, width_pt: f64) -> String {
    let text = clean(text);
    if text_width_pt(&text, size_pt, weight) <= width_pt {
        return text;
    }
    let chars: Vec<char> = text.chars().collect();
    let cut = |kept: usize| {
        let head: String = chars[..kept.div_ceil(2)].iter().collect();
        let tail: String = chars[chars.len() - kept / 2..].iter().collect();
        format!("{}…{}", head.trim_end(), tail.trim_start())
    };
    let fits = |kept: &usize| text_width_pt(&cut(*kept), size_pt, weight) <= width_pt;
    (1..chars.len()).rev().find(fits).map_or_else(String::new, cut)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_tag_keeps_both_ends() {
        let tag = "downspout-at-the-north-east-corner-7";
        let short = fitted(tag, 7.0, Weight::Bold, 60.0);
        assert!(short.starts_with("down") && short.ends_with("-7"), "{short}");
        assert!(text_width_pt(&short, 7.0, Weight::Bold) <= 60.0);
        assert_eq!(fitted("D1", 7.0, Weight::Bold, 60.0), "D1");
        assert_eq!(fitted(tag, 7.0, Weight::Bold, 1.0), "");
    }
}
