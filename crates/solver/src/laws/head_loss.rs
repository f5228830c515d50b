//! Head lost along a full pipe and in its fittings.

use core::f64::consts::PI;

use wetrun_units::{Flow, Length, Speed};

use super::friction::{Friction, G, LAMINAR_TO, TURBULENT_FROM, friction_factor as factor};
use super::{Caution, Viscosity};
use crate::scenario::FrictionLaw;

/// Head lost to wall friction over a full round pipe, by Hazen-Williams.
///
/// # Equation
/// `V = 0.849 C R^0.63 S^0.54` (m, s; `R` = bore/4), inverted for `S` with the exact exponents:
/// `hf = L (V / (0.849 C R^0.63))^(1/0.54)`.
/// # Arguments
/// * `flow`: through the pipe, of either sign.
/// * `c`: Hazen-Williams coefficient, above 0.
/// * `bore`, `length`: above 0.
/// # Returns
/// Head loss in m, with the sign of the flow.
/// # Valid for
/// Turbulent water near 15 °C at about 0.9 to 3 m/s in bores above 50 mm
/// ([`hazen_williams_range`]). It knows no viscosity: at the low speeds of pipes that run full by
/// design a C of 150 loses *less* than Colebrook-White (0.78 of it at 0.1 m/s, 0.91 at 0.5 m/s,
/// 100 mm, 10 °C).
/// # Source
/// The law in feet and seconds, `V = 1.318 C R^0.63 S^0.54`, stands in *Civil Engineering
/// Formulas*, chapter 12, page 304. In metres the constant is 1.318 · 0.3048^0.37 = 0.849182;
/// 0.849 is the rounding in general use, and loses 0.04 % more.
/// # Example
/// 5 L/s over 25 m of 100 mm bore with C = 150 loses 0.1013 m.
/// ```
/// # use wetrun_solver::laws::head_loss;
/// # use wetrun_units::{Flow, Length};
/// let loss = head_loss::hazen_williams(
///     Flow::m3_per_s(0.005), 150.0, Length::m(0.1), Length::m(25.0));
/// assert!((loss.to_m() - 0.1013).abs() < 5e-5);
/// ```
pub fn hazen_williams(flow: Flow, c: f64, bore: Length, length: Length) -> Length {
    let friction = Friction::new(FrictionLaw::HazenWilliams, bore.to_m(), 0.0, c, 1.0);
    along(&friction, flow, length)
}

/// Says when Hazen-Williams is used outside the range it was found for.
///
/// The bounds are common practice, from memory: speeds of about 0.9 to 3 m/s, bores above 50 mm.
/// No flow is no reason for a caution.
pub fn hazen_williams_range(speed: Speed, bore: Length) -> Option<Caution> {
    let (speed_m_per_s, bore_m) = (speed.to_m_per_s().abs(), bore.to_m());
    let (least_m_per_s, most_m_per_s, least_m) = (0.9, 3.0, 0.05);
    if speed_m_per_s > 0.0 && !(least_m_per_s..=most_m_per_s).contains(&speed_m_per_s) {
        Some(Caution::HazenWilliamsSpeed { speed_m_per_s, least_m_per_s, most_m_per_s })
    } else if bore_m <= least_m {
        Some(Caution::HazenWilliamsBore { bore_m, least_m })
    } else {
        None
    }
}

/// Head lost to wall friction over a full round pipe, by Darcy-Weisbach.
///
/// # Equation
/// `hf = f (L/D) V²/2g`, with [`friction_factor`] for `f` and g = 9.80665 m/s².
/// # Arguments
/// * `flow`: through the pipe, of either sign.
/// * `roughness`: of the wall, 0 or more.
/// * `bore`, `length`: above 0.
/// * `viscosity`: of the water.
/// # Returns
/// Head loss in m, with the sign of the flow. It is continuous with its derivative and never
/// falls as the flow grows.
/// # Valid for
/// As [`friction_factor`].
/// # Source
/// B. R. Munson and others, *Fundamentals of Fluid Mechanics*, chapter 8 (from memory).
/// # Example
/// 3 L/s over 25 m of 100 mm bore, roughness 0.0015 mm, water of 10 °C: 0.0440 m.
/// ```
/// # use wetrun_solver::laws::{Viscosity, head_loss};
/// # use wetrun_units::{Flow, Length};
/// let loss = head_loss::darcy_weisbach(
///     Flow::m3_per_s(0.003), Length::m(1.5e-6), Length::m(0.1), Length::m(25.0),
///     Viscosity::m2_per_s(1.30629e-6));
/// assert!((loss.to_m() - 0.0440113).abs() < 5e-8);
/// ```
pub fn darcy_weisbach(
    flow: Flow,
    roughness: Length,
    bore: Length,
    length: Length,
    viscosity: Viscosity,
) -> Length {
    let friction = Friction::new(
        FrictionLaw::DarcyWeisbach,
        bore.to_m(),
        roughness.to_m(),
        1.0,
        viscosity.to_m2_per_s(),
    );
    along(&friction, flow, length)
}

/// Darcy friction factor of a full round pipe.
///
/// # Equation
/// * `Re ≤ 2000`: `f = 64/Re`.
/// * `Re ≥ 4000`: Colebrook-White, `1/√f = −2 log10(ε/(3.7 D) + 2.51/(Re √f))`, solved to
///   rounding.
/// * between: `f Re²` is the cubic in Re that meets both in value and slope, so that the loss
///   never falls as the flow grows. (A factor that jumps between the laws is in use elsewhere; no
///   law is sure in this range.)
/// # Arguments
/// * `reynolds`: Reynolds number, above 0 (at 0 the factor is infinite, the loss 0).
/// * `relative_roughness`: roughness ÷ bore, 0 or more; above 1 it is read as 1.
/// # Returns
/// The factor, without unit; four times Fanning's.
/// # Valid for
/// Relative roughness up to 0.05 ([`darcy_weisbach_range`]).
/// # Source
/// C. F. Colebrook, *Turbulent flow in pipes*, Journal of the Institution of Civil Engineers 11
/// (1939). For the bridge: F. N. Fritsch and R. E. Carlson, *Monotone piecewise cubic
/// interpolation*, SIAM Journal on Numerical Analysis 17 (1980). Both from memory.
/// # Example
/// Re 1e5 and ε/D 0.001: 0.0221745.
/// ```
/// # use wetrun_solver::laws::head_loss;
/// assert!((head_loss::friction_factor(1e5, 1e-3) - 0.0221745).abs() < 5e-8);
/// ```
pub fn friction_factor(reynolds: f64, relative_roughness: f64) -> f64 {
    factor(reynolds, relative_roughness)
}

/// Says when a Darcy-Weisbach loss rests on less than the law promises.
pub fn darcy_weisbach_range(reynolds: f64, relative_roughness: f64) -> Option<Caution> {
    let most = 0.05;
    let turbulent_from = TURBULENT_FROM;
    if relative_roughness > most {
        Some(Caution::RelativeRoughness { ratio: relative_roughness, most })
    } else if reynolds > LAMINAR_TO && reynolds < turbulent_from {
        Some(Caution::Transition { reynolds, turbulent_from })
    } else {
        None
    }
}

/// Reynolds number of a full round pipe.
///
/// # Equation
/// `Re = |V| D/ν`
/// # Arguments
/// * `speed`: mean speed, of either sign.
/// * `bore`, `viscosity`: above 0.
/// # Returns
/// The Reynolds number, never negative.
/// # Valid for
/// Any flow.
/// # Source
/// Definition.
/// # Example
/// 1 m/s in 0.1 m with ν = 1.306e-6 m²/s: 76 569.7.
/// ```
/// # use wetrun_solver::laws::{Viscosity, head_loss};
/// # use wetrun_units::{Length, Speed};
/// let re = head_loss::reynolds(
///     Speed::m_per_s(1.0), Length::m(0.1), Viscosity::m2_per_s(1.306e-6));
/// assert!((re - 76_569.7).abs() < 0.05);
/// ```
pub fn reynolds(speed: Speed, bore: Length, viscosity: Viscosity) -> f64 {
    speed.to_m_per_s().abs() * bore.to_m() / viscosity.to_m2_per_s()
}

/// Mean speed of a flow that fills a round bore.
///
/// # Equation
/// `V = Q/(π D²/4)`
/// # Arguments
/// * `flow`: of either sign.
/// * `bore`: above 0.
/// # Returns
/// Speed in m/s, with the sign of the flow.
/// # Valid for
/// A full pipe.
/// # Source
/// Definition.
/// # Example
/// 3 L/s in 100 mm: 0.381972 m/s.
/// ```
/// # use wetrun_solver::laws::head_loss;
/// # use wetrun_units::{Flow, Length};
/// let speed = head_loss::full_speed(Flow::m3_per_s(0.003), Length::m(0.1));
/// assert!((speed.to_m_per_s() - 0.381972).abs() < 5e-7);
/// ```
pub fn full_speed(flow: Flow, bore: Length) -> Speed {
    Speed::m_per_s(flow.to_m3_per_s() / (PI / 4.0 * bore.to_m() * bore.to_m()))
}

/// Head lost in a fitting.
///
/// # Equation
/// `h = K V|V|/2g`
/// # Arguments
/// * `k`: loss coefficient on this pipe's own velocity head.
/// * `speed`: mean speed, of either sign.
/// # Returns
/// Head loss in m, with the sign of the speed (turned round where `k` is negative).
/// # Valid for
/// Turbulent flow; published coefficients of one and the same elbow differ from 0.2 to 1.5.
/// # Source
/// B. R. Munson and others, *Fundamentals of Fluid Mechanics*, chapter 8, table 8.2.
/// # Example
/// ΣK = 3.75 at 0.381972 m/s: 0.0278961 m.
/// ```
/// # use wetrun_solver::laws::head_loss;
/// # use wetrun_units::Speed;
/// let loss = head_loss::fitting(3.75, Speed::m_per_s(0.381972));
/// assert!((loss.to_m() - 0.0278961).abs() < 1e-7);
/// ```
pub fn fitting(k: f64, speed: Speed) -> Length {
    let speed_m_per_s = speed.to_m_per_s();
    Length::m(k * speed_m_per_s * speed_m_per_s.abs() / (2.0 * G))
}

fn along(friction: &Friction, flow: Flow, length: Length) -> Length {
    let (slope, _) = friction.slope(flow.to_m3_per_s().abs());
    Length::m((slope * length.to_m()).copysign(flow.to_m3_per_s()))
}
