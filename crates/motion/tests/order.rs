//! The order of the method, measured: as steps shrink, the error of a level falls with their square.
#![allow(clippy::unwrap_used, clippy::disallowed_methods)]

mod support;

use std::f64::consts::FRAC_PI_4;
use support::*;
use wetrun_motion::{Pace, Passed, storm};
use wetrun_network::Parts;
use wetrun_units::{Length, Time};

const LENGTH: f64 = 40.0;
const SHAFT: f64 = 0.0762;
const BORE: f64 = 0.1016;
const FOOT: f64 = -3.0;
/// 3 L/s when the roof has answered, after some of its lag.
const RAIN: f64 = 3e-3;
const LAG_S: f64 = 20.0;

/// What the line loses: `f = 0.02` and its fittings.
fn k() -> f64 {
    0.02 * LENGTH / BORE + 0.5
}

/// A shaft on a line into water that stands at 0, in rain: it swings up, and comes to rest by losses.
fn shaft(tolerance: f64, until_s: f64) -> Passed {
    let network = network(Parts {
        downspouts: vec![downspout("D", FOOT, 4.0, 4.0, SHAFT)],
        lines: vec![line("L", d(0), t(0), BORE, &[(0.0, FOOT), (LENGTH, -1.0)], k())],
        tanks: vec![brim("T", -1.0, 0.0)],
        ..Parts::default()
    });
    let scene = scene(&network, vec![roof(100.0, 0, LAG_S)]);
    let until = Time::s(until_s);
    let pace = Pace { level: Length::m(tolerance), until: Some(until), moments: Some(until) };
    storm(&scene, &course(&[(0.0, 108.0), (600.0, 0.0)]), &pace).unwrap()
}

/// The level in the shaft by the classical Runge-Kutta method with steps of 1 ms:
/// `A_s dy/dt = q − Q`, `(L/(gA) + (y − foot)/(g A_s)) dQ/dt = y − ΣK Q|Q|/(2gA²)`, the water's end
/// in the tank costing a velocity head.
fn by_hand(until_s: f64) -> f64 {
    const G: f64 = 9.80665;
    let (shaft, bore) = (FRAC_PI_4 * SHAFT * SHAFT, FRAC_PI_4 * BORE * BORE);
    let rates = |at_s: f64, [y, flow]: [f64; 2]| {
        let runoff = RAIN * (1.0 - (-at_s / LAG_S).exp());
        let loss = (k() + 1.0) * flow * flow.abs() / (2.0 * G * bore * bore);
        let inertia = LENGTH / (G * bore) + (y - FOOT) / (G * shaft);
        [(runoff - flow) / shaft, (y - loss) / inertia]
    };
    let step = 1e-3;
    let mut now = [0.0; 2];
    for i in 0..(until_s / step).round() as u32 {
        let at_s = f64::from(i) * step;
        let after = |rate: [f64; 2], by: f64| [now[0] + by * rate[0], now[1] + by * rate[1]];
        let a = rates(at_s, now);
        let b = rates(at_s + 0.5 * step, after(a, 0.5 * step));
        let c = rates(at_s + 0.5 * step, after(b, 0.5 * step));
        let d = rates(at_s + step, after(c, step));
        now = [0, 1].map(|i| now[i] + step / 6.0 * (a[i] + 2.0 * b[i] + 2.0 * c[i] + d[i]));
    }
    now[0]
}

#[test]
fn the_error_falls_with_the_square_of_the_steps() {
    for until_s in [2.0, 12.0, 25.0] {
        let exact = by_hand(until_s);
        let runs = [1e-4, 1e-5, 1e-6, 1e-7, 1e-8].map(|tolerance| {
            let passed = shaft(tolerance, until_s);
            let level = passed.moments.last().unwrap().levels[0].to_m();
            // What is allowed in a step adds up over some of them.
            let error = (level - exact).abs();
            assert!(error < 30.0 * tolerance, "{until_s} s, {tolerance:e} m: {error:e}");
            (error, f64::from(passed.steps))
        });
        // From the second on, where the errors are those of small steps, to the last.
        let (coarse, fine) = (runs[1], runs[4]);
        let order = (coarse.0 / fine.0).ln() / (fine.1 / coarse.1).ln();
        assert!((1.8..2.3).contains(&order), "{until_s} s: order {order:.3}, {runs:?}");
    }
}
