//! The marks of the plan and what each means.

use crate::draw::{Drawing, Ink, Layer, Pt, Rect, Stroke, Text};
use crate::input::SheetInput;
use crate::values::{Class, class};
use wetrun_network::DownspoutId;

/// The mark of a downspout: a ring holds, a half-filled square is short of freeboard, an open
/// triangle has a gutter or an outlet that is too small, a filled triangle spills.
pub(super) fn downspout_mark(drawing: &mut Drawing, at: Pt, class: Class, small: f64) {
    let s = 4.2 * small;
    let triangle =
        [Pt(at.0, at.1 - s * 1.3), Pt(at.0 + s * 1.3, at.1 + s), Pt(at.0 - s * 1.3, at.1 + s)];
    match class {
        Class::Holds => {
            let stroke = Some(Stroke::solid(Ink::Ample, 1.6));
            drawing.disc(Layer::Mark, Some(Ink::White), stroke, at, s);
        }
        Class::Thin => {
            let r = |x: f64, w: f64| Rect { x, y: at.1 - s, w, h: 2.0 * s };
            let stroke = Some(Stroke::solid(Ink::Thin, 1.4));
            drawing.rect(Layer::Mark, Some(Ink::White), stroke, r(at.0 - s, 2.0 * s));
            drawing.rect(Layer::Mark, Some(Ink::Thin), None, r(at.0 - s, s));
        }
        Class::Gutter | Class::Outlet => {
            let stroke = Some(Stroke::solid(Ink::Short, 1.4));
            drawing.polygon(Layer::Mark, Some(Ink::White), stroke, &triangle);
        }
        Class::Spills => {
            let stroke = Some(Stroke::solid(Ink::Short, 0.8));
            drawing.polygon(Layer::Mark, Some(Ink::Short), stroke, &triangle);
        }
    }
}

/// The marks that this network has, in rows.
pub(super) fn draw(drawing: &mut Drawing, input: &SheetInput<'_>) {
    let network = input.network;
    let downspouts = (0..network.downspouts().len()).map(DownspoutId::new);
    let mut classes: Vec<Class> = downspouts.map(|id| class(input, id)).collect();
    classes.sort_unstable();
    classes.dedup();
    let mut row = Row { drawing, x: 4.0, y: 24.0 };
    for class in classes.into_iter().rev() {
        let words = match class {
            Class::Holds => {
                format!("keeps {} freeboard", input.units.show_height(input.freeboard()))
            }
            class => class.words().to_owned(),
        };
        row.entry(0.0, &words, |drawing, at| downspout_mark(drawing, at, class, 1.0));
    }
    row.entry(0.0, "tank", |drawing, at| {
        let tank = Rect { x: at.0 - 4.0, y: at.1 - 5.0, w: 9.0, h: 10.0 };
        drawing.rect(Layer::Pipe, Some(Ink::Water), Some(Stroke::solid(Ink::Black, 1.0)), tank);
    });
    let points = network.points();
    if points.iter().any(|p| p.drain.is_some()) {
        row.entry(0.0, "drain", drain_mark);
    }
    if points.iter().any(|p| p.cleanout) {
        row.entry(0.0, "cleanout", |drawing, at| cleanout_mark(drawing, at, 2.8));
    }
    if input.facts.points.iter().any(|point| point.vent.is_some()) {
        row.entry(0.0, "vent", |drawing, at| vent_mark(drawing, Pt(at.0, at.1 + 7.0)));
    }
    if input.verdict.openings.iter().any(|room| room.leaves) {
        row.entry(4.0, "water comes out", leak_mark);
    }
    row.entry(10.0, "governing route", |drawing, at| {
        let way = [Pt(at.0 - 14.0, at.1), Pt(at.0 + 4.0, at.1)];
        drawing.line(Layer::Pipe, Stroke::solid(Ink::Black, 2.6), &way);
    });
    if network.tanks().iter().any(|t| t.overflow.as_ref().is_some_and(|o| o.to.is_some())) {
        row.entry(10.0, "overflow", |drawing, at| {
            let dashes = Stroke::dashed(Ink::Black, 1.0, &[4.0, 2.5]);
            drawing.line(Layer::Pipe, dashes, &[Pt(at.0 - 14.0, at.1), Pt(at.0 + 4.0, at.1)]);
        });
    }
}

/// Marks with their words, side by side.
struct Row<'d> {
    drawing: &'d mut Drawing,
    x: f64,
    y: f64,
}

impl Row<'_> {
    fn entry(&mut self, wider: f64, words: &str, mark: impl Fn(&mut Drawing, Pt)) {
        let at = Pt(self.x + wider, self.y);
        mark(self.drawing, at);
        let text = Text::new(Pt(at.0 + 8.0, self.y + 2.2), 6.5, words);
        self.x = at.0 + text.width_pt() + 24.0;
        self.drawing.text(Layer::Label, text);
    }
}

/// A triangle that points down.
pub(super) fn drain_mark(drawing: &mut Drawing, at: Pt) {
    let s = 3.6;
    let down = [Pt(at.0 - s, at.1 - s * 0.7), Pt(at.0 + s, at.1 - s * 0.7), Pt(at.0, at.1 + s)];
    drawing.polygon(Layer::Mark, Some(Ink::White), Some(Stroke::solid(Ink::Black, 0.8)), &down);
}

/// A square; a drain stands inside a larger one.
pub(super) fn cleanout_mark(drawing: &mut Drawing, at: Pt, half: f64) {
    let r = Rect { x: at.0 - half, y: at.1 - half, w: 2.0 * half, h: 2.0 * half };
    drawing.rect(Layer::Mark, Some(Ink::White), Some(Stroke::solid(Ink::Black, 0.8)), r);
}

/// A filled drop, for water that comes out of a vent or a cap.
pub(super) fn leak_mark(drawing: &mut Drawing, at: Pt) {
    let tip = [Pt(at.0, at.1 - 5.0), Pt(at.0 + 2.6, at.1 + 0.6), Pt(at.0 - 2.6, at.1 + 0.6)];
    drawing.polygon(Layer::Mark, Some(Ink::Short), None, &tip);
    drawing.disc(Layer::Mark, Some(Ink::Short), None, Pt(at.0, at.1 + 1.2), 2.8);
}

/// A standing pipe with a hood, over the mark of its point.
pub(super) fn vent_mark(drawing: &mut Drawing, at: Pt) {
    let stroke = Stroke::solid(Ink::Black, 0.8);
    drawing.line(Layer::Mark, stroke, &[at, Pt(at.0, at.1 - 10.0)]);
    let hood = [Pt(at.0 - 2.8, at.1 - 9.0), Pt(at.0, at.1 - 12.0), Pt(at.0 + 2.8, at.1 - 9.0)];
    drawing.line(Layer::Mark, stroke, &hood);
}
