//! Vents and open caps on a section: standing pipes up to their level, leaking where water comes
//! out.

use super::Frame;
use super::ends::paper;
use super::profile::{Node, NodeKind};
use crate::draw::place::Taken;
use crate::draw::{Anchor, Drawing, Ink, Layer, Pt, Rect, Stroke, Text};
use crate::values::{Mouth, mouth, mouth_name};
use wetrun_network::{OpeningKind, PointId};
use wetrun_units::Length;

const WALL: Stroke = Stroke::solid(Ink::Black, 0.7);
const LEAK: Stroke = Stroke::solid(Ink::Short, 1.0);
const HALF_PT: f64 = 1.8;
/// Height of a vent whose top the file does not show.
const STUB_PT: f64 = 22.0;
const SIZE_PT: f64 = 7.0;

/// What stands on the line at a point.
struct Pipe {
    kind: OpeningKind,
    /// Level of its top, where shown.
    top: Option<Length>,
    /// What comes out of it.
    mouth: Option<Mouth>,
}

/// Draws the vents and open caps of these places, what leaks first; names what found no room.
pub(super) fn draw(
    drawing: &mut Drawing,
    frame: &Frame<'_>,
    nodes: &[Node],
    taken: &mut Taken,
    plot: Rect,
) -> Vec<String> {
    let mut all: Vec<(&Node, Pipe, f64)> = Vec::new();
    for node in nodes {
        let NodeKind::Point(id) = node.kind else { continue };
        let pipes = pipes(frame, id);
        let apart = if pipes.len() > 1 { 4.5 } else { 0.0 };
        for (pipe, side) in pipes.into_iter().zip([-1.0, 1.0]) {
            all.push((node, pipe, frame.x(node.vert.x_m) + side * apart));
        }
    }
    for (node, pipe, x) in &all {
        stand(drawing, frame, node, pipe, *x);
        let (top, crown) = (top(frame, node, pipe), frame.y(node.crown_m));
        let (high, low) = (top.min(crown) - 4.5, top.max(crown));
        let half = half_pt(pipe);
        taken.keep(Rect { x: x - half, y: high, w: 2.0 * half, h: low - high });
    }
    all.sort_by_key(|(_, pipe, _)| !pipe.leaks());
    let labels = all.iter();
    labels
        .filter_map(|(node, pipe, x)| label(drawing, frame, node, pipe, *x, (taken, plot)))
        .collect()
}

/// Half the width that is kept free for a pipe, its hood, and the water that falls from it.
fn half_pt(pipe: &Pipe) -> f64 {
    if pipe.leaks() { 9.6 } else { 4.2 }
}

impl Pipe {
    fn leaks(&self) -> bool {
        self.mouth.is_some_and(|mouth| mouth.escapes.is_some())
    }
}

/// The highest level that is drawn over a point.
pub(super) fn top_m(frame_input: &crate::input::SheetInput<'_>, id: PointId) -> Option<f64> {
    let vent = frame_input.vent(id).and_then(|vent| vent.level);
    let mouth = frame_input.network.point(id).opening.map(|opening| opening.level);
    [vent, mouth].into_iter().flatten().map(Length::to_m).max_by(f64::total_cmp)
}

fn pipes(frame: &Frame<'_>, id: PointId) -> Vec<Pipe> {
    let mouth = mouth(frame.input, id);
    let of = |kind: OpeningKind| mouth.filter(|m| m.opening.kind == kind);
    let vent = frame.input.vent(id).map(|vent| {
        let mouth = of(OpeningKind::Vent);
        let top = vent.level.or(mouth.map(|m| m.opening.level));
        Pipe { kind: OpeningKind::Vent, top, mouth }
    });
    let told = |kind: OpeningKind| {
        let mouth = of(kind)?;
        Some(Pipe { kind, top: Some(mouth.opening.level), mouth: Some(mouth) })
    };
    let vent = vent.or_else(|| told(OpeningKind::Vent));
    [vent, told(OpeningKind::Cap)].into_iter().flatten().collect()
}

/// A standing pipe from the crown up to its open top; a broken one where the top is not shown.
fn stand(drawing: &mut Drawing, frame: &Frame<'_>, node: &Node, pipe: &Pipe, x: f64) {
    let crown = frame.y(node.crown_m);
    let top = top(frame, node, pipe);
    let wall = if pipe.top.is_some() { WALL } else { Stroke { dash: &[2.0, 1.5], ..WALL } };
    let water = frame.y(node.vert.head_m).clamp(top.min(crown), crown);
    if pipe.top.is_some() {
        let filled = Rect { x: x - HALF_PT, y: water, w: 2.0 * HALF_PT, h: crown - water };
        drawing.rect(Layer::Water, Some(Ink::Water), None, filled);
    }
    for side in [-HALF_PT, HALF_PT] {
        drawing.line(Layer::Pipe, wall, &[Pt(x + side, crown), Pt(x + side, top)]);
    }
    drawing.line(Layer::Pipe, WALL, &[Pt(x - HALF_PT, top), Pt(x + HALF_PT, top)]);
    match pipe.kind {
        OpeningKind::Vent => {
            let hood = [Pt(x - 4.0, top - 1.6), Pt(x, top - 4.2), Pt(x + 4.0, top - 1.6)];
            drawing.line(Layer::Pipe, WALL, &hood);
        }
        OpeningKind::Cap => {
            let lid = Rect { x: x - 3.4, y: top - 1.8, w: 6.8, h: 1.8 };
            drawing.rect(Layer::Pipe, Some(Ink::White), Some(WALL), lid);
        }
    }
    if pipe.leaks() {
        leak(drawing, Pt(x, top));
    }
}

/// Water that comes out to both sides of a top.
pub(super) fn leak(drawing: &mut Drawing, at: Pt) {
    for side in [-1.0, 1.0] {
        let p = |dx: f64, dy: f64| Pt(at.0 + side * dx, at.1 + dy);
        let falls = [p(2.2, -0.6), p(5.0, -2.0), p(7.2, 1.4), p(7.8, 6.0)];
        drawing.line(Layer::Mark, LEAK, &falls);
        let tip = [p(6.0, 4.8), p(9.4, 4.6), p(8.0, 8.6)];
        drawing.polygon(Layer::Mark, Some(Ink::Short), None, &tip);
    }
}

fn top(frame: &Frame<'_>, node: &Node, pipe: &Pipe) -> f64 {
    pipe.top.map_or(frame.y(node.crown_m) - STUB_PT, |top| frame.y(top.to_m()))
}

/// Its level and what comes out, as near to its top as there is room. What leaks is always told.
fn label(
    drawing: &mut Drawing,
    frame: &Frame<'_>,
    node: &Node,
    pipe: &Pipe,
    x: f64,
    (taken, plot): (&mut Taken, Rect),
) -> Option<String> {
    let units = frame.input.units;
    let top = top(frame, node, pipe);
    let name = mouth_name(pipe.kind);
    let mut words = match pipe.top {
        Some(top) => format!("{name} {}", units.show_level(top)),
        None => format!("{name}, top not shown"),
    };
    let escapes = pipe.mouth.and_then(|mouth| mouth.escapes);
    if let Some(flow) = escapes {
        words = format!("{words}: lets {} out", units.show_flow(flow));
    }
    let wide = half_pt(pipe);
    let styled = |at: Pt| {
        let text = Text::new(at, SIZE_PT, words.clone());
        if escapes.is_some() { text.bold().ink(Ink::Short) } else { text }
    };
    let candidates =
        [0.0, 9.0, -9.0, 18.0, 27.0, -18.0, -27.0, -36.0].into_iter().flat_map(|down| {
            let at = |x| styled(Pt(x, top + 4.0 + down));
            let side = wide + 1.8;
            let middle = at(x).anchored(Anchor::Middle);
            [
                Some(at(x + side)),
                Some(at(x - side).anchored(Anchor::End)),
                (down < 0.0).then_some(middle),
            ]
        });
    if let Some(text) = taken.first_free(plot, candidates.flatten()) {
        drawing.text(Layer::Label, text);
        return None;
    }
    if escapes.is_none() {
        return Some(format!("{}: {words}", node.tag));
    }
    // Over whatever is there, but on the sheet.
    let text = styled(Pt(x, top - 8.0)).anchored(Anchor::Middle);
    let half = text.width_pt() / 2.0;
    let inside = x.clamp(plot.x + half, (plot.x + plot.w - half).max(plot.x + half));
    let text = Text { at: Pt(inside, text.at.1), ..text };
    paper(drawing, text.bounds());
    taken.keep(text.bounds());
    drawing.text(Layer::Label, text);
    None
}
