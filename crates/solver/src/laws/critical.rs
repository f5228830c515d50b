//! Critical flow in a round bore: the least specific energy of a flow, and the way back, fast.
//!
//! The water's edge is told by the half angle φ that the wetted arc spans: 0 dry, π full. In
//! bores (D = 1) depth is `sin²(φ/2)`, area `a = (φ − sin φ cos φ)/4`, width `t = sin φ`. Past
//! half full the angle that is *left*, ψ = π − φ, is the unknown, because a pipe that runs
//! nearly full tells its flow by a width near 0. [`outfall`](super::outfall) is the same with
//! units and sources.

mod starts;

use core::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};

use super::friction::G;

/// A flow at critical depth.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Critical {
    /// Depth above the invert.
    pub(crate) depth_m: f64,
    /// Specific energy above the invert: depth + V²/2g.
    pub(crate) energy_m: f64,
    /// Derivative of the energy by the flow, s/m²; infinite at no flow.
    pub(crate) d_energy_d_flow: f64,
    /// Mean speed.
    pub(crate) speed_m_per_s: f64,
}

/// Critical flow in a round bore, for a flow of 0 or more.
///
/// At critical depth the energy is stationary in the depth, so its derivative by the flow is the
/// partial one, `Q/(g A²)`.
pub(crate) fn energy(bore_m: f64, flow_m3_per_s: f64) -> Critical {
    if flow_m3_per_s <= 0.0 {
        return Critical {
            depth_m: 0.0,
            energy_m: 0.0,
            d_energy_d_flow: f64::INFINITY,
            speed_m_per_s: 0.0,
        };
    }
    let section = Section::at_flow(flow_m3_per_s / flow_scale(bore_m));
    let area_m2 = section.area * bore_m * bore_m;
    let speed_m_per_s = flow_m3_per_s / area_m2;
    let depth_m = section.depth * bore_m;
    Critical {
        depth_m,
        energy_m: depth_m + speed_m_per_s * speed_m_per_s / (2.0 * G),
        d_energy_d_flow: speed_m_per_s / (G * area_m2),
        speed_m_per_s,
    }
}

/// The flow whose critical energy is `energy_m`, and its derivative by that energy in m²/s.
/// Both are 0 at an energy of 0 or less.
pub(crate) fn flow_at_energy(bore_m: f64, energy_m: f64) -> (f64, f64) {
    overflow_flow(bore_m, 0.0, energy_m)
}

/// Height of still water over the invert of a level outlet pipe that lets `flow` go: critical
/// energy + `k` velocity heads at critical speed for the entrance; and its derivative by the
/// flow in s/m² (infinite at no flow).
pub(crate) fn overflow_head(bore_m: f64, k: f64, flow_m3_per_s: f64) -> (f64, f64) {
    if flow_m3_per_s <= 0.0 {
        return (0.0, f64::INFINITY);
    }
    let section = Section::at_flow(flow_m3_per_s / flow_scale(bore_m));
    let area_m2 = section.area * bore_m * bore_m;
    let speed_m_per_s = flow_m3_per_s / area_m2;
    let velocity_head_m = speed_m_per_s * speed_m_per_s / (2.0 * G);
    let head_m = section.depth * bore_m + (1.0 + k) * velocity_head_m;
    let d_velocity_head = velocity_head_m / flow_m3_per_s * section.velocity_head_exponent();
    (head_m, speed_m_per_s / (G * area_m2) + k * d_velocity_head)
}

/// The flow that goes with a height of still water over the invert (the inverse of
/// [`overflow_head`]), and its derivative by that height in m²/s.
/// Both are 0 at a height of 0 or less.
pub(crate) fn overflow_flow(bore_m: f64, k: f64, head_m: f64) -> (f64, f64) {
    // Below 1e-100 bores the flow, which goes with the square, is nothing in any unit.
    if head_m <= 1e-100 * bore_m {
        return (0.0, 0.0);
    }
    let section = Section::at_head(head_m / bore_m, k);
    let area_m2 = section.area * bore_m * bore_m;
    let speed_m_per_s = libm::sqrt(G * bore_m * section.area / section.width);
    let flow_m3_per_s = speed_m_per_s * area_m2;
    let velocity_head_m = speed_m_per_s * speed_m_per_s / (2.0 * G);
    let d_head = speed_m_per_s / (G * area_m2)
        + k * velocity_head_m / flow_m3_per_s * section.velocity_head_exponent();
    (flow_m3_per_s, 1.0 / d_head)
}

/// Height of still water over that of a tank in which an outlet pipe ends: `k` velocity heads for
/// the entrance and the one that is lost at the end, at the full bore's speed.
pub(crate) fn drowned_overflow_head(bore_m: f64, k: f64, flow_m3_per_s: f64) -> f64 {
    let speed_m_per_s = flow_m3_per_s / (FRAC_PI_4 * bore_m * bore_m);
    (1.0 + k) * speed_m_per_s * speed_m_per_s / (2.0 * G)
}

/// The flow that goes with such a height (the inverse of [`drowned_overflow_head`]), 0 below it.
pub(crate) fn drowned_overflow_flow(bore_m: f64, k: f64, head_m: f64) -> f64 {
    FRAC_PI_4 * bore_m * bore_m * (2.0 * G * head_m.max(0.0) / (1.0 + k)).sqrt()
}

/// The flow that `√(a³/t) = 1` stands for.
fn flow_scale(bore_m: f64) -> f64 {
    bore_m * bore_m * libm::sqrt(G * bore_m)
}

/// A wetted section of a bore of 1.
#[derive(Clone, Copy)]
struct Section {
    depth: f64,
    area: f64,
    width: f64,
    /// Logarithmic derivatives of area and width by the angle φ.
    area_rate: f64,
    width_rate: f64,
}

impl Section {
    /// The section of wetted half angle `phi`, at most half full.
    fn low(phi: f64) -> Self {
        let half_sin = libm::sin(0.5 * phi);
        let half_cos = (1.0 - half_sin * half_sin).sqrt();
        let (sin, cos) = (2.0 * half_sin * half_cos, 1.0 - 2.0 * half_sin * half_sin);
        let area = 0.25 * arc_less_triangle(phi, sin * cos);
        Self {
            depth: half_sin * half_sin,
            area,
            width: sin,
            area_rate: 0.5 * sin * sin / area,
            width_rate: cos / sin,
        }
    }

    /// The section that leaves a half angle of `psi` dry, at least half full.
    fn high(psi: f64) -> Self {
        let half_sin = libm::sin(0.5 * psi);
        let half_cos = (1.0 - half_sin * half_sin).sqrt();
        let (sin, cos) = (2.0 * half_sin * half_cos, 1.0 - 2.0 * half_sin * half_sin);
        let area = 0.25 * (PI - arc_less_triangle(psi, sin * cos));
        Self {
            depth: half_cos * half_cos,
            area,
            width: sin,
            area_rate: 0.5 * sin * sin / area,
            width_rate: -cos / sin,
        }
    }

    /// The section at which the flow `√(a³/t)` is critical.
    fn at_flow(flow: f64) -> Self {
        /// `√(a³/t)` there: `(π/8)^1.5`.
        const HALF_FULL: f64 = 0.246_087_655_401_912_8;
        let flow = flow.max(f64::MIN_POSITIVE);
        // ln(a³/t) = 2 ln(flow), in the logarithm of the angle: nearly straight at either end.
        let residual = |s: &Self| 2.0 * ln(s.flow() / flow);
        if flow <= HALF_FULL {
            root(starts::low_by_flow(flow), 1.0, |phi| {
                let s = Self::low(phi);
                let r = residual(&s);
                (s, r, phi * s.flow_rate())
            })
        } else {
            root(starts::high_by_flow(flow), -1.0, |psi| {
                let s = Self::high(psi);
                let r = residual(&s);
                (s, r, -psi * s.flow_rate())
            })
        }
    }

    /// The flow that is critical: `√(a³/t)`.
    fn flow(&self) -> f64 {
        self.area * (self.area / self.width).sqrt()
    }

    /// Logarithmic derivative of `a³/t` by the angle φ.
    fn flow_rate(&self) -> f64 {
        3.0 * self.area_rate - self.width_rate
    }

    /// Depth + so many times `a/t`: half of one is the critical velocity head.
    fn head(&self, heads: f64) -> f64 {
        self.depth + heads * self.area / self.width
    }

    /// Logarithmic derivative of that by the angle φ.
    fn head_rate(&self, heads: f64) -> f64 {
        let velocity_part = heads * self.area / self.width;
        (0.5 * self.width + velocity_part * (self.area_rate - self.width_rate))
            / (self.depth + velocity_part)
    }

    /// The section at which depth + `(1 + k)` critical velocity heads make `head`.
    fn at_head(head: f64, k: f64) -> Self {
        let heads = 0.5 * (1.0 + k);
        let residual = |s: &Self| ln(s.head(heads) / head);
        let half_full = 0.5 + heads * PI / 8.0;
        if head <= half_full {
            // depth → φ²/4, a/t → φ²/6.
            let start = if k == 0.0 {
                starts::low_by_energy(head)
            } else {
                libm::sqrt(head / (0.25 + heads / 6.0))
            };
            root(start, 1.0, |phi| {
                let s = Self::low(phi);
                let r = residual(&s);
                (s, r, phi * s.head_rate(heads))
            })
        } else {
            // depth → 1, a/t → π/4ψ.
            let start = if k == 0.0 {
                starts::high_by_energy(head)
            } else {
                heads * PI / 4.0 / (head - 0.5)
            };
            root(start, -1.0, |psi| {
                let s = Self::high(psi);
                let r = residual(&s);
                (s, r, -psi * s.head_rate(heads))
            })
        }
    }

    /// The section with a wetted half angle greater by next to nothing.
    fn wider(self, by: f64) -> Self {
        Self {
            depth: self.depth + 0.5 * self.width * by,
            area: self.area * (1.0 + self.area_rate * by),
            width: self.width * (1.0 + self.width_rate * by),
            ..self
        }
    }

    /// The power of the flow with which the critical velocity head grows: from 1/2 in a trickle
    /// to 2 in a full pipe.
    fn velocity_head_exponent(&self) -> f64 {
        2.0 * (self.area_rate - self.width_rate) / self.flow_rate()
    }
}

/// `x − sin x cos x`, by its series where the difference would cost digits.
fn arc_less_triangle(x: f64, sin_cos: f64) -> f64 {
    if x > 0.3 {
        return x - sin_cos;
    }
    // (2x)³/12 · (1 − u/20 (1 − u/42 (1 − u/72 …))) with u = (2x)².
    let u = 4.0 * x * x;
    let mut sum = 1.0;
    for steps in [210.0, 156.0, 110.0, 72.0, 42.0, 20.0] {
        sum = 1.0 - u / steps * sum;
    }
    x * x * x * (2.0 / 3.0) * sum
}

/// The natural logarithm, as closely as a residual asks: near 1 by the first terms of its series,
/// whose error is of the fifth power of what it says.
fn ln(x: f64) -> f64 {
    let t = (x - 1.0) / (x + 1.0);
    if t.abs() < 0.05 { 2.0 * t * (1.0 + t * t / 3.0) } else { libm::log(x) }
}

/// Newton's method in the logarithm of an angle between 0 and a right angle, kept inside a
/// bracket that every evaluation narrows. `at` gives the section, the residual and the
/// residual's derivative by the logarithm of the angle; the residual is monotone. `way` is the sign
/// with which the wetted angle goes with it.
fn root(start: f64, way: f64, at: impl Fn(f64) -> (Section, f64, f64)) -> Section {
    let (mut low, mut high) = (0.0_f64, FRAC_PI_2);
    let mut angle = start.clamp(f64::MIN_POSITIVE, FRAC_PI_2);
    let (mut section, mut residual, mut slope) = at(angle);
    // A handful of steps is the rule; the bound only ends a search that rounding keeps alive.
    for _ in 0..100 {
        let step = (-residual / slope).clamp(-0.66, 0.66);
        if step.abs() <= 1e-8 {
            // What is left is of the order of the step's square.
            return section.wider(way * angle * step);
        }
        if step < 0.0 {
            high = angle;
        } else {
            low = angle;
        }
        // e^step by its (1,1) Padé form: at most a factor of two.
        let next = angle * (2.0 + step) / (2.0 - step);
        angle = if (low..=high).contains(&next) { next } else { 0.5 * (low + high) };
        (section, residual, slope) = at(angle);
    }
    section
}
