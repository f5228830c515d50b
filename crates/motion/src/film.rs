//! The laws of flow over an invert, made even for films too thin to matter.
//!
//! Near no flow the energy over an invert goes with the root of the flow, and a search finds no
//! footing. Below a tenth of a millimetre flow and energy go in step here; no level that is reported
//! hangs on it.

use wetrun_solver::laws::pipe::{OverflowLaw, PipeLaw};
use wetrun_units::{Flow, Length};

/// The energy below which a film is even, m.
const THIN_M: f64 = 1e-4;

/// Flow over an invert into or out of one pipe.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Weir<L> {
    law: L,
    /// The flow that goes with [`THIN_M`].
    thin: f64,
}

impl Weir<PipeLaw> {
    pub(crate) fn new(law: PipeLaw) -> Self {
        Self { law, thin: law.critical_flow(Length::m(THIN_M)).0.to_m3_per_s() }
    }

    /// The most that an energy above the invert lets pass, and the derivative by it.
    pub(crate) fn flow(&self, energy: f64) -> (f64, f64) {
        if energy <= 0.0 {
            (0.0, 0.0)
        } else if energy <= THIN_M {
            (self.thin * (energy / THIN_M), self.thin / THIN_M)
        } else {
            let (flow, slope) = self.law.critical_flow(Length::m(energy));
            (flow.to_m3_per_s(), slope)
        }
    }

    /// The energy above the invert of a flow of 0 or more, and the derivative by it.
    pub(crate) fn energy(&self, flow: f64) -> (f64, f64) {
        if flow <= self.thin {
            (THIN_M * (flow / self.thin), THIN_M / self.thin)
        } else {
            let (energy, slope) = self.law.critical_energy(Flow::m3_per_s(flow));
            (energy.to_m(), slope)
        }
    }
}

impl Weir<OverflowLaw> {
    pub(crate) fn of_overflow(law: OverflowLaw) -> Self {
        Self { law, thin: law.free(Length::m(THIN_M)).0.to_m3_per_s() }
    }

    /// What runs over with still water so high above the invert, and the derivative by it.
    pub(crate) fn free(&self, head: f64) -> (f64, f64) {
        if head <= THIN_M {
            (self.thin * (head / THIN_M).max(0.0), self.thin / THIN_M)
        } else {
            let (flow, slope) = self.law.free(Length::m(head));
            (flow.to_m3_per_s(), slope)
        }
    }

    /// Height of still water for a flow, and the derivative by it.
    pub(crate) fn head(&self, flow: f64) -> (f64, f64) {
        if flow <= self.thin {
            (THIN_M * (flow / self.thin).max(0.0), THIN_M / self.thin)
        } else {
            let (head, slope) = self.law.head(Flow::m3_per_s(flow));
            (head.to_m(), slope)
        }
    }

    /// What passes between two waters so far apart in level.
    pub(crate) fn drowned(&self, across: f64) -> (f64, f64) {
        let (flow, slope) = self.law.drowned(Length::m(across));
        (flow.to_m3_per_s(), slope)
    }
}
