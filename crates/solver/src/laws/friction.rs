//! The slope of the head line along a full pipe, fast, with its exact derivative.
//!
//! A [`Friction`] is prepared once for a pipe; the network's solver then asks it for slopes.
//! [`head_loss`](super::head_loss) is the same law with units and its sources.

use core::f64::consts::{LN_10, PI};

use crate::scenario::FrictionLaw;

/// Standard gravity, m/s².
pub const G: f64 = 9.80665;

/// Reynolds number up to which the flow is taken as laminar.
pub const LAMINAR_TO: f64 = 2000.0;
/// Reynolds number from which Colebrook-White holds.
pub const TURBULENT_FROM: f64 = 4000.0;
/// Darcy's factor in laminar flow is this by the Reynolds number.
pub const LAMINAR: f64 = 64.0;
/// What Colebrook-White divides the relative roughness by.
pub const COLEBROOK_ROUGH: f64 = 3.7;
/// What Colebrook-White divides by the Reynolds number and the root of the factor.
pub const COLEBROOK_SMOOTH: f64 = 2.51;

/// Velocity constant of Hazen-Williams for metres and seconds.
pub const HAZEN_WILLIAMS: f64 = 0.849;
/// The exponent of the hydraulic radius in Hazen-Williams.
pub const HAZEN_WILLIAMS_RADIUS: f64 = 0.63;
/// The exponent of the slope in Hazen-Williams.
pub const HAZEN_WILLIAMS_SLOPE: f64 = 0.54;

/// The friction of one pipe: everything that does not depend on the flow, worked out.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Friction {
    area_m2: f64,
    reynolds_per_flow: f64,
    law: Prepared,
}

#[derive(Clone, Copy, Debug)]
enum Prepared {
    /// `slope = factor · Q^(1/0.54)`.
    HazenWilliams { factor: f64 },
    /// `slope = scale · f Re²`.
    Darcy { scale: f64, relative_roughness: f64 },
}

impl Friction {
    /// Prepares the law for a pipe. Only what the law in use needs is looked at: `c` by
    /// Hazen-Williams, `roughness_m` (0 is a smooth wall) by Darcy-Weisbach.
    pub(crate) fn new(
        law: FrictionLaw,
        bore_m: f64,
        roughness_m: f64,
        c: f64,
        viscosity_m2_per_s: f64,
    ) -> Self {
        let area_m2 = PI / 4.0 * bore_m * bore_m;
        let law = match law {
            FrictionLaw::HazenWilliams => {
                let speed_at_slope_1 =
                    HAZEN_WILLIAMS * c * libm::pow(bore_m / 4.0, HAZEN_WILLIAMS_RADIUS);
                let factor =
                    libm::pow(1.0 / (speed_at_slope_1 * area_m2), 1.0 / HAZEN_WILLIAMS_SLOPE);
                Prepared::HazenWilliams { factor }
            }
            FrictionLaw::DarcyWeisbach => {
                let scale = viscosity_m2_per_s * viscosity_m2_per_s
                    / (2.0 * G * (bore_m * bore_m * bore_m));
                let relative_roughness = held(roughness_m / bore_m);
                Prepared::Darcy { scale, relative_roughness }
            }
        };
        Self { area_m2, reynolds_per_flow: 4.0 / (PI * bore_m * viscosity_m2_per_s), law }
    }

    /// Area of the bore.
    pub(crate) fn area_m2(&self) -> f64 {
        self.area_m2
    }

    /// Reynolds number of a flow (0 or more).
    pub(crate) fn reynolds(&self, flow_m3_per_s: f64) -> f64 {
        self.reynolds_per_flow * flow_m3_per_s
    }

    /// Head lost per metre of pipe (m/m) at a flow of 0 or more, and its derivative by the flow
    /// in s/m³. Both are continuous, and the slope never falls as the flow grows.
    pub(crate) fn slope(&self, flow_m3_per_s: f64) -> (f64, f64) {
        match &self.law {
            Prepared::HazenWilliams { factor } => {
                let chord = factor * libm::pow(flow_m3_per_s, 1.0 / HAZEN_WILLIAMS_SLOPE - 1.0);
                (chord * flow_m3_per_s, chord / HAZEN_WILLIAMS_SLOPE)
            }
            Prepared::Darcy { scale, relative_roughness } => {
                let reynolds = self.reynolds(flow_m3_per_s);
                let (f_re2, d_f_re2) = if reynolds <= LAMINAR_TO {
                    (LAMINAR * reynolds, LAMINAR)
                } else if reynolds < TURBULENT_FROM {
                    Bridge::new(*relative_roughness).at(reynolds)
                } else {
                    turbulent(reynolds, *relative_roughness)
                };
                (scale * f_re2, scale * d_f_re2 * self.reynolds_per_flow)
            }
        }
    }
}

/// Darcy friction factor by the law in force at a Reynolds number above 0.
pub(crate) fn friction_factor(reynolds: f64, relative_roughness: f64) -> f64 {
    let relative_roughness = held(relative_roughness);
    if reynolds <= LAMINAR_TO {
        LAMINAR / reynolds
    } else if reynolds < TURBULENT_FROM {
        Bridge::new(relative_roughness).at(reynolds).0 / (reynolds * reynolds)
    } else {
        colebrook(reynolds, relative_roughness).0
    }
}

/// A relative roughness up to 1. A wall rougher than the bore is wide means nothing; the bound
/// keeps the factor real. (Not `min`, which would make a number of a missing one.)
fn held(relative_roughness: f64) -> f64 {
    if relative_roughness > 1.0 { 1.0 } else { relative_roughness }
}

/// `f Re²` and its derivative by Re where Colebrook-White holds.
fn turbulent(reynolds: f64, relative_roughness: f64) -> (f64, f64) {
    let (f, w) = colebrook(reynolds, relative_roughness);
    let f_re = f * reynolds;
    // d(f Re²)/dRe = 2 f Re · w/(1 + w), from differentiating z + ln(p + z) = q.
    (f_re * reynolds, 2.0 * f_re * w / (1.0 + w))
}

/// Colebrook-White's friction factor, and `w = p + z` of the form in which it is solved.
///
/// With `z = ln10/(2√f)`, `q = ln(Re ln10/5.02)` and `p = Re (ε/D) ln10/(2·2.51·3.7)`,
/// `1/√f = −2 log10(ε/(3.7 D) + 2.51/(Re √f))` reads `z + ln(p + z) = q`: the Wright omega
/// function. Two steps of the fourth-order iteration of Fritsch, Shafer and Crowley (1973) from
/// `z = q − 0.2` leave nothing but rounding from Re 4000 up, whatever the roughness (the first
/// leaves 5e-6).
fn colebrook(reynolds: f64, relative_roughness: f64) -> (f64, f64) {
    const P_PER_RE: f64 = LN_10 / (2.0 * COLEBROOK_SMOOTH * COLEBROOK_ROUGH);
    const Q_PER_RE: f64 = LN_10 / (2.0 * COLEBROOK_SMOOTH);
    let p = reynolds * relative_roughness * P_PER_RE;
    let q = libm::log(reynolds * Q_PER_RE);
    let mut z = q - 0.2;
    for _ in 0..2 {
        let w = p + z;
        let r = q - z - libm::log(w);
        let v = (1.0 + w) * (1.0 + w + 2.0 / 3.0 * r);
        z += w * r * (v - 0.5 * r) / ((1.0 + w) * (v - r));
    }
    let root_f = LN_10 / 2.0 / z;
    (root_f * root_f, p + z)
}

/// The transition from laminar to turbulent: a cubic of `f Re²` in Re between Re 2000 and 4000
/// that meets both neighbours in value and slope.
///
/// It rises all the way, whatever the roughness, by the bound of Fritsch and Carlson (1980): a
/// Hermite cubic whose end slopes lie between 0 and 3 times its chord's is monotone. Here
/// `F = f Re²` starts at 128 000 with slope 64 and ends at `F₁ = f₁·4000²`, at least 638 000 (a
/// smooth wall), with a slope of at most `2F₁/4000`; the chord is `(F₁ − 128 000)/2000`, at least
/// 255. So the first ratio is at most 64/255 = 0.26, the second at most
/// `F₁/(F₁ − 128 000)` ≤ 1.26.
#[derive(Clone, Copy, Debug)]
struct Bridge {
    end: f64,
    end_slope: f64,
}

impl Bridge {
    const START: f64 = LAMINAR * LAMINAR_TO;
    const START_SLOPE: f64 = LAMINAR;
    const WIDTH: f64 = TURBULENT_FROM - LAMINAR_TO;

    fn new(relative_roughness: f64) -> Self {
        let (end, end_slope) = turbulent(TURBULENT_FROM, relative_roughness);
        Self { end, end_slope }
    }

    /// `f Re²` and its derivative by Re.
    fn at(&self, reynolds: f64) -> (f64, f64) {
        let t = (reynolds - LAMINAR_TO) / Self::WIDTH;
        let rise = self.end - Self::START;
        let (from, to) = (Self::START_SLOPE * Self::WIDTH, self.end_slope * Self::WIDTH);
        // start + from·t + c2·t² + c3·t³, with c2 and c3 set by the far end.
        let c2 = 3.0 * rise - 2.0 * from - to;
        let c3 = from + to - 2.0 * rise;
        let value = Self::START + t * (from + t * (c2 + t * c3));
        let slope = (from + t * (2.0 * c2 + t * 3.0 * c3)) / Self::WIDTH;
        (value, slope)
    }
}
