//! The two ends of a section: the downspout with its opening, the tank with its levels.

use super::Frame;
use super::chart::level_words;
use super::profile::{NodeKind, Profile};
use super::stack::spread;
use crate::draw::font::Weight;
use crate::draw::place::Taken;
use crate::draw::{Anchor, Drawing, Ink, Layer, Pt, Rect, Stroke, Text, fitted, text_width_pt};
use crate::values::{class, outcome, over_rim, watertight_to};
use wetrun_network::{End, Network};

const SIZE_PT: f64 = 7.2;
const LABEL_GAP_PT: f64 = 9.0;
const LABELS_LEFT_PT: f64 = 28.0;
const LABELS_RIGHT_PT: f64 = 118.0;
pub(super) const STUB_PT: f64 = 14.0;

const WALL: Stroke = Stroke::solid(Ink::Black, 0.8);
const THIN: Stroke = Stroke::solid(Ink::Grey, 0.35);

/// A level to be labelled.
struct Label {
    name: String,
    level_m: f64,
    bold: bool,
    ink: Ink,
}

impl Label {
    fn new(name: impl Into<String>, level_m: f64) -> Self {
        Self { name: name.into(), level_m, bold: false, ink: Ink::Black }
    }

    fn strong(self, ink: Ink) -> Self {
        Self { bold: true, ink, ..self }
    }
}

/// What the route ends at.
pub(super) fn finish(network: &Network, profile: &Profile) -> Option<End> {
    let run = profile.runs.last()?;
    let line = network.line(run.line);
    Some(if run.forward { line.to } else { line.from })
}

/// The downspout, its opening and lip, the water in it, and its levels.
pub(super) fn downspout(drawing: &mut Drawing, frame: &Frame<'_>, taken: &mut Taken) {
    let input = frame.input;
    let id = frame.profile.downspout;
    let d = input.network.downspout(id);
    let state = &input.steady.downspouts[id.index()];
    let x = frame.x(0.0);
    let half = (frame.scales.along_pt(d.pipe.inside.to_m()) / 2.0).max(2.5);
    let (top, foot) = (frame.y(d.opening().to_m()), frame.y(d.foot.to_m()));
    let standing = frame.y(state.standing_level.to_m());
    let pipe = |y0: f64, y1: f64| Rect { x: x - half, y: y0, w: 2.0 * half, h: y1 - y0 };
    drawing.rect(Layer::Pipe, Some(Ink::White), None, pipe(top, foot));
    drawing.rect(Layer::Water, Some(Ink::Water), None, pipe(standing.max(top), foot));
    for side in [-half, half] {
        drawing.line(Layer::Pipe, WALL, &[Pt(x + side, top), Pt(x + side, foot)]);
    }
    drawing.line(
        Layer::Water,
        Stroke::solid(Ink::Storm, 1.2),
        &[Pt(x - half, standing), Pt(x + half, standing)],
    );
    gutter(drawing, frame, x, half);

    let ink = class(input, id).ink();
    let mut labels = vec![
        Label::new("gutter lip", d.lip.to_m()),
        Label::new("gutter outlet", d.outlet.to_m()),
        Label::new("watertight to", watertight_to(input, id).to_m()),
        Label::new("standing", state.standing_level.to_m()).strong(Ink::Storm),
        Label::new("foot", d.foot.to_m()),
    ];
    if let Some(rim) = d.leaf_head {
        labels.push(Label::new("leaf head rim", rim.to_m()));
    }
    if let Some(rest_m) = frame.profile.nodes[0].vert.rest_m {
        labels.push(Label::new("rest level", rest_m));
        let y = frame.y(rest_m);
        let dashes = Stroke::dashed(Ink::Storm, 0.8, &[2.0, 2.0]);
        drawing.line(Layer::Water, dashes, &[Pt(x - half - 8.0, y), Pt(x + half, y)]);
    }
    headroom(drawing, frame, x - half - 7.0, ink, taken);
    if frame.room.labels {
        stack(drawing, frame, labels, Side::Left(x - half));
    }
    // A short tag stands over the gutter; a long one keeps clear of the words to its right.
    let tag = fitted(&d.tag, 8.0, Weight::Bold, 64.0);
    let y = top.min(frame.y(d.lip.to_m())) - 4.0;
    let tag = Text::new(Pt(x, y), 8.0, tag).bold();
    let tag = if tag.width_pt() > 34.0 {
        Text { at: Pt(x + 17.0, y), anchor: Anchor::End, ..tag }
    } else {
        tag.anchored(Anchor::Middle)
    };
    drawing.text(Layer::Label, tag);
}

fn gutter(drawing: &mut Drawing, frame: &Frame<'_>, x: f64, half: f64) {
    let d = frame.input.network.downspout(frame.profile.downspout);
    let (outlet, lip) = (frame.y(d.outlet.to_m()), frame.y(d.lip.to_m()));
    let wide = 15.0;
    let lip = lip.min(outlet - 1.0);
    let trough = [Pt(x - wide, lip), Pt(x - wide, outlet), Pt(x - half, outlet)];
    let other = [Pt(x + half, outlet), Pt(x + wide, outlet), Pt(x + wide, lip)];
    let stroke = Stroke::solid(Ink::Black, 1.1);
    drawing.line(Layer::Pipe, stroke, &trough);
    drawing.line(Layer::Pipe, stroke, &other);
    if let Some(rim) = d.leaf_head {
        // An open funnel, and the water falling into it from the gutter.
        let rim = frame.y(rim.to_m());
        for side in [-1.0, 1.0] {
            let funnel = [Pt(x + side * (half + 5.0), rim - 4.0), Pt(x + side * half, rim + 3.0)];
            drawing.line(Layer::Pipe, stroke, &funnel);
            let fall = Stroke::dashed(Ink::Grey, 0.5, &[1.5, 1.5]);
            drawing.line(
                Layer::Pipe,
                fall,
                &[Pt(x + side * half, outlet), Pt(x + side * half, rim - 4.0)],
            );
        }
    }
}

/// The dimension from the opening down to the standing level.
fn headroom(drawing: &mut Drawing, frame: &Frame<'_>, x: f64, ink: Ink, taken: &mut Taken) {
    let input = frame.input;
    let id = frame.profile.downspout;
    let d = input.network.downspout(id);
    let state = &input.steady.downspouts[id.index()];
    let (opening, standing) = (frame.y(d.opening().to_m()), frame.y(state.standing_level.to_m()));
    let stroke = Stroke::solid(ink, 0.9);
    drawing.line(Layer::Mark, stroke, &[Pt(x, opening), Pt(x, standing)]);
    for y in [opening, standing] {
        drawing.line(Layer::Mark, stroke, &[Pt(x - 3.0, y), Pt(x + 3.0, y)]);
        drawing.line(Layer::Mark, stroke, &[Pt(x - 2.0, y + 2.0), Pt(x + 2.0, y - 2.0)]);
    }
    let words = format!("headroom {}", input.units.show_height(state.headroom));
    let at = |y: f64| Pt(frame.x(0.0) + 20.0, y);
    // Over the gutter, on the side towards the tank: nothing else is drawn there.
    let grade = frame.y(frame.profile.nodes[0].vert.head_m);
    let y = frame.y(d.lip.to_m()).min(standing).min(opening).min(grade) - 15.0;
    let target = format!(
        "{}; freeboard asked {}",
        outcome(input, id),
        input.units.show_height(input.freeboard())
    );
    let wide = text_width_pt(&target, SIZE_PT, Weight::Book);
    let y = over_vents(frame, y, (at(y).0, at(y).0 + wide));
    let words = Text::new(at(y), 7.5, words).bold().ink(ink);
    let target = Text::new(at(y + 8.5), SIZE_PT, target).ink(ink);
    for text in [words, target] {
        paper(drawing, text.bounds());
        taken.keep(text.bounds());
        drawing.text(Layer::Label, text);
    }
}

/// A height on the page, or a higher one where the two lines of the headroom's words clear the
/// vents that stand among them.
fn over_vents(frame: &Frame<'_>, y: f64, (left, right): (f64, f64)) -> f64 {
    let tops = frame.profile.nodes[frame.nodes.clone()].iter().filter_map(|node| {
        let NodeKind::Point(id) = node.kind else { return None };
        let top_m = super::mouths::top_m(frame.input, id)?;
        let x = frame.x(node.vert.x_m);
        (x > left - 6.0 && x < right + 6.0).then(|| frame.y(top_m) - 16.0)
    });
    tops.fold(y, f64::min)
}

/// The tank with its water, inlet and overflow, and its levels.
pub(super) fn tank(drawing: &mut Drawing, frame: &Frame<'_>, taken: &mut Taken) {
    let input = frame.input;
    let Some(End::Tank(id)) = finish(input.network, frame.profile) else { return };
    let Some(run) = frame.profile.runs.last() else { return };
    let Some(end) = run.verts.last() else { return };
    let tank = input.network.tank(id);
    let water_m = input.steady.tanks[id.index()].water_level.map(|l| l.to_m());
    let overflow_m = tank.overflow.as_ref().map(|o| o.level.to_m());
    let highest = [Some(end.invert_m + run.bore_m), water_m, overflow_m]
        .into_iter()
        .flatten()
        .fold(f64::MIN, f64::max);
    let rim_m = tank.rim.map_or(highest, |r| r.to_m());
    let (rim, bottom) = (frame.y(rim_m), tank.floor.map_or(frame.bottom_pt, |f| frame.y(f.to_m())));
    let x = frame.x(end.x_m);
    let width = frame.room.tank_pt();
    let (left, right) = (x + STUB_PT, x + STUB_PT + width);
    let inside = |y: f64| Rect { x: left, y, w: width, h: bottom - y };
    taken.keep(Rect { x: left - 10.0, ..inside(rim - 12.0) });
    drawing.rect(Layer::Pipe, Some(Ink::White), None, inside(rim));
    if let Some(water_m) = water_m {
        drawing.rect(Layer::Water, Some(Ink::Water), None, inside(frame.y(water_m)));
        let y = frame.y(water_m);
        drawing.line(Layer::Water, Stroke::solid(Ink::Storm, 0.9), &[Pt(left, y), Pt(right, y)]);
    }
    let floor_known = tank.floor.is_some();
    let wall = Stroke::solid(Ink::Black, 1.2);
    let mut outline = vec![Pt(left, rim), Pt(left, bottom), Pt(right, bottom), Pt(right, rim)];
    if floor_known {
        drawing.line(Layer::Pipe, wall, &outline);
    } else {
        outline.swap(1, 2);
        drawing.line(Layer::Pipe, wall, &[Pt(left, rim), Pt(left, bottom)]);
        drawing.line(Layer::Pipe, wall, &[Pt(right, bottom), Pt(right, rim)]);
    }
    let rise = frame.scales.up_pt(run.bore_m);
    let inlet = frame.y(end.invert_m);
    let stub = Rect { x, y: inlet - rise, w: STUB_PT + 2.0, h: rise };
    drawing.rect(Layer::Pipe, Some(Ink::Water), Some(Stroke::solid(Ink::Black, 0.7)), stub);
    if let Some(overflow) = &tank.overflow {
        let rise = overflow.pipe.as_ref().map_or(3.0, |p| frame.scales.up_pt(p.inside.to_m()));
        let level = frame.y(overflow.level.to_m());
        let pipe = Rect { x: right - 2.0, y: level - rise, w: 12.0, h: rise };
        drawing.rect(Layer::Pipe, Some(Ink::White), Some(Stroke::solid(Ink::Black, 0.7)), pipe);
    }
    if let Some(over) = over_rim(input, id) {
        super::mouths::leak(drawing, Pt(left, rim));
        super::mouths::leak(drawing, Pt(right, rim));
        let words = format!("runs over its rim: {}", input.units.show_flow(over));
        let at = Pt((left + right) / 2.0, rim - 13.0);
        let text = Text::new(at, SIZE_PT, words).bold().ink(Ink::Short);
        let text = text.anchored(Anchor::Middle);
        taken.keep(text.bounds());
        drawing.text(Layer::Label, text);
    }
    if frame.room.labels {
        tank_labels(drawing, frame, id, (end.invert_m, end.head_m), right);
    }
    let at = Pt((left + right) / 2.0, rim - 4.0);
    drawing.text(
        Layer::Label,
        Text::new(at, 8.0, fitted(&tank.tag, 8.0, Weight::Bold, 70.0))
            .bold()
            .anchored(Anchor::Middle),
    );
}

fn tank_labels(
    drawing: &mut Drawing,
    frame: &Frame<'_>,
    id: wetrun_network::TankId,
    end_m: (f64, f64),
    right: f64,
) {
    let tank = frame.input.network.tank(id);
    let mut labels = vec![
        Label::new("inlet invert", end_m.0),
        Label::new("head at inlet", end_m.1).strong(Ink::Storm),
    ];
    let water = frame.input.steady.tanks[id.index()].water_level;
    labels.extend(water.map(|l| Label::new("water in storm", l.to_m()).strong(Ink::Storm)));
    labels.extend(tank.rim.map(|l| Label::new("rim", l.to_m())));
    labels.extend(tank.overflow.as_ref().map(|o| Label::new("overflow invert", o.level.to_m())));
    labels.extend(tank.floor.map(|l| Label::new("floor", l.to_m())));
    labels.extend(tank.ground.map(|l| Label::new("ground", l.to_m())));
    stack(drawing, frame, labels, Side::Right(right));
}

/// White under words.
pub(super) fn paper(drawing: &mut Drawing, r: Rect) {
    drawing.rect(Layer::Frame, Some(Ink::White), None, r);
}

/// Which way the labels of an end stand, and where their leaders begin.
enum Side {
    Left(f64),
    Right(f64),
}

/// Labels above one another in order of level, each with a leader to its level.
fn stack(drawing: &mut Drawing, frame: &Frame<'_>, mut labels: Vec<Label>, side: Side) {
    labels.sort_by(|a, b| b.level_m.total_cmp(&a.level_m));
    let wanted: Vec<f64> = labels.iter().map(|l| frame.y(l.level_m)).collect();
    let placed = spread(&wanted, LABEL_GAP_PT, frame.room.head_pt() + 6.0, frame.bottom_pt - 4.0);
    for ((label, level_y), y) in labels.iter().zip(&wanted).zip(&placed) {
        let number = level_words(frame, label.level_m);
        let style = |text: Text| {
            let text = text.ink(label.ink);
            if label.bold { text.bold() } else { text }
        };
        let baseline = y + 2.3;
        let (name_x, number_x, leader) = match side {
            Side::Left(x) => {
                let number_x = LABELS_RIGHT_PT;
                (
                    LABELS_LEFT_PT,
                    number_x,
                    [Pt(number_x + 2.0, *y), Pt(number_x + 10.0, *level_y), Pt(x, *level_y)],
                )
            }
            Side::Right(x) => {
                let start = x + 22.0;
                (
                    start + 2.0,
                    start + 100.0,
                    [Pt(start, *y), Pt(start - 9.0, *level_y), Pt(x, *level_y)],
                )
            }
        };
        // The level rule's lines do not run through words.
        let (start, end) = (name_x - 2.0, number_x + 1.0);
        paper(drawing, Rect { x: start, y: baseline - 5.8, w: end - start, h: 7.4 });
        drawing.line(Layer::Mark, THIN, &leader);
        drawing.text(
            Layer::Label,
            style(Text::new(Pt(name_x, baseline), SIZE_PT, label.name.clone())),
        );
        let number = Text::new(Pt(number_x, baseline), SIZE_PT, number).anchored(Anchor::End);
        drawing.text(Layer::Label, style(number));
    }
}
