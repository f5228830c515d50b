//! Spans in rows over a common axis: bars where they begin at 0, bands where they do not.

use super::{Axis, EDGE, Head, Limit, NAME_PT, Scale, WIDTH_PT, across};
use crate::draw::font::Weight;
use crate::draw::{Anchor, Drawing, Ink, Layer, Pt, Rect, Stroke, Text, fitted};

const LEFT_PT: f64 = 150.0;
const RIGHT_PT: f64 = 150.0;
/// Over the rows, for the names of limits.
const OVER_PT: f64 = 14.0;
const ROW_PT: f64 = 14.0;
const FOOT_PT: f64 = 24.0;

/// Rows of spans.
#[derive(Clone, Debug, PartialEq)]
pub struct Rows {
    /// What they show.
    pub title: String,
    /// What they say, in a sentence; may be empty.
    pub words: String,
    /// The common axis.
    pub across: Axis,
    /// The rows, from the top.
    pub rows: Vec<SpanRow>,
    /// Values that the rows are held against.
    pub limits: Vec<Limit>,
}

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct SpanRow {
    /// Its name, to its left.
    pub label: String,
    /// Its spans, back to front.
    pub spans: Vec<Span>,
    /// A value marked on it.
    pub mark: Option<f64>,
    /// What is said of it, to its right.
    pub words: String,
}

/// From one value to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// One end.
    pub from: f64,
    /// The other.
    pub to: f64,
    /// Whether it stands out before the others.
    pub strong: bool,
}

impl Rows {
    /// The rows as a drawing.
    pub fn drawing(&self) -> Drawing {
        let h = self.rows.len() as f64 * ROW_PT + 6.0;
        let head = Head::new(&self.title, &self.words);
        let top = head.height_pt() + OVER_PT;
        let mut drawing = Drawing::new(self.title.clone(), WIDTH_PT, top + h + FOOT_PT);
        head.draw(&mut drawing);
        let frame = Rect { x: LEFT_PT, y: top, w: WIDTH_PT - LEFT_PT - RIGHT_PT, h };
        let right = frame.x + frame.w;
        let (from, to) = (self.across.from, self.across.to);
        let scale = Scale { from, to, near_pt: frame.x, far_pt: right };
        across(&mut drawing, &self.across, scale, frame, true);
        for (index, row) in self.rows.iter().enumerate() {
            let y = frame.y + 3.0 + (index as f64 + 0.5) * ROW_PT;
            draw_row(&mut drawing, row, scale, frame, y);
        }
        let mut free_from = f64::NEG_INFINITY;
        for limit in self.limits.iter().filter(|limit| scale.holds(limit.value)) {
            let x = scale.at(limit.value);
            drawing.line(Layer::Mark, limit.stroke(), &[Pt(x, frame.y - 3.0), Pt(x, frame.y + h)]);
            let mut words = Text::new(Pt(x + 2.0, frame.y - 4.0), NAME_PT, limit.label.clone());
            if words.left_pt() + words.width_pt() > WIDTH_PT {
                words = Text { at: Pt(x - 2.0, frame.y - 4.0), ..words }.anchored(Anchor::End);
            }
            if words.left_pt() > free_from {
                free_from = words.left_pt() + words.width_pt() + 4.0;
                drawing.text(Layer::Label, words);
            }
        }
        drawing.rect(Layer::Frame, None, Some(EDGE), frame);
        drawing
    }
}

fn draw_row(drawing: &mut Drawing, row: &SpanRow, scale: Scale, frame: Rect, y: f64) {
    let label = fitted(&row.label, NAME_PT, Weight::Book, LEFT_PT - 8.0);
    let label = Text::new(Pt(frame.x - 6.0, y + 2.6), NAME_PT, label);
    drawing.text(Layer::Label, label.anchored(Anchor::End));
    for span in &row.spans {
        let (a, b) = (scale.at(span.from), scale.at(span.to));
        let (ink, tall) = if span.strong { (Ink::Storm, 5.0) } else { (Ink::Water, 9.0) };
        let r = Rect { x: a.min(b), y: y - tall / 2.0, w: (a - b).abs(), h: tall };
        let edge = Stroke::solid(Ink::Storm, 0.5);
        drawing.rect(Layer::Water, Some(ink), Some(edge), r);
    }
    if let Some(value) = row.mark.filter(|value| scale.holds(*value)) {
        let x = scale.at(value);
        let mark = Stroke::solid(Ink::Black, 1.6);
        drawing.line(Layer::Mark, mark, &[Pt(x, y - 5.5), Pt(x, y + 5.5)]);
    }
    let words = fitted(&row.words, NAME_PT, Weight::Book, RIGHT_PT - 8.0);
    drawing.text(Layer::Label, Text::new(Pt(frame.x + frame.w + 6.0, y + 2.6), NAME_PT, words));
}
