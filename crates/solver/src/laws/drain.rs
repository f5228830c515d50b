//! How long a standing system takes to run out through its drain.

use core::f64::consts::PI;

use wetrun_units::{Area, Flow, Length};

use super::friction::{Friction, G, LAMINAR_TO, TURBULENT_FROM};
use super::{Time, Viscosity};
use crate::scenario::FrictionLaw;

/// A drain: a pipe that ends free, below the water it empties.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drain {
    /// Bore, above 0.
    pub bore: Length,
    /// Length, 0 or more.
    pub length: Length,
    /// Roughness of the wall, 0 or more.
    pub roughness: Length,
    /// Losses of its fittings on its own velocity head; the jet's own head is added to them.
    pub k: f64,
}

/// Flow through a drain of constant loss.
///
/// # Equation
/// `Q = A √(2 g h/(1 + K))` (Torricelli, with losses)
/// # Arguments
/// * `bore`: of the drain.
/// * `k`: all losses on its velocity head, 0 or more, without the jet's 1.
/// * `head`: of the water above the drain's end, 0 or more.
/// # Returns
/// Flow in m³/s.
/// # Valid for
/// A free jet.
/// # Source
/// Energy from the still water to the jet.
/// # Example
/// 50 mm, K = 1.5, 2 m: 7.78 L/s.
/// ```
/// # use wetrun_solver::laws::drain;
/// # use wetrun_units::Length;
/// let flow = drain::constant_loss_flow(Length::m(0.05), 1.5, Length::m(2.0));
/// assert!((flow.to_m3_per_s() - 7.778e-3).abs() < 2e-6);
/// ```
pub fn constant_loss_flow(bore: Length, k: f64, head: Length) -> Flow {
    let area_m2 = PI / 4.0 * bore.to_m() * bore.to_m();
    Flow::m3_per_s(area_m2 * libm::sqrt(2.0 * G * head.to_m() / (1.0 + k)))
}

/// Time in which a drain of constant loss lowers a free surface.
///
/// # Equation
/// `t = (2 A_s/A) √((1 + K)/2g) (√h₁ − √h₂)`
/// # Arguments
/// * `surface`: `A_s`, sum of the free surfaces that fall together.
/// * `bore`, `k`: as [`constant_loss_flow`].
/// * `from`, `to`: heights `h₁`, `h₂` of the surface above the drain's end, `from ≥ to ≥ 0`.
/// # Returns
/// Time in s.
/// # Valid for
/// While the surface stands in shafts of constant section; what lies in the pipes themselves
/// comes after, as slugs with air between.
/// # Source
/// [`constant_loss_flow`] integrated.
/// # Example
/// One downspout of 100 mm, 50 mm drain, K = 1.5, 2.0 to 0.2 m: 2.76 s.
/// ```
/// # use wetrun_solver::laws::drain;
/// # use wetrun_units::{Area, Length};
/// let time = drain::constant_loss_time(
///     Area::m2(0.00785398), Length::m(0.05), 1.5, Length::m(2.0), Length::m(0.2));
/// assert!((time.to_s() - 2.762).abs() < 1e-3);
/// ```
pub fn constant_loss_time(surface: Area, bore: Length, k: f64, from: Length, to: Length) -> Time {
    let area_m2 = PI / 4.0 * bore.to_m() * bore.to_m();
    let fall = libm::sqrt(from.to_m()) - libm::sqrt(to.to_m());
    Time::s(2.0 * surface.to_m2() / area_m2 * libm::sqrt((1.0 + k) / (2.0 * G)) * fall)
}

/// Flow through a drain with wall friction.
///
/// # Equation
/// `h = (f L/D + ΣK + 1) V²/2g` solved for the flow, `f` by
/// [`friction_factor`](super::head_loss::friction_factor).
/// # Arguments
/// * `drain`: the pipe.
/// * `viscosity`: of the water.
/// * `head`: 0 or more.
/// # Returns
/// Flow in m³/s.
/// # Valid for
/// A free jet.
/// # Source
/// Energy from the still water to the jet.
/// # Example
/// 40 mm, 10 m, ε 0.0015 mm, ΣK = 2, 2 m of water: 2.226 m/s.
/// ```
/// # use wetrun_solver::laws::{Viscosity, drain, head_loss};
/// # use wetrun_units::Length;
/// let pipe = drain::Drain {
///     bore: Length::m(0.04), length: Length::m(10.0), roughness: Length::m(1.5e-6), k: 2.0 };
/// let flow = drain::flow(&pipe, Viscosity::m2_per_s(1.306e-6), Length::m(2.0));
/// let speed = head_loss::full_speed(flow, pipe.bore);
/// assert!((speed.to_m_per_s() - 2.226).abs() < 1e-3);
/// ```
pub fn flow(drain: &Drain, viscosity: Viscosity, head: Length) -> Flow {
    Flow::m3_per_s(Prepared::new(drain, viscosity).flow_m3_per_s(head.to_m()))
}

/// Time in which a drain with wall friction lowers a free surface.
///
/// # Equation
/// `t = ∫ A_s dh/Q = A_s ∫ (dh/dQ) d ln Q` between the flows at `h₂` and `h₁`, by Simpson's rule,
/// apart for laminar, transitional and turbulent flow.
/// # Arguments
/// * `surface`, `from`, `to`: as [`constant_loss_time`].
/// * `drain`, `viscosity`: as [`flow`].
/// # Returns
/// Time in s. A pipe of some length takes for ever to fall to 0: its last flow is laminar.
/// # Valid for
/// As [`constant_loss_time`].
/// # Source
/// As [`constant_loss_time`].
/// # Example
/// A surface of 0.02 m², that drain, 2.0 to 0.5 m: 14.63 s.
/// ```
/// # use wetrun_solver::laws::{Viscosity, drain};
/// # use wetrun_units::{Area, Length};
/// let pipe = drain::Drain {
///     bore: Length::m(0.04), length: Length::m(10.0), roughness: Length::m(1.5e-6), k: 2.0 };
/// let time = drain::time(
///     &pipe, Viscosity::m2_per_s(1.306e-6), Area::m2(0.02), Length::m(2.0), Length::m(0.5));
/// assert!((time.to_s() - 14.63).abs() < 1e-2);
/// ```
pub fn time(drain: &Drain, viscosity: Viscosity, surface: Area, from: Length, to: Length) -> Time {
    let (from_m, to_m) = (from.to_m(), to.to_m());
    if from_m <= to_m {
        return Time::s(0.0);
    }
    if drain.length.to_m() <= 0.0 {
        return constant_loss_time(surface, drain.bore, drain.k, from, to);
    }
    if to_m <= 0.0 {
        return Time::s(f64::INFINITY);
    }
    let prepared = Prepared::new(drain, viscosity);
    let (slow, fast) = (prepared.flow_m3_per_s(to_m), prepared.flow_m3_per_s(from_m));
    let per_reynolds = 1.0 / prepared.friction.reynolds(1.0);
    let laminar_to = (LAMINAR_TO * per_reynolds).max(slow).min(fast);
    let turbulent_from = (TURBULENT_FROM * per_reynolds).max(slow).min(fast);
    let integral = prepared.integral(slow, laminar_to)
        + prepared.integral(laminar_to, turbulent_from)
        + prepared.integral(turbulent_from, fast);
    Time::s(surface.to_m2() * integral)
}

struct Prepared {
    friction: Friction,
    length_m: f64,
    heads: f64,
}

impl Prepared {
    fn new(drain: &Drain, viscosity: Viscosity) -> Self {
        let friction = Friction::new(
            FrictionLaw::DarcyWeisbach,
            drain.bore.to_m(),
            drain.roughness.to_m(),
            1.0,
            viscosity.to_m2_per_s(),
        );
        Self { friction, length_m: drain.length.to_m(), heads: 1.0 + drain.k }
    }

    /// Head that a flow needs, and its derivative.
    fn head(&self, flow_m3_per_s: f64) -> (f64, f64) {
        let area_m2 = self.friction.area_m2();
        let (slope, d_slope) = self.friction.slope(flow_m3_per_s);
        let per_flow2 = self.heads / (2.0 * G * area_m2 * area_m2);
        (
            slope * self.length_m + per_flow2 * flow_m3_per_s * flow_m3_per_s,
            d_slope * self.length_m + 2.0 * per_flow2 * flow_m3_per_s,
        )
    }

    /// `∫ (dh/dQ) d ln Q` where one law of friction holds, by Simpson's rule.
    fn integral(&self, from_m3_per_s: f64, to_m3_per_s: f64) -> f64 {
        const PANELS: u8 = 128;
        let width = libm::log(to_m3_per_s / from_m3_per_s) / f64::from(PANELS);
        let mut sum = 0.0;
        for i in 0..=PANELS {
            let weight = match i {
                0 | PANELS => 1.0,
                i if i % 2 == 1 => 4.0,
                _ => 2.0,
            };
            let (_, slope) = self.head(from_m3_per_s * libm::exp(width * f64::from(i)));
            sum += weight * slope;
        }
        sum * width / 3.0
    }

    /// The flow that a head drives: Newton's method inside a bracket.
    fn flow_m3_per_s(&self, head_m: f64) -> f64 {
        if head_m <= 0.0 {
            return 0.0;
        }
        // Without friction the pipe would carry this much: nothing carries more.
        let mut high = self.friction.area_m2() * libm::sqrt(2.0 * G * head_m / self.heads);
        let mut low = 0.0;
        let mut flow = 0.5 * high;
        for _ in 0..100 {
            let (needed_m, slope) = self.head(flow);
            if needed_m > head_m {
                high = flow;
            } else {
                low = flow;
            }
            let newton = flow - (needed_m - head_m) / slope;
            let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
            let moved = (next - flow).abs();
            flow = next;
            if moved <= 1e-14 * flow {
                break;
            }
        }
        flow
    }
}
