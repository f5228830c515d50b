//! The scale of a plan that stands on coordinates.

use crate::draw::{Anchor, Drawing, Ink, Layer, Pt, Stroke, Text};
use crate::section::{round_scale, round_step};
use wetrun_units::{UnitSystem, trimmed};

/// Points in a metre of paper.
const PT_PER_M: f64 = 72.0 / 0.0254;

/// Points for a metre on site, at the next round scale that is small enough for so many metres to
/// a point.
pub(super) fn round(units: UnitSystem, m_per_pt: f64) -> f64 {
    PT_PER_M / round_scale(units, m_per_pt * PT_PER_M)
}

/// The scale in words.
pub(super) fn words(units: UnitSystem, pt_per_m: f64) -> String {
    let ratio = PT_PER_M / pt_per_m;
    match units {
        UnitSystem::Us => format!("Scale 1 in = {} ft", trimmed(ratio / 12.0, 2)),
        UnitSystem::Si => format!("Scale 1:{}", trimmed(ratio, 2)),
    }
}

/// A bar of a round length at the foot of the drawing: it stays true where the print is scaled.
pub(super) fn bar(drawing: &mut Drawing, units: UnitSystem, pt_per_m: f64) {
    let (unit_m, name) = match units {
        UnitSystem::Us => (0.3048, "ft"),
        UnitSystem::Si => (1.0, "m"),
    };
    const ABOUT_PT: f64 = 90.0;
    let length = round_step(ABOUT_PT * 5.0 / (pt_per_m * unit_m));
    let (right, y) = (drawing.width_pt - 26.0, drawing.height_pt - 4.0);
    let left = right - length * unit_m * pt_per_m;
    let stroke = Stroke::solid(Ink::Black, 0.8);
    let ends = [Pt(left, y - 4.0), Pt(left, y), Pt(right, y), Pt(right, y - 4.0)];
    drawing.line(Layer::Frame, stroke, &ends);
    let words = format!("{} {name}", trimmed(length, 2));
    drawing.text(Layer::Label, Text::new(Pt(right + 3.0, y), 6.5, words));
    drawing.text(Layer::Label, Text::new(Pt(left - 3.0, y), 6.5, "0").anchored(Anchor::End));
}
