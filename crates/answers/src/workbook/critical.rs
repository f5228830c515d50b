//! Critical depth in a round bore by digits: each column keeps or leaves half of what was left.

use super::book::{Look, Sheet};
use super::ex::{Ex, n};
use super::inputs::Inputs;

/// Binary digits of the angle: beyond these nothing is left of a double.
const DIGITS: u32 = 46;

/// The sheet of critical depths, a row a flow.
pub(super) struct Critical {
    pub(super) sheet: Sheet,
    row: u32,
}

/// A flow at critical depth.
#[derive(Clone, Debug)]
pub(super) struct Depth {
    /// Depth and velocity head above the invert, m.
    pub(super) energy: Ex,
    /// The velocity head alone, m.
    pub(super) velocity_head: Ex,
}

impl Critical {
    pub(super) fn new() -> Self {
        let mut sheet =
            Sheet::new("Critical", &[22.0, 13.0, 11.0, 13.0, 13.0, 13.0, 13.0, 13.0], 1);
        let heads = [
            "where",
            "flow, m3/s",
            "bore, m",
            "Q2/(g D5)",
            "angle",
            "depth, m",
            "velocity head, m",
            "energy, m",
            "left of g A3 = Q2 T",
            "digits of the angle",
        ];
        sheet.heads(0, &heads);
        Self { sheet, row: 0 }
    }

    /// A flow of 0 or more in a bore.
    pub(super) fn depth(&mut self, inputs: &Inputs, name: &str, flow: &Ex, bore: &Ex) -> Depth {
        self.row += 1;
        let (row, sheet) = (self.row, &mut self.sheet);
        sheet.text(row, 0, name, Look::Plain);
        let flow = sheet.formula(row, 1, flow, Look::Small);
        let bore = sheet.formula(row, 2, bore, Look::Small);
        let number = &flow * &flow / (&inputs.g * bore.power(5.0));
        let number = sheet.formula(row, 3, &number, Look::Small);
        // (θ - sin θ)³/512 = n sin(θ/2): below the root the left side is the smaller.
        let mut angle = n(0.0);
        let mut step = 2.0 * std::f64::consts::PI;
        for digit in 0..DIGITS {
            step *= 0.5;
            let more = &angle + n(step);
            let left = (&more - more.sine()).power(3.0) / n(512.0);
            let right = &number * (&more / n(2.0)).sine();
            let kept = left.below(&right).then(&more, &angle);
            angle = sheet.formula(row, 9 + digit, &kept, Look::Small);
        }
        let angle = sheet.formula(row, 4, &angle, Look::Small);
        let still = flow.at_most(&n(0.0));
        let depth = &bore / n(2.0) * (n(1.0) - (&angle / n(2.0)).cosine());
        let depth = sheet.formula(row, 5, &still.then(&n(0.0), &depth), Look::Small);
        let area = &bore * &bore / n(8.0) * (&angle - angle.sine());
        let speed = &flow / area;
        let head = &speed * &speed / (n(2.0) * &inputs.g);
        let velocity_head = sheet.formula(row, 6, &still.then(&n(0.0), &head), Look::Small);
        let energy = sheet.formula(row, 7, &(&depth + &velocity_head), Look::Small);
        let left =
            (&angle - angle.sine()).power(3.0) / (n(512.0) * &number * (&angle / n(2.0)).sine());
        let left = still.then(&n(0.0), &(left - n(1.0)));
        sheet.formula(row, 8, &left, Look::Residual);
        Depth { energy, velocity_head }
    }
}
