//! A roof's runoff against closed forms of one linear store, `lag · dq/dt = rain − q`, through the
//! front door: site file in, table of courses out. A tank under water takes all that comes.

use crate::passing::Passed;
use std::fmt::Write;

/// One roof that answers after a lag to a course of rain; what reaches the tank, over what a steady
/// rain of 100 mm/h would bring, at a time.
fn answers(lag_s: f64, rains: &[(f64, f64)], until_s: f64) -> impl Fn(f64) -> f64 {
    let mut course = String::new();
    for (at_s, rain) in rains {
        let _ = write!(course, "{{ at: {at_s} s, rain: {rain:.9} mm/h }}, ");
    }
    // A shaft as narrow as a finger stores next to nothing.
    let site = format!(
        "wetrun: 1\nunits: si\nname: Roof\n\
         storm: {{ intensity: 100 mm/h, basis: none, course: [{course}] }}\n\
         roofs: {{ R: {{ area: 36 m2, runoff: 1, to: D1, lag: {lag_s} s }} }}\n\
         downspouts: {{ D1: {{ outlet: 3, foot: 1, pipe: {{ inside: 40 mm, roughness: 0.0015 mm }} }} }}\n\
         lines: {{ L1: {{ from: D1, to: T1, length: 0.1 m, pipe: {{ inside: 100 mm, roughness: 0.0015 mm }} }} }}\n\
         tanks: {{ T1: {{ inlet: 1.5, overflow: {{ level: 2 }} }} }}\n"
    );
    let passed = Passed::of(&site, &["--until", &format!("{until_s} s")]);
    move |at_s| passed.at("L1 flow_m3_per_s", at_s) / 1e-3
}

/// After a step `1 − e^(−t/k)`: 0.632121, 0.864665 and 0.950213 at one, two and three lags. A pulse of
/// five lags reaches 0.993262, and is at 0.365401 a lag after it.
#[test]
fn a_step_and_a_pulse() {
    // Steps end where the course has a line, and the flow is looked at there.
    let rains = [(0.0, 100.0), (60.0, 100.0), (120.0, 100.0), (180.0, 100.0), (900.0, 0.0)];
    let step = answers(60.0, &rains, 300.0);
    for (lags, expected) in [(1.0, 0.632121), (2.0, 0.864665), (3.0, 0.950213)] {
        let found = step(60.0 * lags);
        assert!((found - expected).abs() < 1e-3, "{lags}: {found}");
    }
    let pulse = answers(60.0, &[(0.0, 100.0), (300.0, 0.0), (360.0, 0.0)], 600.0);
    for (at_s, expected) in [(300.0, 0.993262), (360.0, 0.365401)] {
        let found = pulse(at_s);
        assert!((found - expected).abs() < 1e-3, "{at_s}: {found}");
    }
}

/// The linear reservoir of V. M. Ponce, *Engineering Hydrology* (K 2 h, hourly inflows; the rain here is
/// a staircase of 100 steps an hour along his straight lines, less the 100 of the start). His
/// trapezoids make the peak 757.641; straight-line inflow has the closed form
/// `O₁ = I₁ − K m + (O₀ − I₀ + K m) e^(−Δt/K)`, `m` its slope: 752.589.
#[test]
fn a_published_reservoir() {
    let inflow = [
        100.0, 150.0, 250.0, 400.0, 800.0, 1000.0, 900.0, 700.0, 550.0, 400.0, 300.0, 250.0, 200.0,
        150.0, 120.0, 100.0,
    ];
    let mut rains = Vec::new();
    for (hour, pair) in inflow.windows(2).enumerate() {
        for part in 0..100 {
            let on = f64::from(part);
            let rain = pair[0] + (pair[1] - pair[0]) * (on + 0.5) / 100.0 - 100.0;
            rains.push((3600.0 * hour as f64 + 36.0 * on, 0.1 * rain));
        }
    }
    rains.push((3600.0 * 15.0, 0.0));
    let outflow = answers(7200.0, &rains, 54_000.0);
    let mut expected = 100.0;
    for (hour, pair) in inflow.windows(2).enumerate() {
        let slope = 2.0 * (pair[1] - pair[0]);
        expected = pair[1] - slope + (expected - pair[0] + slope) * (-0.5_f64).exp();
        let found = 100.0 + 1000.0 * outflow(3600.0 * (hour as f64 + 1.0));
        assert!((found - expected).abs() < 0.5, "{hour}: {found} {expected}");
        if hour == 6 {
            assert!((found - 752.589).abs() < 0.5, "{found}");
        }
    }
}

/// Rain that rises evenly: `O = s (t − k + k e^(−t/k))`, as any text on linear stores has it; in steps of
/// a second here, which makes the ramp half a second late.
#[test]
fn a_rain_that_rises_evenly() {
    let mut rains: Vec<(f64, f64)> =
        (0..240).map(|t| (f64::from(t), 0.5 * (f64::from(t) + 0.5))).collect();
    rains.push((240.0, 0.0));
    let outflow = answers(60.0, &rains, 300.0);
    for t in [30.0_f64, 60.0, 120.0, 240.0] {
        let expected = 0.005 * (t - 60.0 + 60.0 * (-t / 60.0).exp());
        let found = outflow(t);
        assert!((found - expected).abs() < 2e-3 * expected + 2e-4, "{t}: {found} {expected}");
    }
}
