//! The plan scheme: the network from above, sizes and flows on its lines, margins at its
//! downspouts.

mod labels;
mod layout;

use crate::draw::place::Taken;
use crate::draw::{Drawing, Ink, Layer, Pt, Rect, Stroke, Text};
use crate::input::SheetInput;
use crate::values::{Margin, governing, margin, route};
use layout::Layout;
use wetrun_network::{DownspoutId, End, LineId, PointId, TankId};

const WIDTH_PT: f64 = 720.0;
const HEIGHT_PT: f64 = 460.0;
const HEAD_PT: f64 = 34.0;
/// Room at the left for labels of downspouts, at the right for those of tanks.
const LEFT_PT: f64 = 92.0;
const RIGHT_PT: f64 = 84.0;

/// What the plan is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Detail {
    /// Sizes, lengths, flows and margins.
    Full,
    /// What an owner looks for: tags, drains, cleanouts.
    Owner,
}

/// The plan with all its values.
pub(crate) fn drawing(input: &SheetInput<'_>) -> Drawing {
    draw(input, Detail::Full, (WIDTH_PT, HEIGHT_PT))
}

/// The plan as a small map for the owner.
pub(crate) fn map(input: &SheetInput<'_>, width_pt: f64, height_pt: f64) -> Drawing {
    draw(input, Detail::Owner, (width_pt, height_pt))
}

/// The plan on its page.
struct Page<'a> {
    input: &'a SheetInput<'a>,
    detail: Detail,
    layout: Layout,
    /// Smallest plan coordinates, points for a plan unit in x and y, and the page's margin.
    origin: Pt,
    scale: Pt,
    corner: Pt,
    /// Size of labels.
    text_pt: f64,
}

impl Page<'_> {
    fn at(&self, end: End) -> Pt {
        let p = self.layout.at(end);
        Pt(
            self.corner.0 + (p.0 - self.origin.0) * self.scale.0,
            self.corner.1 + (p.1 - self.origin.1) * self.scale.1,
        )
    }

    /// The way of a line on paper: straight on a survey, else level with a slant at its end.
    fn way(&self, id: LineId) -> Vec<Pt> {
        let line = self.input.network.line(id);
        let (a, b) = (self.at(line.from), self.at(line.to));
        let (left, right) = if a.0 <= b.0 { (a, b) } else { (b, a) };
        let (dx, dy) = (right.0 - left.0, (right.1 - left.1).abs());
        let slant = dy.min(dx * 0.35);
        let mut way = if self.layout.surveyed || dy < 0.5 || dx < 1.0 {
            vec![left, right]
        } else {
            vec![left, Pt(right.0 - slant, left.1), right]
        };
        if left != a {
            way.reverse();
        }
        way
    }
}

fn draw(input: &SheetInput<'_>, detail: Detail, size_pt: (f64, f64)) -> Drawing {
    let title = match detail {
        Detail::Full => "Plan scheme",
        Detail::Owner => "Map",
    };
    let mut drawing = Drawing::new(title, size_pt.0, size_pt.1);
    let page = fit(input, detail, size_pt);
    if detail == Detail::Full {
        drawing.text(Layer::Label, Text::new(Pt(0.0, 10.0), 9.5, title).bold());
        key(&mut drawing, input);
        let note = if page.layout.surveyed {
            "Drawn from the coordinates of the site file; north is up the page."
        } else {
            "Not to scale: laid out from how the lines are joined, water runs to the right."
        };
        let text = Text::new(Pt(size_pt.0, 10.0), 6.5, note).ink(Ink::Grey);
        drawing.text(Layer::Label, text.anchored(crate::draw::Anchor::End));
    }
    let governs: Vec<LineId> = governing(input).map(|id| route(input, id)).unwrap_or_default();
    let mut taken = Taken::default();
    for index in 0..input.network.lines().len() {
        let id = LineId::new(index);
        line(&mut drawing, &page, id, governs.contains(&id) && detail == Detail::Full, &mut taken);
    }
    for index in 0..input.network.points().len() {
        let at = page.at(End::Point(PointId::new(index)));
        point(&mut drawing, &page, PointId::new(index), at);
        taken.keep(Rect { x: at.0 - 3.0, y: at.1 - 3.0, w: 6.0, h: 6.0 });
    }
    for index in 0..input.network.tanks().len() {
        let at = page.at(End::Tank(TankId::new(index)));
        let r = Rect { x: at.0 - 8.0, y: at.1 - 10.0, w: 18.0, h: 20.0 };
        drawing.rect(Layer::Pipe, Some(Ink::Water), Some(Stroke::solid(Ink::Black, 1.2)), r);
        taken.keep(r);
    }
    for index in 0..input.network.downspouts().len() {
        let id = DownspoutId::new(index);
        let at = page.at(End::Downspout(id));
        let class = margin(&input.steady.downspouts[index], input.freeboard);
        let class = if detail == Detail::Owner { Margin::Ample } else { class };
        downspout_mark(&mut drawing, at, class);
        taken.keep(Rect { x: at.0 - 5.0, y: at.1 - 5.0, w: 10.0, h: 10.0 });
    }
    labels::draw(&mut drawing, &page, &governs, &mut taken);
    drawing
}

fn fit<'a>(input: &'a SheetInput<'a>, detail: Detail, size_pt: (f64, f64)) -> Page<'a> {
    let layout = layout::of(input);
    let range = |pick: fn(Pt) -> f64| {
        let low = layout.all().map(pick).fold(f64::INFINITY, f64::min);
        let high = layout.all().map(pick).fold(f64::NEG_INFINITY, f64::max);
        if low.is_finite() { (low, high - low) } else { (0.0, 0.0) }
    };
    let ((x, wide), (y, high)) = (range(|p| p.0), range(|p| p.1));
    let head = if detail == Detail::Full { HEAD_PT + 14.0 } else { 16.0 };
    let (room_x, room_y) = (size_pt.0 - LEFT_PT - RIGHT_PT, size_pt.1 - head - 24.0);
    let scale = if layout.surveyed {
        let one = (room_x / wide.max(1e-9)).min(room_y / high.max(1e-9));
        Pt(one, one)
    } else {
        // Columns and rows no wider apart than labels want.
        Pt((room_x / wide.max(1.0)).min(190.0), (room_y / high.max(1.0)).min(64.0))
    };
    let corner = Pt(
        LEFT_PT + (room_x - wide * scale.0).max(0.0) / 2.0,
        head + if layout.surveyed { (room_y - high * scale.1).max(0.0) / 2.0 } else { 0.0 },
    );
    let text_pt = if layout.surveyed { 6.5 } else { (scale.1 * 0.42).clamp(3.2, 6.5) };
    Page { input, detail, layout, origin: Pt(x, y), scale, corner, text_pt }
}

fn line(drawing: &mut Drawing, page: &Page<'_>, id: LineId, governs: bool, taken: &mut Taken) {
    let way = page.way(id);
    let stroke = match (page.detail, governs) {
        (_, true) => Stroke::solid(Ink::Black, 2.6),
        (Detail::Full, false) => Stroke::solid(Ink::Grey, 1.0),
        (Detail::Owner, false) => Stroke::solid(Ink::Storm, 1.6),
    };
    drawing.line(Layer::Pipe, stroke, &way);
    for pair in way.windows(2) {
        keep_line(taken, pair[0], pair[1]);
    }
    let flow = page.input.steady.lines[id.index()].flow.to_m3_per_s();
    if flow.abs() > 1e-12 {
        // The arrow stands on the longest straight piece.
        let longest = way.windows(2).max_by(|p, q| {
            let length = |w: &[Pt]| (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1);
            length(p).total_cmp(&length(q))
        });
        if let Some(pair) = longest {
            let (a, b) = if flow > 0.0 { (pair[0], pair[1]) } else { (pair[1], pair[0]) };
            arrow(drawing, a, b, if governs { 4.5 } else { 3.2 });
        }
    }
}

fn keep_line(taken: &mut Taken, a: Pt, b: Pt) {
    const SLICES: usize = 10;
    for slice in 0..SLICES {
        let at = |part: f64| (a.0 + (b.0 - a.0) * part, a.1 + (b.1 - a.1) * part);
        let (p, q) = (at(slice as f64 / SLICES as f64), at((slice + 1) as f64 / SLICES as f64));
        taken.keep(Rect {
            x: p.0.min(q.0),
            y: p.1.min(q.1) - 1.3,
            w: (q.0 - p.0).abs(),
            h: (q.1 - p.1).abs() + 2.6,
        });
    }
}

fn arrow(drawing: &mut Drawing, a: Pt, b: Pt, size_pt: f64) {
    let length = (b.0 - a.0).hypot(b.1 - a.1);
    if length < 3.0 * size_pt {
        return;
    }
    let (ux, uy) = ((b.0 - a.0) / length, (b.1 - a.1) / length);
    let middle = Pt((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0);
    let tip = Pt(middle.0 + ux * size_pt, middle.1 + uy * size_pt);
    let back = Pt(middle.0 - ux * size_pt, middle.1 - uy * size_pt);
    let wing =
        |side: f64| Pt(back.0 - uy * side * size_pt * 0.7, back.1 + ux * side * size_pt * 0.7);
    drawing.polygon(Layer::Mark, Some(Ink::Black), None, &[tip, wing(1.0), wing(-1.0)]);
}

fn point(drawing: &mut Drawing, page: &Page<'_>, id: PointId, at: Pt) {
    let point = page.input.network.point(id);
    let stroke = Some(Stroke::solid(Ink::Black, 0.8));
    if point.drain.is_some() {
        let s = 3.6;
        let down = [Pt(at.0 - s, at.1 - s * 0.7), Pt(at.0 + s, at.1 - s * 0.7), Pt(at.0, at.1 + s)];
        drawing.polygon(Layer::Mark, Some(Ink::White), stroke, &down);
    } else if point.cleanout {
        let r = Rect { x: at.0 - 2.8, y: at.1 - 2.8, w: 5.6, h: 5.6 };
        drawing.rect(Layer::Mark, Some(Ink::White), stroke, r);
    } else {
        drawing.disc(Layer::Mark, Some(Ink::Black), None, at, 2.0);
    }
}

/// The mark of a downspout: a ring holds, a half-filled square is short of freeboard, a filled
/// triangle spills.
pub(crate) fn downspout_mark(drawing: &mut Drawing, at: Pt, class: Margin) {
    let s = 4.2;
    match class {
        Margin::Ample => {
            let stroke = Some(Stroke::solid(Ink::Ample, 1.6));
            drawing.disc(Layer::Mark, Some(Ink::White), stroke, at, s);
        }
        Margin::Thin => {
            let r = |x: f64, w: f64| Rect { x, y: at.1 - s, w, h: 2.0 * s };
            let stroke = Some(Stroke::solid(Ink::Thin, 1.4));
            drawing.rect(Layer::Mark, Some(Ink::White), stroke, r(at.0 - s, 2.0 * s));
            drawing.rect(Layer::Mark, Some(Ink::Thin), None, r(at.0 - s, s));
        }
        Margin::Spills => {
            let points = [
                Pt(at.0, at.1 - s * 1.3),
                Pt(at.0 + s * 1.3, at.1 + s),
                Pt(at.0 - s * 1.3, at.1 + s),
            ];
            let stroke = Some(Stroke::solid(Ink::Short, 0.8));
            drawing.polygon(Layer::Mark, Some(Ink::Short), stroke, &points);
        }
    }
}

fn key(drawing: &mut Drawing, input: &SheetInput<'_>) {
    let y = 24.0;
    let mut x = 4.0;
    let say = |drawing: &mut Drawing, x: &mut f64, words: &str| {
        let text = Text::new(Pt(*x + 8.0, y + 2.2), 6.5, words);
        *x += text.width_pt() + 26.0;
        drawing.text(Layer::Label, text);
    };
    for class in [Margin::Ample, Margin::Thin, Margin::Spills] {
        downspout_mark(drawing, Pt(x, y), class);
        let words = match class {
            Margin::Ample => {
                format!("downspout keeps {} freeboard", input.units.show_height(input.freeboard))
            }
            Margin::Thin => "short of freeboard".to_owned(),
            Margin::Spills => "spills".to_owned(),
        };
        say(drawing, &mut x, &words);
    }
    let tank = Rect { x: x - 4.0, y: y - 5.0, w: 9.0, h: 10.0 };
    drawing.rect(Layer::Pipe, Some(Ink::Water), Some(Stroke::solid(Ink::Black, 1.0)), tank);
    say(drawing, &mut x, "tank");
    let drain = [Pt(x - 3.6, y - 2.5), Pt(x + 3.6, y - 2.5), Pt(x, y + 3.6)];
    drawing.polygon(Layer::Mark, Some(Ink::White), Some(Stroke::solid(Ink::Black, 0.8)), &drain);
    say(drawing, &mut x, "drain");
    let square = Rect { x: x - 2.8, y: y - 2.8, w: 5.6, h: 5.6 };
    drawing.rect(Layer::Mark, Some(Ink::White), Some(Stroke::solid(Ink::Black, 0.8)), square);
    say(drawing, &mut x, "cleanout");
    drawing.line(Layer::Pipe, Stroke::solid(Ink::Black, 2.6), &[Pt(x - 4.0, y), Pt(x + 14.0, y)]);
    x += 10.0;
    say(drawing, &mut x, "governing route");
}
