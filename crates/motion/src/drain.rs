//! A low-point drain: a short pipe that ends in the open, and takes no water in.

use crate::film::Weir;
use wetrun_solver::laws::drain::constant_loss_flow;
use wetrun_solver::laws::pipe::PipeLaw;
use wetrun_units::Length;

/// An open drain. Levels are above the plant's reference.
#[derive(Clone, Copy, Debug)]
pub(crate) struct DrainLaw {
    /// Where it ends.
    outlet: f64,
    /// The invert it drains: below that and the energy of the flow the pipe breaks.
    pub(crate) invert: f64,
    /// Flow for the root of a metre.
    per_root_m: f64,
    weir: Weir<PipeLaw>,
}

/// Heads below this answer evenly, m.
const EVEN_M: f64 = 1e-4;

impl DrainLaw {
    /// `k` is its loss besides the jet's own head.
    pub(crate) fn new(law: PipeLaw, outlet: f64, invert: f64, k: f64) -> Self {
        let per_root_m = constant_loss_flow(law.bore(), k, Length::m(1.0)).to_m3_per_s();
        Self { outlet, invert, per_root_m, weir: Weir::new(law) }
    }

    /// What runs out under a head at the point, and the derivative by it.
    pub(crate) fn flow(&self, head: f64) -> (f64, f64) {
        let over = head - self.outlet;
        let free = if over <= 0.0 {
            return (0.0, 0.0);
        } else if over < EVEN_M {
            let chord = self.per_root_m / libm::sqrt(EVEN_M);
            (chord * over, chord)
        } else {
            let flow = self.per_root_m * libm::sqrt(over);
            (flow, 0.5 * flow / over)
        };
        let broken = self.weir.flow(head - self.invert);
        if broken.0 < free.0 { broken } else { free }
    }
}
