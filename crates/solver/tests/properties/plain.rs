//! The laws once more in the plain form of their sources, by bisection and nothing clever.
#![allow(dead_code)]

use std::f64::consts::{FRAC_PI_4, PI};

/// Standard gravity, m/s².
pub(crate) const G: f64 = 9.80665;

/// Area of a bore.
pub(crate) fn area(bore_m: f64) -> f64 {
    FRAC_PI_4 * bore_m * bore_m
}

/// Velocity head of a flow that fills a bore.
pub(crate) fn velocity_head(flow: f64, bore_m: f64) -> f64 {
    (flow / area(bore_m)).powi(2) / (2.0 * G)
}

/// Where a rising function passes 0, between two bounds.
pub(crate) fn bisect(mut low: f64, mut high: f64, rising: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if rising(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// A wall: what the friction laws ask of it.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Wall {
    /// Hazen-Williams with this coefficient.
    Hazen { c: f64 },
    /// Darcy-Weisbach with this roughness and the water's viscosity.
    Darcy { roughness_m: f64, viscosity: f64 },
}

/// Head lost per metre at a flow of 0 or more.
pub(crate) fn slope(wall: Wall, flow: f64, bore_m: f64) -> f64 {
    if flow == 0.0 {
        return 0.0;
    }
    match wall {
        // V = 0.849 C R^0.63 S^0.54.
        Wall::Hazen { c } => {
            let at_slope_1 = 0.849 * c * (bore_m / 4.0).powf(0.63);
            (flow / area(bore_m) / at_slope_1).powf(1.0 / 0.54)
        }
        Wall::Darcy { roughness_m, viscosity } => {
            let speed = flow / area(bore_m);
            let reynolds = speed * bore_m / viscosity;
            if reynolds <= 2000.0 {
                // Hagen-Poiseuille.
                return 32.0 * viscosity * speed / (G * bore_m * bore_m);
            }
            factor(reynolds, roughness_m / bore_m) / bore_m * velocity_head(flow, bore_m)
        }
    }
}

/// The Darcy friction factor: laminar, Colebrook-White, and between them the cubic of `f Re²`
/// that meets both in value and slope.
pub(crate) fn factor(reynolds: f64, relative: f64) -> f64 {
    if reynolds <= 2000.0 {
        return 64.0 / reynolds;
    }
    if reynolds >= 4000.0 {
        return colebrook(reynolds, relative);
    }
    let turbulent = |re: f64| colebrook(re, relative) * re * re;
    let end_slope = (turbulent(4002.0) - turbulent(3998.0)) / 4.0;
    let t = (reynolds - 2000.0) / 2000.0;
    let hermite = (1.0 + 2.0 * t) * (1.0 - t) * (1.0 - t) * 128_000.0
        + t * (1.0 - t) * (1.0 - t) * 64.0 * 2000.0
        + t * t * (3.0 - 2.0 * t) * turbulent(4000.0)
        + t * t * (t - 1.0) * end_slope * 2000.0;
    hermite / reynolds / reynolds
}

fn colebrook(reynolds: f64, relative: f64) -> f64 {
    // In x = 1/√f: x + 2 log10(ε/3.7D + 2.51 x/Re) rises with x.
    let x = bisect(0.5, 40.0, |x| x + 2.0 * (relative / 3.7 + 2.51 * x / reynolds).log10());
    1.0 / (x * x)
}

/// Critical flow in a round bore: specific energy and mean speed, from Q² T = g A³.
pub(crate) fn critical(flow: f64, bore_m: f64) -> (f64, f64) {
    if flow <= 0.0 {
        return (0.0, 0.0);
    }
    // The wetted angle; near full the rest of it, which the flow tells far better.
    let half_full = critical_flow(PI, bore_m);
    let angle = if flow <= half_full {
        bisect(0.0, PI, |angle| critical_flow(angle, bore_m) - flow)
    } else {
        let rest = bisect(0.0, PI, |rest| flow - critical_flow(2.0 * PI - rest, bore_m));
        2.0 * PI - rest
    };
    let (area, depth) = section(angle, bore_m);
    let speed = flow / area;
    (depth + speed * speed / (2.0 * G), speed)
}

fn section(angle: f64, bore_m: f64) -> (f64, f64) {
    // The difference loses its digits below a twentieth of a turn: θ − sin θ = θ³/6 − θ⁵/120 + …
    let difference = if angle < 0.3 {
        let square = angle * angle;
        angle * square / 6.0 * (1.0 - square / 20.0 * (1.0 - square / 42.0 * (1.0 - square / 72.0)))
    } else {
        angle - angle.sin()
    };
    (bore_m * bore_m / 8.0 * difference, bore_m * (angle / 4.0).sin().powi(2))
}

fn critical_flow(angle: f64, bore_m: f64) -> f64 {
    let (area, _) = section(angle, bore_m);
    let top = bore_m * (angle / 2.0).sin().abs();
    (G * area * area * area / top.max(1e-300)).sqrt()
}
