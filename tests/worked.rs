//! Demo sites worked again by the plain formulas, by bisection and without a solver.

use crate::support::run;
use serde_json::Value;
use std::f64::consts::PI;

const G: f64 = 9.80665;
/// Kinematic viscosity of water at 10 °C and 101.325 kPa (IAPWS), in m²/s.
const NU_M2_PER_S: f64 = 1.30629e-6;
const PLASTIC_M: f64 = 1.5e-6;
/// Bore of 110 mm pipe of EN 1401 SN 4 and SN 8 (3.2 mm wall), and of 125 mm SN 4.
const BORE_110_M: f64 = 0.1036;
const BORE_125_M: f64 = 0.1186;

/// Where a function that changes sign once does so.
fn root(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let rising = f(low) < 0.0;
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if (f(middle) < 0.0) == rising { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

fn speed_m_per_s(flow: f64, bore_m: f64) -> f64 {
    flow / (PI * bore_m * bore_m / 4.0)
}

/// Friction slope by Darcy-Weisbach with Colebrook-White; turbulent flow only.
fn slope(flow: f64, bore_m: f64) -> f64 {
    let v = speed_m_per_s(flow, bore_m);
    let re = v * bore_m / NU_M2_PER_S;
    assert!(re >= 4000.0);
    let colebrook = |f: f64| {
        1.0 / f.sqrt() + 2.0 * (PLASTIC_M / (3.7 * bore_m) + 2.51 / (re * f.sqrt())).log10()
    };
    root(1e-3, 1.0, colebrook) / bore_m * v * v / (2.0 * G)
}

fn fittings_m(flow: f64, bore_m: f64, k: f64) -> f64 {
    k * speed_m_per_s(flow, bore_m).powi(2) / (2.0 * G)
}

/// Specific energy and speed of critical flow in a round bore: Q² T = g A³.
fn critical(flow: f64, bore_m: f64) -> (f64, f64) {
    let area = |t: f64| bore_m * bore_m / 8.0 * (t - t.sin());
    let angle = root(1e-6, 2.0 * PI - 1e-9, |t| {
        G * area(t).powi(3) - flow * flow * bore_m * (0.5 * t).sin()
    });
    let v = flow / area(angle);
    (0.5 * bore_m * (1.0 - (0.5 * angle).cos()) + v * v / (2.0 * G), v)
}

/// Standing level over a foot: friction acts over the wetted length only.
fn standing_m(foot_head_m: f64, foot_m: f64, flow: f64, bore_m: f64, k: f64) -> f64 {
    let s = slope(flow, bore_m);
    (foot_head_m + fittings_m(flow, bore_m, k) - s * foot_m) / (1.0 - s)
}

fn checked(name: &str) -> Value {
    let site = format!("fixtures/ok/{name}/site.yaml");
    serde_json::from_str(&run(&["check", &site, "--format", "json"]).stdout).unwrap()
}

#[track_caller]
fn close(value: &Value, expected: f64, within: f64) {
    let value = value.as_f64().unwrap();
    assert!((value - expected).abs() <= within, "{value} is not {expected}");
}

/// Two downspouts of 60 m² each at 95 % and 110 mm/h; the inlet is under water.
#[test]
fn an_inlet_under_water() {
    let result = checked("si-inlet-under-water");
    let flow = 60.0 * 0.95 * 110.0 / 3.6e6;
    let (energy_m, v) = critical(2.0 * flow, BORE_110_M);
    let water_m = 52.40 + energy_m + 0.5 * v * v / (2.0 * G);
    close(&result["tanks"]["T1"]["water_level_m"], water_m, 1e-7);
    let point_m = water_m
        + fittings_m(2.0 * flow, BORE_125_M, 1.0 + 0.75)
        + 9.0 * slope(2.0 * flow, BORE_125_M);
    close(&result["points"]["P1"]["head_m"], point_m, 1e-7);
    let foot_m = point_m + 11.0 * slope(flow, BORE_110_M) + fittings_m(flow, BORE_110_M, 0.25);
    close(&result["downspouts"]["D1"]["foot_head_m"], foot_m, 1e-7);
    let standing_m = standing_m(foot_m, 49.40, flow, BORE_110_M, 0.8);
    close(&result["downspouts"]["D1"]["standing_level_m"], standing_m, 1e-7);
}

/// The crest at 12 m along L2 stands at invert + Ec, and the tank does not matter.
#[test]
fn over_a_culvert() {
    let result = checked("si-over-a-culvert");
    let flow = 80.0 * 60.0 / 3.6e6;
    let crest_m = 101.80 + critical(flow, BORE_110_M).0;
    // K losses are spread over the 30 m of the line; 12 m of it run full.
    let point_m = crest_m
        + 12.0 * (slope(flow, BORE_110_M) + fittings_m(flow, BORE_110_M, 4.0 * 0.40) / 30.0);
    close(&result["points"]["P1"]["head_m"], point_m, 1e-7);
    let foot_m = point_m + 4.0 * slope(flow, BORE_110_M) + fittings_m(flow, BORE_110_M, 0.75);
    let standing_m = standing_m(foot_m, 99.60, flow, BORE_110_M, 0.0);
    close(&result["downspouts"]["D1"]["standing_level_m"], standing_m, 1e-7);
}

/// The barn's far gutter: what it takes is what brings its level to the lip.
#[test]
fn looks_fine_and_fails() {
    let result = checked("si-looks-fine-fails");
    let demand = 95.0 * 0.5 * 140.0 / 3.6e6;
    let level_m = |taken: f64| {
        let run = |flow: f64, length_m: f64, k: f64| {
            length_m * slope(flow, BORE_110_M) + fittings_m(flow, BORE_110_M, k)
        };
        let all = taken + 3.0 * demand;
        let foot_m = 12.40
            + critical(all, BORE_110_M).0
            + run(all, 6.0, 2.0 * 0.75)
            + run(all, 9.0, 2.0 * 0.40)
            + run(taken + 2.0 * demand, 14.0, 0.0)
            + run(taken + demand, 14.0, 0.0)
            + run(taken, 14.0, 0.75);
        standing_m(foot_m, 9.50, taken, BORE_110_M, 0.0)
    };
    assert!(level_m(demand) > 12.82, "taking everything it would stand above the lip");
    let taken = root(0.5 * demand, demand, |taken| level_m(taken) - 12.82);
    close(&result["downspouts"]["D1"]["admitted_m3_per_s"], taken, 1e-8);
    close(&result["downspouts"]["D1"]["standing_level_m"], 12.82, 1e-9);
}

/// Each overflow of the cascade carries all the water.
#[test]
fn tanks_in_cascade() {
    let result = checked("us-tanks-in-cascade");
    let flow = 1250.0 * 0.3048 * 0.3048 * 0.95 * 4.0 * 0.0254 / 3600.0;
    let (energy_m, v) = critical(flow, (6.275 - 2.0 * 0.180) * 0.0254);
    for (tank, overflow_ft) in [("T1", 108.0), ("T2", 107.0), ("T3", 106.0)] {
        let water_m = overflow_ft * 0.3048 + energy_m + 0.5 * v * v / (2.0 * G);
        close(&result["tanks"][tank]["water_level_m"], water_m, 1e-9);
        close(&result["tanks"][tank]["overflow_m3_per_s"], flow, 1e-13);
    }
}

/// The hall's outfall and riser: critical energy at the inlet, friction and bends below it.
#[test]
fn the_halls_riser() {
    let result = checked("us-hall-six-downspouts");
    let flow = 2880.0 * 0.3048 * 0.3048 * 0.95 * 5.2 * 0.0254 / 3600.0;
    let bore_m = (6.625 - 2.0 * 0.280) * 0.0254;
    let end_m = 108.20 * 0.3048 + critical(flow, bore_m).0;
    close(&result["lines"]["M7"]["to_head_m"], end_m, 1e-7);
    close(&result["lines"]["M7"]["friction_loss_m"], 20.0 * 0.3048 * slope(flow, bore_m), 1e-7);
    close(&result["lines"]["M7"]["fitting_loss_m"], fittings_m(flow, bore_m, 1.5), 1e-9);
}

/// The vent holds its point's head at its top; what the line below carries from there on is what
/// that head drives, and the rest of what comes comes out.
#[test]
fn a_vent_below_the_storm_grade_line() {
    let result = checked("si-vent-below-the-grade");
    let rain_m_per_s = 150.0 / 3.6e6;
    let (west, east) = (84.0 * rain_m_per_s, 96.0 * 0.95 * rain_m_per_s);
    let losses_m = |flow: f64, length_m: f64, k: f64| {
        length_m * slope(flow, BORE_110_M) + fittings_m(flow, BORE_110_M, k)
    };
    // P2 over P3 over the free outfall: two bends of 45 degrees, then two of 90.
    let point_m = |flow: f64| {
        let all = flow + 0.5 * east;
        let outfall_m = 22.000 + critical(all, BORE_110_M).0;
        outfall_m + losses_m(all, 9.0, 2.0 * 0.75) + losses_m(flow, 15.0, 2.0 * 0.40)
    };
    let passed = root(0.001, west + 0.5 * east, |flow| point_m(flow) - 22.250);
    let vent = &result["openings"]["P2"];
    close(&vent["escapes_m3_per_s"], west + 0.5 * east - passed, 1e-9);
    close(&vent["headroom_m"], 0.0, 1e-7);
    close(&result["points"]["P2"]["head_m"], 22.250, 1e-7);
    close(&result["lines"]["L4"]["flow_m3_per_s"], passed, 1e-9);
    // Where nothing comes out the head is that of all the water: the rain at which it reaches the top.
    let begins = root(0.2 * rain_m_per_s, rain_m_per_s, |rain| {
        let scale = rain / rain_m_per_s;
        let all = (west + east) * scale;
        let upper = (west + 0.5 * east) * scale;
        let outfall_m = 22.000 + critical(all, BORE_110_M).0;
        outfall_m + losses_m(all, 9.0, 1.5) + losses_m(upper, 15.0, 0.8) - 22.250
    });
    close(&vent["escapes_at_m_per_s"], begins, 1e-3 * begins);
    assert_eq!(result["verdict"], "fail");
    assert!(result["openings"]["P3"]["escapes_m3_per_s"] == 0.0);
}

/// The second cistern stands at its rim: its overflow passes what fits there, the rest runs over
/// the wall, and the first one's overflow ends in that water.
#[test]
fn cisterns_that_meet() {
    let result = checked("us-tanks-that-meet");
    let (foot, inch) = (0.3048, 0.0254);
    let rain_m_per_s = 6.0 * inch / 3600.0;
    let flow = 2400.0 * foot * foot * 0.95 * rain_m_per_s;
    // ASTM D1785 schedule 40: 3.500 - 2 x 0.216 and 6.625 - 2 x 0.280 inches.
    let (small_m, large_m) = (3.068 * inch, 6.065 * inch);
    let rise_m = |flow: f64, bore_m: f64| {
        let (energy_m, v) = critical(flow, bore_m);
        energy_m + 0.5 * v * v / (2.0 * G)
    };
    let passed = root(1e-5, flow, |flow| rise_m(flow, small_m) - 0.5 * foot);
    let second = &result["tanks"]["T2"];
    close(&second["water_level_m"], 107.9 * foot, 1e-7);
    close(&second["overflow_m3_per_s"], passed, 1e-9);
    close(&second["over_rim_m3_per_s"], flow - passed, 1e-9);
    let drowned_m = 107.9 * foot + fittings_m(flow, large_m, 1.5);
    let free_m = 107.5 * foot + rise_m(flow, large_m);
    let first = &result["tanks"]["T1"];
    close(&first["water_level_m"], drowned_m.max(free_m), 1e-7);
    close(&first["overflow_m3_per_s"], flow, 1e-9);
    assert_eq!(first["over_rim_m3_per_s"], 0.0);
    assert_eq!(result["verdict"], "fail");
}
