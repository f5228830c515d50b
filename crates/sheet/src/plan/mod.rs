//! The plan scheme: the network from above, sizes and flows on its lines, margins at its
//! downspouts.

mod key;
mod labels;
pub(crate) mod layout;
mod scale;

use crate::draw::place::Taken;
use crate::draw::{Anchor, Drawing, Ink, Layer, Pt, Rect, Stroke, Text};
use crate::input::SheetInput;
use crate::values::{Class, class, governing, mouth, route};
use layout::Layout;
use wetrun_network::{DownspoutId, End, LineId, PointId, TankId};

const WIDTH_PT: f64 = 720.0;
const HEIGHT_PT: f64 = 460.0;
const HEAD_PT: f64 = 34.0;
/// Room at the left for labels of downspouts, at the right for those of tanks.
const LEFT_PT: f64 = 92.0;
const RIGHT_PT: f64 = 84.0;

/// Rows are no further apart than labels want.
const ROW_PT: f64 = 96.0;

/// What the plan is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Detail {
    /// Sizes, lengths, flows and margins.
    Full,
    /// The whole of a large network: its shape, marks and governing route.
    Overview,
    /// What an owner looks for: tags, drains, cleanouts.
    Owner,
}

/// Columns and rows of a laid-out network that one sheet shows with all their labels.
const COLUMNS: f64 = 9.0;
const ROWS: f64 = 13.0;

/// The plan with all its values: one drawing, or an overview and its parts where the network
/// is large.
pub(crate) fn drawings(input: &SheetInput<'_>) -> Vec<Drawing> {
    let layout = layout::of(input);
    let sheet = |(window, detail, note): (Window, Detail, String)| {
        draw(input, &layout, window, detail, (WIDTH_PT, HEIGHT_PT), &note)
    };
    sheets(&layout).into_iter().map(sheet).collect()
}

/// The windows of the sheets that show a layout, with how much each shows and its words.
fn sheets(layout: &Layout) -> Vec<(Window, Detail, String)> {
    let all = Window::of(layout);
    if layout.surveyed || (all.w < COLUMNS && all.h < ROWS) {
        return vec![(all, Detail::Full, String::new())];
    }
    let tiles = tiles(layout, all);
    let count = tiles.len();
    let mut sheets = vec![(all, Detail::Overview, format!(", overview; {count} parts follow"))];
    for (index, tile) in tiles.into_iter().enumerate() {
        sheets.push((tile, Detail::Full, format!(", part {} of {count}", index + 1)));
    }
    sheets
}

/// A sheet of the plan with the places of what it shows, in points on it.
#[derive(Clone, Debug)]
pub struct PlanView {
    /// The sheet.
    pub drawing: Drawing,
    /// Downspouts, points and tanks.
    pub places: Vec<(End, Pt)>,
    /// Lines, each with its way.
    pub ways: Vec<(LineId, Vec<Pt>)>,
    /// Its scale, where it is drawn from the coordinates of the site file.
    pub scale: Option<PlanScale>,
}

/// The scale of a surveyed plan: east is to the right, north up the page.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanScale {
    /// Points for a metre on site.
    pub pt_per_m: f64,
}

/// The sheets of the plan with their places.
pub(crate) fn views(input: &SheetInput<'_>) -> Vec<PlanView> {
    let layout = layout::of(input);
    let view = |(window, detail, note): (Window, Detail, String)| {
        // No higher than its rows want where it is laid out by the program.
        let rows_pt = HEAD_PT + 44.0 + 40.0 + window.h.max(0.5) * ROW_PT;
        let height_pt = if layout.surveyed { HEIGHT_PT } else { rows_pt.min(HEIGHT_PT) };
        let size_pt = (WIDTH_PT, height_pt);
        let page = fit(input, &layout, window, detail, size_pt);
        let ends = page.downspouts().map(End::Downspout).chain(page.points().map(End::Point));
        let ends = ends.chain(page.tanks().map(End::Tank));
        PlanView {
            drawing: draw(input, &layout, window, detail, size_pt, &note),
            places: ends.map(|end| (end, page.at(end))).collect(),
            ways: page.lines().map(|id| (id, clip(&page.way(id), page.frame))).collect(),
            scale: layout.surveyed.then_some(PlanScale { pt_per_m: page.scale.0 }),
        }
    };
    sheets(&layout).into_iter().map(view).collect()
}

/// The plan as a small map for the owner.
pub(crate) fn map(input: &SheetInput<'_>, width_pt: f64, height_pt: f64) -> Drawing {
    let layout = layout::of(input);
    draw(input, &layout, Window::of(&layout), Detail::Owner, (width_pt, height_pt), "")
}

/// The part of a layout that a drawing shows, in plan units.
#[derive(Clone, Copy, Debug)]
struct Window {
    x: f64,
    y: f64,
    w: f64,
    h: f64,
}

impl Window {
    fn of(layout: &Layout) -> Self {
        let range = |pick: fn(Pt) -> f64| {
            let low = layout.all().map(pick).fold(f64::INFINITY, f64::min);
            let high = layout.all().map(pick).fold(f64::NEG_INFINITY, f64::max);
            if low.is_finite() { (low, high - low) } else { (0.0, 0.0) }
        };
        let ((x, w), (y, h)) = (range(|p| p.0), range(|p| p.1));
        Self { x, y, w, h }
    }

    fn holds(&self, p: Pt) -> bool {
        let inside =
            |value: f64, low: f64, size: f64| value >= low - 1e-6 && value <= low + size + 1e-6;
        inside(p.0, self.x, self.w) && inside(p.1, self.y, self.h)
    }
}

/// Windows of one sheet each that together hold every place; from upstream, top to bottom.
fn tiles(layout: &Layout, all: Window) -> Vec<Window> {
    let mut tiles = Vec::new();
    let mut x = all.x;
    while x <= all.x + all.w {
        let mut y = all.y;
        while y <= all.y + all.h {
            // Rows may lie between whole numbers: a tile reaches to the next one's first row.
            let h = (all.y + all.h - y).min(ROWS - 1e-3);
            let tile = Window { x, y, w: COLUMNS - 1.0, h };
            if layout.all().any(|p| tile.holds(p)) {
                tiles.push(tile);
            }
            y += ROWS;
        }
        x += COLUMNS;
    }
    tiles
}

/// The plan on its page.
struct Page<'a> {
    input: &'a SheetInput<'a>,
    detail: Detail,
    layout: &'a Layout,
    window: Window,
    /// Points for a plan unit in x and y, and where the window's corner lies on the page.
    scale: Pt,
    corner: Pt,
    /// Size of labels.
    text_pt: f64,
    /// Lines are drawn within this.
    frame: Rect,
}

impl Page<'_> {
    fn at(&self, end: End) -> Pt {
        let p = self.layout.at(end);
        Pt(
            self.corner.0 + (p.0 - self.window.x) * self.scale.0,
            self.corner.1 + (p.1 - self.window.y) * self.scale.1,
        )
    }

    fn shows(&self, end: End) -> bool {
        self.window.holds(self.layout.at(end))
    }

    /// The way of a line on paper: straight on a survey, else level with a slant at its end.
    fn way(&self, id: LineId) -> Vec<Pt> {
        let line = self.input.network.line(id);
        let (a, b) = (self.at(line.from), self.at(line.to));
        let (left, right) = if a.0 <= b.0 { (a, b) } else { (b, a) };
        let (dx, dy) = (right.0 - left.0, (right.1 - left.1).abs());
        let slant = dy.min(dx * 0.24);
        let mut way = if !self.layout.bends(id) || dy < 0.5 || dx < 1.0 {
            vec![left, right]
        } else {
            vec![left, Pt(right.0 - slant, left.1), right]
        };
        if left != a {
            way.reverse();
        }
        way
    }

    /// Downspouts, points, tanks and lines that the window holds; of lines, one end will do.
    fn downspouts(&self) -> impl Iterator<Item = DownspoutId> {
        let ids = (0..self.input.network.downspouts().len()).map(DownspoutId::new);
        ids.filter(|&id| self.shows(End::Downspout(id)))
    }

    fn points(&self) -> impl Iterator<Item = PointId> {
        let ids = (0..self.input.network.points().len()).map(PointId::new);
        ids.filter(|&id| self.shows(End::Point(id)))
    }

    fn tanks(&self) -> impl Iterator<Item = TankId> {
        let ids = (0..self.input.network.tanks().len()).map(TankId::new);
        ids.filter(|&id| self.shows(End::Tank(id)))
    }

    fn lines(&self) -> impl Iterator<Item = LineId> {
        let ids = (0..self.input.network.lines().len()).map(LineId::new);
        ids.filter(|&id| {
            let line = self.input.network.line(id);
            self.shows(line.from) || self.shows(line.to)
        })
    }
}

fn draw(
    input: &SheetInput<'_>,
    layout: &Layout,
    window: Window,
    detail: Detail,
    size_pt: (f64, f64),
    part: &str,
) -> Drawing {
    let title = if detail == Detail::Owner { "Map" } else { "Plan scheme" };
    let mut drawing = Drawing::new(title, size_pt.0, size_pt.1);
    let page = fit(input, layout, window, detail, size_pt);
    if detail != Detail::Owner {
        drawing.text(Layer::Label, Text::new(Pt(0.0, 10.0), 9.5, format!("{title}{part}")).bold());
        key::draw(&mut drawing, input);
        let note = if layout.surveyed {
            scale::bar(&mut drawing, input.units, page.scale.0);
            format!(
                "{}; drawn from the coordinates of the site file, north is up the page.",
                scale::words(input.units, page.scale.0)
            )
        } else {
            "Not to scale: laid out from how the lines are joined, water runs to the right."
                .to_owned()
        };
        let text = Text::new(Pt(size_pt.0, 10.0), 6.5, note).ink(Ink::Grey);
        drawing.text(Layer::Label, text.anchored(Anchor::End));
    }
    let governs: Vec<LineId> = governing(input).map(|id| route(input, id)).unwrap_or_default();
    let mut taken = Taken::default();
    for id in page.lines() {
        line(&mut drawing, &page, id, governs.contains(&id) && detail != Detail::Owner, &mut taken);
    }
    let small = if detail == Detail::Overview { 0.5 } else { 1.0 };
    for id in page.points().filter(|_| detail != Detail::Overview) {
        let at = page.at(End::Point(id));
        point(&mut drawing, &page, id, at);
        let both = input.network.point(id).cleanout && input.network.point(id).drain.is_some();
        let half = if both { 5.0 } else { 3.0 };
        taken.keep(Rect { x: at.0 - half, y: at.1 - half, w: 2.0 * half, h: 2.0 * half });
        if mouth(input, id).is_some_and(|mouth| mouth.escapes.is_some()) {
            taken.keep(Rect { x: at.0 + 5.0, y: at.1 - 10.5, w: 6.0, h: 10.0 });
        }
        if input.vent(id).is_some() {
            taken.keep(Rect { x: at.0 - 3.0, y: at.1 - 13.0, w: 6.0, h: 10.0 });
        }
    }
    overflows(&mut drawing, &page, &mut taken);
    for id in page.tanks() {
        let at = page.at(End::Tank(id));
        let r = Rect {
            x: at.0 - 8.0 * small,
            y: at.1 - 10.0 * small,
            w: 18.0 * small,
            h: 20.0 * small,
        };
        drawing.rect(Layer::Pipe, Some(Ink::Water), Some(Stroke::solid(Ink::Black, 1.2)), r);
        taken.keep(r);
    }
    for id in page.downspouts() {
        let at = page.at(End::Downspout(id));
        let class = if detail == Detail::Owner { Class::Holds } else { class(input, id) };
        key::downspout_mark(&mut drawing, at, class, small);
        taken.keep(Rect { x: at.0 - 5.0, y: at.1 - 5.0, w: 10.0, h: 10.0 });
    }
    labels::draw(&mut drawing, &page, &governs, &mut taken);
    drawing
}

fn fit<'a>(
    input: &'a SheetInput<'a>,
    layout: &'a Layout,
    window: Window,
    detail: Detail,
    size_pt: (f64, f64),
) -> Page<'a> {
    let head = if detail == Detail::Owner { 16.0 } else { HEAD_PT + 14.0 };
    let (room_x, room_y) = (size_pt.0 - LEFT_PT - RIGHT_PT, size_pt.1 - head - 30.0);
    let scale = if layout.surveyed {
        let one = scale::round(input.units, (window.w / room_x).max(window.h / room_y));
        Pt(one, one)
    } else {
        // Columns and rows no wider apart than labels want.
        Pt((room_x / window.w.max(1.0)).min(190.0), (room_y / window.h.max(1.0)).min(ROW_PT))
    };
    let corner = Pt(
        LEFT_PT + (room_x - window.w * scale.0).max(0.0) / 2.0,
        head + (room_y - window.h * scale.1).max(0.0) / 2.0,
    );
    let text_pt = if layout.surveyed { 6.8 } else { (scale.1 * 0.3).clamp(3.2, 6.8) };
    let top = head - 10.0;
    let frame = Rect { x: LEFT_PT - 44.0, y: top, w: room_x + 88.0, h: size_pt.1 - top };
    Page { input, detail, layout, window, scale, corner, text_pt, frame }
}

fn line(drawing: &mut Drawing, page: &Page<'_>, id: LineId, governs: bool, taken: &mut Taken) {
    let way = clip(&page.way(id), page.frame);
    let stroke = match (page.detail, governs) {
        (_, true) => Stroke::solid(Ink::Black, 2.6),
        (Detail::Full | Detail::Overview, false) => Stroke::solid(Ink::Grey, 1.0),
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
            let length = |w: &[Pt]| libm::hypot(w[1].0 - w[0].0, w[1].1 - w[0].1);
            length(p).total_cmp(&length(q))
        });
        if let Some(pair) = longest {
            let (a, b) = if flow > 0.0 { (pair[0], pair[1]) } else { (pair[1], pair[0]) };
            arrow(drawing, a, b, if governs { 4.5 } else { 3.2 });
        }
    }
}

/// From each tank to the one its overflow runs into.
fn overflows(drawing: &mut Drawing, page: &Page<'_>, taken: &mut Taken) {
    for (index, tank) in page.input.network.tanks().iter().enumerate() {
        let Some(to) = tank.overflow.as_ref().and_then(|o| o.to) else { continue };
        let from = End::Tank(TankId::new(index));
        if !page.shows(from) || !page.shows(End::Tank(to)) {
            continue;
        }
        let (a, b) = (page.at(from), page.at(End::Tank(to)));
        let dashes = Stroke::dashed(Ink::Black, 1.0, &[4.0, 2.5]);
        drawing.line(Layer::Pipe, dashes, &[a, b]);
        keep_line(taken, a, b);
        arrow(drawing, a, b, 3.2);
    }
}

/// The part of a way inside a frame: a plan's lines leave it at one end at the most.
fn clip(way: &[Pt], frame: Rect) -> Vec<Pt> {
    let mut inside = Vec::new();
    for pair in way.windows(2) {
        let Some((a, b)) = clip_piece(pair[0], pair[1], frame) else { continue };
        if inside.last() != Some(&a) {
            inside.push(a);
        }
        inside.push(b);
    }
    inside
}

/// The part of a straight piece inside a frame, by its parameters where it crosses the edges.
fn clip_piece(a: Pt, b: Pt, frame: Rect) -> Option<(Pt, Pt)> {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let (mut enter, mut leave) = (0.0f64, 1.0f64);
    let edges = [
        (-dx, a.0 - frame.x),
        (dx, frame.x + frame.w - a.0),
        (-dy, a.1 - frame.y),
        (dy, frame.y + frame.h - a.1),
    ];
    for (towards, room) in edges {
        if towards == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if towards < 0.0 {
            enter = enter.max(room / towards);
        } else {
            leave = leave.min(room / towards);
        }
    }
    let at = |part: f64| Pt(a.0 + dx * part, a.1 + dy * part);
    (enter < leave).then(|| (at(enter), at(leave)))
}

fn keep_line(taken: &mut Taken, a: Pt, b: Pt) {
    // In slices, so that the box of a slanting line does not bar the room beside it.
    const SLICE_PT: f64 = 4.0;
    let slices = (libm::hypot(b.0 - a.0, b.1 - a.1) / SLICE_PT).ceil().clamp(1.0, 200.0) as usize;
    for slice in 0..slices {
        let at = |part: f64| (a.0 + (b.0 - a.0) * part, a.1 + (b.1 - a.1) * part);
        let (p, q) = (at(slice as f64 / slices as f64), at((slice + 1) as f64 / slices as f64));
        taken.keep(Rect {
            x: p.0.min(q.0),
            y: p.1.min(q.1) - 1.3,
            w: (q.0 - p.0).abs(),
            h: (q.1 - p.1).abs() + 2.6,
        });
    }
}

fn arrow(drawing: &mut Drawing, a: Pt, b: Pt, size_pt: f64) {
    let length = libm::hypot(b.0 - a.0, b.1 - a.1);
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
    if page.input.vent(id).is_some() {
        key::vent_mark(drawing, at);
    }
    match (point.cleanout, point.drain.is_some()) {
        (true, drain) => key::cleanout_mark(drawing, at, if drain { 4.8 } else { 2.8 }),
        (false, false) => drawing.disc(Layer::Mark, Some(Ink::Black), None, at, 2.0),
        (false, true) => {}
    }
    if point.drain.is_some() {
        key::drain_mark(drawing, at);
    }
    let leaks = mouth(page.input, id).is_some_and(|mouth| mouth.escapes.is_some());
    if leaks && page.detail != Detail::Owner {
        key::leak_mark(drawing, Pt(at.0 + 8.0, at.1 - 5.0));
    }
}

/// Lines whose ends stand further apart in plan than the line is long.
pub(crate) fn mislaid(input: &SheetInput<'_>) -> Vec<String> {
    // Places are rounded when they are read off a drawing.
    const ROUNDED_M: f64 = 0.05;
    let at = |end: End| input.place(end);
    let apart_m = |line: &wetrun_network::Line| {
        let (a, b) = (at(line.from)?, at(line.to)?);
        Some(libm::hypot((b.east - a.east).to_m(), (b.north - a.north).to_m()))
    };
    let wrong = |line: &wetrun_network::Line| {
        let apart_m = apart_m(line).filter(|m| *m > line.length.to_m() + ROUNDED_M)?;
        let show = |m: f64| input.units.show_length(wetrun_units::Length::m(m));
        Some(format!(
            "{}: its ends stand {} apart in plan (`at`), and it is {} long: one of the two is wrong.",
            line.tag,
            show(apart_m),
            show(line.length.to_m())
        ))
    };
    input.network.lines().iter().filter_map(wrong).collect()
}
