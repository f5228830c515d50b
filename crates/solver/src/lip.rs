//! A lip, where water stands open to the air: what it takes for the head below it, and its level.

use crate::laws::friction::Friction;
use crate::line::{MIN_RESISTANCE, rough_resistance};

/// Faster than water falls from any roof.
const FASTEST_M_PER_S: f64 = 100.0;

/// A downspout, or an opening at a point, prepared for solving; its node has the same number.
///
/// An opening takes in no rain, and what comes out of it has no way up: it is the lip alone.
#[derive(Clone, Debug)]
pub(crate) struct Lip {
    /// Of the downspout's pipe; `None` at an opening, which has no way up.
    friction: Option<Friction>,
    /// Head lost in fittings over the square of the flow, s²/m⁵.
    fitting_s2_m5: f64,
    /// Level at which water leaves: the leaf head's rim, the gutter's lip, or the opening.
    pub(crate) lip_m: f64,
    foot_m: f64,
    demand: f64,
    /// Loss of the demand from the lip to the foot, and its friction per metre.
    demand_loss_m: f64,
    demand_per_m: f64,
}

/// Loss between a surface at the lip and the foot, and its derivative.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LipLoss {
    pub(crate) head_m: f64,
    pub(crate) d_flow: f64,
}

impl Lip {
    /// A downspout of a pipe between two levels, without rain.
    pub(crate) fn downspout(
        friction: Friction,
        fitting_s2_m5: f64,
        lip_m: f64,
        foot_m: f64,
    ) -> Self {
        Self {
            friction: Some(friction),
            fitting_s2_m5,
            lip_m,
            foot_m,
            demand: 0.0,
            demand_loss_m: 0.0,
            demand_per_m: 0.0,
        }
    }

    /// An opening at a point.
    pub(crate) fn opening(level_m: f64) -> Self {
        Self {
            friction: None,
            fitting_s2_m5: 0.0,
            lip_m: level_m,
            foot_m: level_m,
            demand: 0.0,
            demand_loss_m: 0.0,
            demand_per_m: 0.0,
        }
    }

    /// Whether it is an opening at a point.
    pub(crate) fn opens(&self) -> bool {
        self.friction.is_none()
    }

    /// Friction per metre of its way down, and the derivative.
    fn slope(&self, size: f64) -> (f64, f64) {
        self.friction.map_or((0.0, 0.0), |friction| friction.slope(size))
    }

    /// The rain that falls on its roofs, m³/s.
    pub(crate) fn demand(&self) -> f64 {
        self.demand
    }

    /// The same, but no more than gravity could ever bring down: what flows are measured by.
    pub(crate) fn plausible(&self) -> f64 {
        let area_m2 = self.friction.map_or(0.0, |friction| friction.area_m2());
        self.demand.min(FASTEST_M_PER_S * area_m2)
    }

    /// Sets the rain that falls on its roofs.
    pub(crate) fn set_demand(&mut self, demand: f64) {
        self.demand = demand;
        // A rain beyond any sense loses more than a number can say.
        self.demand_per_m = self.slope(demand).0.min(f64::MAX);
        self.demand_loss_m = (self.fitting_s2_m5 * demand * demand
            + MIN_RESISTANCE * demand
            + self.demand_per_m * (self.lip_m - self.foot_m))
            .min(f64::MAX);
    }

    /// The loss of `admitted` (either sign) from the lip to the foot.
    pub(crate) fn lip_loss(&self, admitted: f64) -> LipLoss {
        let size = admitted.abs();
        let (slope, d_slope) = self.slope(size);
        let wetted_m = self.lip_m - self.foot_m;
        // The last term, less than a nanometre, keeps a downspout of no length from being a
        // connection of no loss.
        let head_m = slope * wetted_m + self.fitting_s2_m5 * size * size + MIN_RESISTANCE * size;
        let d_flow = d_slope * wetted_m + 2.0 * self.fitting_s2_m5 * size + MIN_RESISTANCE;
        LipLoss { head_m: head_m.copysign(admitted), d_flow }
    }

    /// The head at the foot up to which the downspout takes its whole demand.
    pub(crate) fn spill_head(&self) -> f64 {
        self.lip_m - self.demand_loss_m
    }

    /// What it takes with this head at its foot, and the derivative; `near` starts the search.
    pub(crate) fn admits(&self, foot_head_m: f64, near: f64) -> (f64, f64) {
        if foot_head_m <= self.spill_head() {
            return (self.demand, 0.0);
        }
        let drop = self.lip_m - foot_head_m;
        let Some(friction) = self.friction else {
            return (drop / MIN_RESISTANCE, -1.0 / MIN_RESISTANCE);
        };
        let target = drop.abs();
        if target == 0.0 {
            return (0.0, -1.0 / self.lip_loss(0.0).d_flow.max(MIN_RESISTANCE));
        }
        // The loss is convex in the flow's root as in the flow: Newton from above, with a bracket.
        let wetted_m = self.lip_m - self.foot_m;
        let bore_m = (friction.area_m2() * 4.0 / std::f64::consts::PI).sqrt();
        let rough = (target / rough_resistance(self.fitting_s2_m5, wetted_m, bore_m)).sqrt();
        let start = if near * drop > 0.0 { near.abs() } else { rough };
        let mut root = start.max(0.05 * rough).min(20.0 * rough).sqrt();
        let (mut low, mut high) = (0.0_f64, f64::INFINITY);
        let mut loss = self.lip_loss(root * root);
        let noise = 2.0 * f64::EPSILON * self.lip_m.abs().max(target);
        for _ in 0..60 {
            let miss = loss.head_m - target;
            if miss.abs() <= noise {
                break;
            }
            if miss > 0.0 {
                high = high.min(root)
            } else {
                low = low.max(root)
            }
            let mut next = root - miss / (2.0 * root * loss.d_flow);
            if !next.is_finite() || next <= low || next >= high {
                next = if high.is_finite() { 0.5 * (low + high) } else { 4.0 * root };
            }
            let moved = (next - root).abs();
            root = next;
            loss = self.lip_loss(root * root);
            if moved <= 2.0 * f64::EPSILON * root {
                break;
            }
        }
        ((root * root).copysign(drop), -1.0 / loss.d_flow.max(MIN_RESISTANCE))
    }

    /// The level of a still surface over a downspout that takes its whole demand, with the
    /// friction and the fitting loss in it; never above the lip.
    pub(crate) fn standing(&self, admitted: f64, foot_head_m: f64) -> Standing {
        let fitting_m = (self.fitting_s2_m5 * admitted * admitted).copysign(admitted);
        if admitted != self.demand {
            let friction_m = self.lip_loss(admitted).head_m - fitting_m;
            return Standing { level_m: self.lip_m, friction_m, fitting_m };
        }
        let slope = self.demand_per_m;
        let over_foot = foot_head_m + fitting_m - self.foot_m;
        let level = if over_foot <= 0.0 {
            foot_head_m + fitting_m
        } else if slope < 1.0 {
            (self.foot_m + over_foot / (1.0 - slope)).min(self.lip_m)
        } else {
            self.lip_m
        };
        Standing { level_m: level, friction_m: level - foot_head_m - fitting_m, fitting_m }
    }
}

/// Where water stands in a downspout, and what its way down to the foot costs.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Standing {
    pub(crate) level_m: f64,
    pub(crate) friction_m: f64,
    pub(crate) fitting_m: f64,
}
