//! Every law by a second route: the plain form of its source, brute force, or the motion stepped
//! through in time. Each test states the largest difference over the valid range.

use std::f64::consts::{FRAC_PI_4, PI};

use wetrun_network::JunctionKind::{Tee, Wye};
use wetrun_solver::laws::drain::Drain;
use wetrun_solver::laws::{Viscosity, drain, gutter, head_loss, junction, outfall, surge, water};
use wetrun_units::{Area, Flow, Fraction, Length, Temperature};

const G: f64 = 9.80665;

/// `count` points from `from` to `to`, evenly spaced in the logarithm.
fn spread(from: f64, to: f64, count: u16) -> impl Iterator<Item = f64> {
    let ratio = (to / from).ln();
    (0..count).map(move |i| from * (ratio * f64::from(i) / f64::from(count - 1)).exp())
}

fn bisect(mut low: f64, mut high: f64, below: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if below(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Colebrook-White bisected for 1/√f as its source writes it, Re 4000 to 1e13, ε/D 0 and 1e-8 to
/// 0.05.
#[test]
fn colebrook_by_bisection() {
    let mut worst = 0.0_f64;
    for reynolds in spread(4000.0, 1e13, 120) {
        for relative in spread(1e-8, 0.05, 40).chain([0.0]) {
            let root =
                bisect(0.1, 100.0, |x| x < -2.0 * (relative / 3.7 + 2.51 * x / reynolds).log10());
            let found = head_loss::friction_factor(reynolds, relative);
            worst = worst.max((found * root * root - 1.0).abs());
        }
    }
    assert!(worst < 1e-14, "{worst:e}");
}

/// Hazen-Williams read forwards: the speed that the found slope drives is the speed put in.
#[test]
fn hazen_williams_forwards() {
    let mut worst = 0.0_f64;
    for bore_m in [0.05_f64, 0.1, 0.3] {
        for speed in spread(1e-3, 10.0, 100) {
            let flow = Flow::m3_per_s(speed * FRAC_PI_4 * bore_m * bore_m);
            let one = Length::m(1.0);
            let slope = head_loss::hazen_williams(flow, 140.0, Length::m(bore_m), one).to_m();
            let driven = 0.849 * 140.0 * (bore_m / 4.0).powf(0.63) * slope.powf(0.54);
            worst = worst.max((driven / speed - 1.0).abs());
        }
    }
    assert!(worst < 1e-14, "{worst:e}");
}

/// The bridge between laminar and turbulent: the loss rises at every step, for every wall, and
/// keeps within the two laws' values at its ends.
#[test]
fn bridge_by_small_steps() {
    for relative in spread(1e-8, 1.0, 60).chain([0.0]) {
        let loss =
            |reynolds: f64| head_loss::friction_factor(reynolds, relative) * reynolds * reynolds;
        let mut last = 64.0 * 2000.0;
        for i in 1..=2000 {
            let next = loss(2000.0 + f64::from(i));
            assert!(next > last, "ε/D {relative:e}, Re {}", 2000 + i);
            last = next;
        }
        assert!((last / loss(4000.0) - 1.0).abs() < 1e-15);
    }
}

/// Specific energy `y + Q²/(2 g A²)` searched for its least value over all depths, by golden
/// section; from a trickle (0.01 of the bore) to a pipe all but full. And the depth where it lies,
/// by bisection on Q² T = g A³.
#[test]
fn critical_energy_by_brute_force() {
    let (mut worst_energy, mut worst_depth) = (0.0_f64, 0.0_f64);
    for bore_m in [0.05_f64, 0.1, 0.3] {
        for scaled in spread(1e-4, 2.0, 80) {
            let flow = scaled * (G * bore_m.powi(5)).sqrt();
            let area = |depth_m: f64| {
                let theta = 2.0 * (1.0 - 2.0 * depth_m / bore_m).acos();
                bore_m * bore_m * (theta - theta.sin()) / 8.0
            };
            let energy = |depth_m: f64| depth_m + flow * flow / (2.0 * G * area(depth_m).powi(2));
            let golden = 0.5 * (5_f64.sqrt() - 1.0);
            let (mut low, mut high) = (1e-4 * bore_m, bore_m);
            for _ in 0..100 {
                let (left, right) = (high - golden * (high - low), low + golden * (high - low));
                if energy(left) < energy(right) {
                    high = right;
                } else {
                    low = left;
                }
            }
            let (q, bore) = (Flow::m3_per_s(flow), Length::m(bore_m));
            let found = outfall::critical_energy(q, bore).to_m();
            worst_energy = worst_energy.max((found / energy(0.5 * (low + high)) - 1.0).abs());
            let depth_m = bisect(0.0, bore_m, |depth_m| {
                let width_m = 2.0 * (depth_m * (bore_m - depth_m)).sqrt();
                G * area(depth_m).powi(3) < flow * flow * width_m
            });
            let found = outfall::critical_depth(q, bore).to_m();
            worst_depth = worst_depth.max((found / depth_m - 1.0).abs());
        }
    }
    assert!(worst_energy < 1e-12, "{worst_energy:e}");
    assert!(worst_depth < 1e-12, "{worst_depth:e}");
}

/// The overflow bisected for the flow whose head, by its plain form, is the head put in.
#[test]
fn overflow_by_bisection() {
    let mut worst = 0.0_f64;
    for bore_m in [0.05_f64, 0.1, 0.3] {
        for k in [0.0, 0.5, 1.0] {
            for head_m in spread(0.02 * bore_m, 10.0 * bore_m, 60) {
                let bore = Length::m(bore_m);
                let needed = |flow: f64| {
                    let flow = Flow::m3_per_s(flow);
                    let speed = outfall::critical_speed(flow, bore).to_m_per_s();
                    outfall::critical_energy(flow, bore).to_m() + k * speed * speed / (2.0 * G)
                };
                let flow = bisect(0.0, 10.0, |flow| needed(flow) < head_m);
                let found = outfall::overflow_flow(Length::m(head_m), bore, k).to_m3_per_s();
                worst = worst.max((found / flow - 1.0).abs());
            }
        }
    }
    assert!(worst < 1e-12, "{worst:e}");
}

/// Density by Kell's equation (G. S. Kell, *Journal of Chemical and Engineering Data* 20, 1975;
/// from memory), an older fit to other measurements on another temperature scale.
#[test]
fn density_by_kell() {
    let mut worst = 0.0_f64;
    for i in 0..=400 {
        let t = f64::from(i) / 10.0;
        let powers =
            [999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12];
        let sum = powers.iter().rev().fold(0.0, |sum, factor| sum * t + factor);
        let kell = sum / (1.0 + 16.879850e-3 * t);
        let found = water::density(Temperature::celsius(t)).to_kg_per_m3();
        worst = worst.max((found - kell).abs());
    }
    assert!(worst < 0.01, "{worst}");
}

/// Viscosity by the separate short equation for water at 0.1 MPa of IAPWS SR6-08 (equation 7),
/// which is a fit to the same data.
#[test]
fn viscosity_by_the_short_equation() {
    let mut worst = 0.0_f64;
    for i in 0..=400 {
        let celsius = f64::from(i) / 10.0;
        let t = (celsius + 273.15) / 300.0;
        let dynamic = 280.68 * t.powf(-1.9)
            + 511.45 * t.powf(-7.7)
            + 61.131 * t.powf(-19.6)
            + 0.45903 * t.powf(-40.0);
        let temperature = Temperature::celsius(celsius);
        let found = water::viscosity(temperature).to_m2_per_s()
            * water::density(temperature).to_kg_per_m3();
        worst = worst.max((found / (dynamic * 1e-6) - 1.0).abs());
    }
    assert!(worst < 1e-3, "{worst:e}");
}

/// A level gutter of any trapezoidal section that gathers water evenly, without friction: the
/// momentum at its still head is that at its critical end. Returns the flow for 1 m of depth at
/// the head.
fn gathered(sole_m: f64, top_m: f64) -> f64 {
    let spread = top_m - sole_m;
    let width = |y: f64| sole_m + spread * y;
    let area = |y: f64| y * (sole_m + spread * y / 2.0);
    // Area times the depth of its centre.
    let moment = |y: f64| sole_m * y * y / 2.0 + spread * y * y * y / 6.0;
    let depth_m = bisect(0.0, 1.0, |y| moment(y) + area(y).powi(2) / width(y) < moment(1.0));
    (G * area(depth_m).powi(3) / width(depth_m)).sqrt()
}

/// The factors worked for gutters, against the momentum balance solved section by section: the
/// depth factor exactly, the shape factor within 0.4 %.
#[test]
fn gutter_factors_by_momentum() {
    let per_area = |sole: f64, top: f64| gathered(sole, top) / (0.5 * (sole + top)).powf(1.25);
    let square = per_area(1.0, 1.0);
    for width in spread(0.2, 10.0, 20) {
        let found = gutter::depth_factor(Length::m(1.0), Length::m(width));
        assert!((found / (per_area(width, width) / square) - 1.0).abs() < 1e-13);
        for i in 0..=20 {
            let sole = width * f64::from(i) / 20.0;
            let plain = per_area(sole, width) / square / found;
            let shape = gutter::shape_factor(Length::m(sole), Length::m(width));
            assert!((shape / plain - 1.0).abs() < 4e-3, "{i}: {shape} {plain}");
        }
    }
}

/// Draining stepped through in time: `A_s dh = −Q(h) dt`, fourth-order Runge-Kutta, through
/// turbulent, bridge and laminar flow.
#[test]
fn drain_by_stepping() {
    let viscosity = Viscosity::m2_per_s(1.306e-6);
    let pipe = Drain {
        bore: Length::m(0.04),
        length: Length::m(40.0),
        roughness: Length::m(1.5e-6),
        k: 2.0,
    };
    let surface = 0.02;
    let (from_m, to_m) = (2.0, 0.005);
    let time =
        drain::time(&pipe, viscosity, Area::m2(surface), Length::m(from_m), Length::m(to_m)).to_s();
    let fall =
        |height_m: f64| -drain::flow(&pipe, viscosity, Length::m(height_m)).to_m3_per_s() / surface;
    let steps = 20_000;
    let dt = time / f64::from(steps);
    let mut height_m = from_m;
    for _ in 0..steps {
        let k1 = fall(height_m);
        let k2 = fall(height_m + 0.5 * dt * k1);
        let k3 = fall(height_m + 0.5 * dt * k2);
        let k4 = fall(height_m + dt * k3);
        height_m += dt / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4);
    }
    assert!((height_m / to_m - 1.0).abs() < 1e-6, "{height_m}");
}

/// A swing and a start stepped through in time.
#[test]
fn surge_by_stepping() {
    let (column_m, k, start_m) = (20.0, 5.0, 0.5);
    // z″ = −2 g z/L − K z′|z′|/2L until the speed changes sign.
    let acceleration =
        |z: f64, v: f64| -2.0 * G * z / column_m - k * v * v.abs() / (2.0 * column_m);
    let dt = 1e-4;
    let (mut z, mut v) = (start_m, 0.0);
    let mut last = (z, v);
    while v <= 0.0 {
        last = (z, v);
        (z, v) = runge_kutta(z, v, dt, acceleration);
    }
    // The turning point lies where the speed passes 0, half an acceleration away.
    let turn = last.0 - 0.5 * last.1 * last.1 / acceleration(last.0, last.1);
    let found = surge::next_extreme(Length::m(start_m), k, Length::m(column_m)).to_m();
    assert!((found + turn).abs() < 1e-9, "{found} {turn}");

    let (column_m, head_m, k) = (30.0, 0.5, 12.0);
    let part =
        surge::start_up_time(Fraction::ratio(0.9), Length::m(head_m), k, Length::m(column_m));
    let steps = 10_000;
    let dt = part.to_s() / f64::from(steps);
    let mut state = (0.0, 0.0);
    for _ in 0..steps {
        state = runge_kutta(state.0, state.1, dt, |_, v| (G * head_m - 0.5 * k * v * v) / column_m);
    }
    let wanted = 0.9 * surge::final_speed(Length::m(head_m), k).to_m_per_s();
    assert!((state.1 / wanted - 1.0).abs() < 1e-11, "{} {wanted}", state.1);
}

/// One step of z″ = a(z, z′).
fn runge_kutta(z: f64, v: f64, dt: f64, a: impl Fn(f64, f64) -> f64) -> (f64, f64) {
    let (z1, v1) = (v, a(z, v));
    let (z2, v2) = (v + 0.5 * dt * v1, a(z + 0.5 * dt * z1, v + 0.5 * dt * v1));
    let (z3, v3) = (v + 0.5 * dt * v2, a(z + 0.5 * dt * z2, v + 0.5 * dt * v2));
    let (z4, v4) = (v + dt * v3, a(z + dt * z3, v + dt * v3));
    (z + dt / 6.0 * (z1 + 2.0 * z2 + 2.0 * z3 + z4), v + dt / 6.0 * (v1 + 2.0 * v2 + 2.0 * v3 + v4))
}

/// A U-tube's period by its motion without loss: a quarter swing from 1 m to 0.
#[test]
fn period_by_stepping() {
    let column_m = 20.0;
    let period = surge::u_tube_period(Length::m(column_m)).to_s();
    let steps = 10_000;
    let dt = period / 4.0 / f64::from(steps);
    let mut state = (1.0, 0.0);
    for _ in 0..steps {
        state = runge_kutta(state.0, state.1, dt, |z, _| -2.0 * G * z / column_m);
    }
    assert!(state.0.abs() < 1e-12, "{}", state.0);
    assert!((state.1 + 2.0 * PI / period).abs() < 1e-12);
}

/// Combining streams by momentum along the run: pressure and momentum of the run's stream, and the
/// branch's momentum in that direction, balance those of the combined stream. Small branches
/// (β² ≤ 0.35) take this with no factor; so does the run of a wye. All that is left is the
/// source's 1.41 for 2 cos 45°.
#[test]
fn combining_by_momentum() {
    for (kind, angle, rounding) in
        [(Tee, 90_f64.to_radians(), 1e-12), (Wye, 45_f64.to_radians(), 2.0 * 0.5_f64.sqrt() - 1.41)]
    {
        for beta in [0.3, 0.45, 0.59] {
            for i in 0..=100 {
                let q = f64::from(i) / 100.0;
                let (area, density, speed) = (0.01, 1000.0, 1.0);
                let branch_area = beta * beta * area;
                let (run_speed, branch_speed) = ((1.0 - q) * speed, q * speed * area / branch_area);
                let gained = density
                    * (area * speed * speed
                        - area * run_speed * run_speed
                        - branch_area * branch_speed * branch_speed * angle.cos());
                let pressure = gained / area;
                let dynamic = 0.5 * density * speed * speed;
                let lost = |from_speed: f64| {
                    (pressure + 0.5 * density * from_speed * from_speed - dynamic) / dynamic
                };
                let (branch, combined) = (Length::m(beta), Length::m(1.0));
                let share = Fraction::ratio(q);
                let tolerance = rounding * q * q / (beta * beta) + 1e-12;
                let found = junction::branch_coefficient(kind, branch, combined, share);
                assert!((found - lost(branch_speed)).abs() <= tolerance, "{kind:?} {beta} {q}");
                if kind == Wye {
                    let found = junction::run_coefficient(kind, branch, combined, share);
                    assert!((found - lost(run_speed)).abs() <= tolerance, "run {beta} {q}");
                }
            }
        }
    }
}
