//! The order of the method, measured: as steps shrink, the error of a level falls with their square.
#![allow(clippy::unwrap_used, clippy::disallowed_methods)]

mod support;

use support::*;
use wetrun_motion::{Pace, Passed, storm};
use wetrun_network::Parts;
use wetrun_units::{Length, Time};

/// A shaft of 76.2 mm on 40 m of 101.6 mm into standing water, 3 L/s of rain on it (`f = 0.02`,
/// `ΣK = 1.5`, with the line's inertia): it swings up, and comes to rest by its losses.
fn shaft(tolerance: f64, until_s: f64) -> Passed {
    let k = 0.02 * 40.0 / 0.1016 + 0.5;
    let network = network(Parts {
        downspouts: vec![downspout("D", -3.0, 4.0, 4.0, 0.0762)],
        lines: vec![line("L", d(0), t(0), 0.1016, &[(0.0, -3.0), (40.0, -1.0)], k)],
        tanks: vec![brim("T", -1.0, 0.0)],
        ..Parts::default()
    });
    let scene = scene(&network, vec![roof(100.0, 0, 20.0)]);
    let pace = Pace {
        level: Length::m(tolerance),
        until: Some(Time::s(until_s)),
        moments: Some(Time::s(until_s)),
    };
    storm(&scene, &course(&[(0.0, 108.0), (600.0, 0.0)]), &pace).unwrap()
}

#[test]
fn the_error_falls_with_the_square_of_the_steps() {
    for until_s in [12.0, 25.0] {
        let level = |passed: &Passed| passed.moments.last().unwrap().levels[0].to_m();
        let exact = level(&shaft(1e-10, until_s));
        let mut last: Option<(f64, f64)> = None;
        for tolerance in [1e-4, 1e-5, 1e-6, 1e-7] {
            let passed = shaft(tolerance, until_s);
            let (error, steps) = ((level(&passed) - exact).abs(), f64::from(passed.steps));
            println!("{until_s} {tolerance} {steps} {error}");
            if let Some((before, fewer)) = last {
                let order = (before / error).ln() / (steps / fewer).ln();
                println!("{order}");
                assert!(order > 1.8, "{until_s}: {order}");
            }
            last = Some((error, steps));
        }
    }
}
