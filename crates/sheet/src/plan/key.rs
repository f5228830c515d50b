//! The marks of the plan and what each means.

use crate::draw::{Drawing, Ink, Layer, Pt, Rect, Stroke, Text};
use crate::input::SheetInput;
use crate::values::Margin;

/// The mark of a downspout: a ring holds, a half-filled square is short of freeboard, a filled
/// triangle spills.
pub(super) fn downspout_mark(drawing: &mut Drawing, at: Pt, class: Margin, small: f64) {
    let s = 4.2 * small;
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

pub(super) fn draw(drawing: &mut Drawing, input: &SheetInput<'_>) {
    let y = 24.0;
    let mut x = 4.0;
    let say = |drawing: &mut Drawing, x: &mut f64, words: &str| {
        let text = Text::new(Pt(*x + 8.0, y + 2.2), 6.5, words);
        *x += text.width_pt() + 26.0;
        drawing.text(Layer::Label, text);
    };
    for class in [Margin::Ample, Margin::Thin, Margin::Spills] {
        downspout_mark(drawing, Pt(x, y), class, 1.0);
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
    if input.vents.iter().any(Option::is_some) {
        vent_mark(drawing, Pt(x, y + 7.0));
        say(drawing, &mut x, "vent");
    }
    drawing.line(Layer::Pipe, Stroke::solid(Ink::Black, 2.6), &[Pt(x - 4.0, y), Pt(x + 14.0, y)]);
    x += 10.0;
    say(drawing, &mut x, "governing route");
    if input.network.tanks().iter().any(|t| t.overflow.as_ref().is_some_and(|o| o.to.is_some())) {
        let dashes = Stroke::dashed(Ink::Black, 1.0, &[4.0, 2.5]);
        drawing.line(Layer::Pipe, dashes, &[Pt(x - 4.0, y), Pt(x + 14.0, y)]);
        x += 10.0;
        say(drawing, &mut x, "overflow");
    }
}

/// A standing pipe with a hood, over the mark of its point.
pub(super) fn vent_mark(drawing: &mut Drawing, at: Pt) {
    let stroke = Stroke::solid(Ink::Black, 0.8);
    drawing.line(Layer::Mark, stroke, &[at, Pt(at.0, at.1 - 10.0)]);
    let hood = [Pt(at.0 - 2.8, at.1 - 9.0), Pt(at.0, at.1 - 12.0), Pt(at.0 + 2.8, at.1 - 9.0)];
    drawing.line(Layer::Mark, stroke, &hood);
}
