//! The shapes of a drawing, and how each looks.

use super::font::Weight;

/// A place on the page in points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pt(pub f64, pub f64);

/// A rectangle in points; `x`, `y` is its top left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub x: f64,
    /// Top edge.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
}

impl Rect {
    /// Whether the two share more than an edge.
    pub fn overlaps(&self, other: &Rect) -> bool {
        const TOUCH: f64 = 1e-6;
        self.x + self.w > other.x + TOUCH
            && other.x + other.w > self.x + TOUCH
            && self.y + self.h > other.y + TOUCH
            && other.y + other.h > self.y + TOUCH
    }
}

/// What a shape belongs to; an SVG viewer can switch each off by its class.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layer {
    /// Frames, axes and rules.
    Frame,
    /// Ground and soil.
    Ground,
    /// Pipes, downspouts, tanks.
    Pipe,
    /// Water at rest and in the storm.
    Water,
    /// Dimensions, arrows, marks.
    Mark,
    /// Tags and levels beside what they name.
    Label,
    /// Rows of values.
    Table,
}

impl Layer {
    /// Its class name in SVG.
    pub fn name(self) -> &'static str {
        match self {
            Layer::Frame => "frame",
            Layer::Ground => "ground",
            Layer::Pipe => "pipe",
            Layer::Water => "water",
            Layer::Mark => "mark",
            Layer::Label => "label",
            Layer::Table => "table",
        }
    }
}

/// The inks. Their greys differ too, so a black-and-white print tells them apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Text and outlines.
    Black,
    /// Secondary text.
    Grey,
    /// Rules.
    Rule,
    /// Stripes and panels.
    Pale,
    /// Paper.
    White,
    /// Ground line.
    Earth,
    /// Soil.
    Soil,
    /// The storm grade line.
    Storm,
    /// Water in a pipe or tank.
    Water,
    /// Does not hold.
    Short,
    /// Holds with less than is wanted, or a caution.
    Thin,
    /// Holds.
    Ample,
}

impl Ink {
    /// Red, green, blue.
    pub fn rgb(self) -> [u8; 3] {
        match self {
            Ink::Black => [0x1a, 0x1a, 0x1a],
            Ink::Grey => [0x5c, 0x5f, 0x61],
            Ink::Rule => [0xb4, 0xb8, 0xba],
            Ink::Pale => [0xf1, 0xf2, 0xf2],
            Ink::White => [0xff, 0xff, 0xff],
            Ink::Earth => [0x7a, 0x5b, 0x33],
            Ink::Soil => [0xf4, 0xf0, 0xe8],
            Ink::Storm => [0x0b, 0x4f, 0x8a],
            Ink::Water => [0xd3, 0xe5, 0xf2],
            Ink::Short => [0xa8, 0x1c, 0x1c],
            Ink::Thin => [0x8a, 0x5a, 0x00],
            Ink::Ample => [0x2c, 0x6e, 0x49],
        }
    }

    /// As `#rrggbb`.
    pub fn hex(self) -> String {
        let [r, g, b] = self.rgb();
        format!("#{r:02x}{g:02x}{b:02x}")
    }
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Colour.
    pub ink: Ink,
    /// Width in points.
    pub width_pt: f64,
    /// Dashes and gaps in points, none for a solid line.
    pub dash: &'static [f64],
}

impl Stroke {
    /// A solid line.
    pub const fn solid(ink: Ink, width_pt: f64) -> Self {
        Self { ink, width_pt, dash: &[] }
    }

    /// A dashed line.
    pub const fn dashed(ink: Ink, width_pt: f64, dash: &'static [f64]) -> Self {
        Self { ink, width_pt, dash }
    }
}

/// Straight pieces from point to point.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    /// Corners, two or more, all finite.
    pub points: Vec<Pt>,
    /// Whether the last joins the first.
    pub closed: bool,
    /// Outline.
    pub stroke: Option<Stroke>,
    /// Inside.
    pub fill: Option<Ink>,
}

/// Which part of the text stands at its anchor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its left end.
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

impl Anchor {
    /// Where the left end of something so wide stands, pt.
    fn left_pt(self, x: f64, width_pt: f64) -> f64 {
        match self {
            Self::Start => x,
            Self::Middle => x - width_pt / 2.0,
            Self::End => x - width_pt,
        }
    }
}

/// One line of text.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Anchor on the baseline.
    pub at: Pt,
    /// The characters.
    pub text: String,
    /// Size in points.
    pub size_pt: f64,
    /// Weight.
    pub weight: Weight,
    /// Which part of it stands at `at`.
    pub anchor: Anchor,
    /// Colour.
    pub ink: Ink,
}

impl Text {
    /// Plain black text from its left end.
    pub fn new(at: Pt, size_pt: f64, text: impl Into<String>) -> Self {
        let (weight, anchor, ink) = (Weight::Book, Anchor::Start, Ink::Black);
        Self { at, text: text.into(), size_pt, weight, anchor, ink }
    }

    /// The same, in bold.
    pub fn bold(self) -> Self {
        Self { weight: Weight::Bold, ..self }
    }

    /// The same, in another ink.
    pub fn ink(self, ink: Ink) -> Self {
        Self { ink, ..self }
    }

    /// The same, held elsewhere.
    pub fn anchored(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }

    /// Its width in points.
    pub fn width_pt(&self) -> f64 {
        super::text_width_pt(&self.text, self.size_pt, self.weight)
    }

    /// Where its left end stands.
    pub fn left_pt(&self) -> f64 {
        self.anchor.left_pt(self.at.0, self.width_pt())
    }

    /// The box it fills: from a little over capital height to the foot of a `g`.
    pub fn bounds(&self) -> Rect {
        self.bounds_at(self.at, self.anchor, self.width_pt())
    }

    /// The same where it stands elsewhere; its width is known already.
    pub(super) fn bounds_at(&self, at: Pt, anchor: Anchor, width_pt: f64) -> Rect {
        let (above, below) = (0.76 * self.size_pt, 0.21 * self.size_pt);
        Rect { x: anchor.left_pt(at.0, width_pt), y: at.1 - above, w: width_pt, h: above + below }
    }
}

/// A shape on its layer.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// Lines and polygons.
    Path(Layer, Path),
    /// Text.
    Text(Layer, Text),
}

impl Shape {
    pub(super) fn moved(&self, dx: f64, dy: f64) -> Self {
        let shift = |p: Pt| Pt(p.0 + dx, p.1 + dy);
        match self {
            Shape::Path(layer, path) => {
                let points = path.points.iter().map(|&p| shift(p)).collect();
                Shape::Path(*layer, Path { points, ..path.clone() })
            }
            Shape::Text(layer, text) => {
                Shape::Text(*layer, Text { at: shift(text.at), ..text.clone() })
            }
        }
    }
}
