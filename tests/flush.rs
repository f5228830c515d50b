//! `wetrun flush` as it is run: volumes that close, closed forms of a column that empties, refusals.

use crate::support::{cases, run};
use serde_json::Value;
use std::f64::consts::FRAC_PI_4;

const G: f64 = 9.80665;

fn json(site: &str, more: &[&str]) -> Value {
    let ran = run(&[&["flush", site, "--format", "json"], more].concat());
    assert_eq!(ran.status, 0, "{site}: {}", ran.stderr);
    serde_json::from_str(&ran.stdout).unwrap()
}

/// A wide column over a short line, a thin riser to the tank, and a drain under the point between.
fn shaft(drain_mm: f64, outlet: f64) -> String {
    format!(
        "wetrun: 1\nunits: si\nname: Shaft\nstorm: {{ intensity: 60 mm/h, basis: none }}\n\
         roofs: {{ R: {{ area: 20 m2, to: D1 }} }}\n\
         downspouts: {{ D1: {{ outlet: 4, foot: 1.2, pipe: {{ inside: 400 mm, roughness: 0.0015 mm }} }} }}\n\
         points: {{ P1: {{ level: 0.9, drain: {drain_mm} mm, drain_outlet: {{ level: {outlet} }} }} }}\n\
         lines:\n\
         \x20 L1: {{ from: D1, to: P1, length: 0.5 m, pipe: {{ inside: 400 mm, roughness: 0.0015 mm }} }}\n\
         \x20 L2: {{ from: P1, to: T1, length: 2.2 m, pipe: {{ inside: 40 mm, roughness: 0.0015 mm }} }}\n\
         tanks: {{ T1: {{ inlet: 3, floor: 0, volume: 5 m3, overflow: {{ level: 2.8 }} }} }}\n"
    )
}

fn written(text: &str) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("site.yaml");
    std::fs::write(&file, text).unwrap();
    let path = file.to_str().unwrap().to_owned();
    (folder, path)
}

fn area(bore_m: f64) -> f64 {
    FRAC_PI_4 * bore_m * bore_m
}

/// What runs out and what stays is what stood there: the column up to the inlet, and both lines.
#[test]
fn what_stood_there_runs_out_or_stays() {
    let (_folder, site) = written(&shaft(50.0, 0.5));
    let stood = area(0.4) * 1.8 + area(0.4) * 0.5 + area(0.04) * 2.2;
    let flush = json(&site, &[]);
    assert_eq!(flush["runs"].as_array().unwrap().len(), 1);
    let run = &flush["runs"][0];
    let m3 = |key: &str| run[key].as_f64().unwrap();
    assert!((m3("drained_m3") + m3("left_m3") - stood).abs() < 1e-6 * stood, "{run}");
    let left: f64 = run["left_in"].as_object().unwrap().values().map(|v| v.as_f64().unwrap()).sum();
    assert!((left - m3("left_m3")).abs() < 1e-9);
    let passed = run["drains"]["P1"]["passed_m3"].as_f64().unwrap();
    assert!((passed - m3("drained_m3")).abs() < 1e-5 * stood, "{passed} {run}");
    assert_eq!(flush["order"], serde_json::json!(["P1"]));
    // With a hose what it brings comes on top.
    let hosed = json(&site, &["--open", "P1", "--hose", "0.2 L/s@D1"]);
    let run = &hosed["runs"][0];
    let m3 = |key: &str| run[key].as_f64().unwrap();
    let all = stood + m3("hosed_m3");
    assert!(m3("hosed_m3") > 0.0 && (m3("drained_m3") + m3("left_m3") - all).abs() < 1e-5 * all);
}

/// A column empties through a drain as a vessel through an orifice: `H = (1 + k) V²/2g`, so its
/// fastest is `a √(2 g H/(1 + k))`, and its surface falls from `H1` to `H2` in
/// `2 A (√H1 − √H2)/(a √(2 g/(1 + k)))`; `A` is that of the column and of the riser, which stands at the
/// same level and is 2.2 m long over its 2.1 m of height. The drain is small: the foot is a crest for
/// the line, and a greater flow would stand higher over it than the 10 mm within which a column is down.
#[test]
fn a_column_empties_as_a_vessel() {
    for (drain_mm, outlet) in [(5.0, 0.9), (8.0, 0.8)] {
        let (_folder, site) = written(&shaft(drain_mm, outlet));
        let flush = json(&site, &[]);
        let run = &flush["runs"][0];
        let opened = area(drain_mm / 1e3) * (2.0 * G / 1.7).sqrt();
        let fastest = run["drains"]["P1"]["peak_flow_m3_per_s"].as_f64().unwrap();
        let expected = opened * (3.0 - outlet).sqrt();
        assert!((fastest / expected - 1.0).abs() < 1e-4, "{drain_mm}: {fastest} {expected}");
        let falls = area(0.4) + area(0.04) * 2.2 / 2.1;
        let [from, to] = [3.0 - outlet, 1.21 - outlet].map(f64::sqrt);
        let expected = 2.0 * falls * (from - to) / opened;
        let down = run["columns"]["D1"]["down_at_s"].as_f64().unwrap();
        assert!((down / expected - 1.0).abs() < 1e-4, "{drain_mm}: {down} {expected}");
    }
}

/// Every demo with drains: what left is what ran out of drains, but for what runs down into a tank,
/// and the order names every drain once, also where others are opened.
#[test]
fn demos_close() {
    for name in cases("ok") {
        let site = format!("fixtures/ok/{name}/site.yaml");
        let flush = json(&site, &[]);
        let runs = flush["runs"].as_array().unwrap();
        if runs.is_empty() {
            assert!(!flush["findings"].as_array().unwrap().is_empty(), "{name}");
        }
        for run in runs {
            let m3 = |key: &str| run[key].as_f64().unwrap();
            let drains = run["drains"].as_object().unwrap().values();
            let ran: f64 = drains.map(|drain| drain["passed_m3"].as_f64().unwrap()).sum();
            // A riser that stands under its inlet's level spills its last into the tank.
            let into_tanks = if name == "si-inlet-under-water" { 0.03 } else { 0.0 };
            let short = m3("drained_m3") - ran;
            assert!(short > -1e-7 && short <= into_tanks + 1e-6, "{name}: {short}");
        }
        let mut order: Vec<&str> =
            flush["order"].as_array().unwrap().iter().map(|tag| tag.as_str().unwrap()).collect();
        order.sort_unstable();
        let single = runs.iter().map(|run| run["open"].as_array().unwrap());
        let mut drains: Vec<&str> =
            single.filter(|open| open.len() == 1).map(|open| open[0].as_str().unwrap()).collect();
        drains.sort_unstable();
        assert_eq!(order, drains, "{name}");
    }
}

/// A site in SI units; the water is at 20 degrees.
fn site(rest: &str) -> String {
    format!(
        "wetrun: 1\nunits: si\nname: Bench\nwater: {{ temperature: 20 C }}\n\
         storm: {{ intensity: 60 mm/h, basis: none }}\n{rest}"
    )
}

const SMOOTH: &str = "roughness: 0.0015 mm";

/// How long a tank of 4 m² takes from 2.5 m down to a level through 6 m of 50.8 mm with a square
/// entrance and a free end, losses 1.5 in all, and how fast it runs there (Colebrook, 1.5 µm, 20 °C).
fn through_a_pipe(to: f64) -> (f64, f64) {
    let speed = |head: f64| {
        let mut v: f64 = 3.0;
        for _ in 0..60 {
            let re = v * 0.0508 / 1.0034e-6;
            let mut root: f64 = 8.0;
            for _ in 0..30 {
                root = -2.0 * (1.5e-6 / 0.0508 / 3.7 + 2.51 * root / re).log10();
            }
            v = (2.0 * G * head / (1.5 + 6.0 / 0.0508 / (root * root))).sqrt();
        }
        v
    };
    let steps = 400;
    let each = (2.5 - to) / f64::from(steps);
    let seconds =
        (0..steps).map(|k| each * 4.0 / (area(0.0508) * speed(2.5 - each * (f64::from(k) + 0.5))));
    (seconds.sum(), speed(2.5))
}

/// The same as a wide column over a wide line. From 2.5 m to 0.1 m the library fluids 1.3.1 has it in
/// 2152.90 s, and 3.804 m/s at first; 95 % of what can leave has left at 0.125 m.
#[test]
fn a_tank_runs_out_through_a_pipe() {
    let (seconds, first) = through_a_pipe(0.1);
    assert!((seconds / 2152.90 - 1.0).abs() < 2e-4 && (first - 3.804).abs() < 1e-3, "{seconds}");
    let bore = (4.0 / FRAC_PI_4).sqrt();
    let (_folder, site) = written(&site(&format!(
        "roofs: {{ R: {{ area: 20 m2, to: D1 }} }}\n\
         downspouts: {{ D1: {{ outlet: 4, foot: -0.5, pipe: {{ inside: {bore:.6} m, {SMOOTH} }} }} }}\n\
         points:\n  P0: {{ level: -1 }}\n  P1: {{ level: -1.2, drain: 50.8 mm, drain_k: 0, drain_outlet: {{ level: 0 }} }}\n\
         lines:\n  L0: {{ from: D1, to: P0, length: 0.6 m, pipe: {{ inside: 1 m, {SMOOTH} }} }}\n\
         \x20 L1: {{ from: P0, to: P1, length: 6 m, k: 0.5, pipe: {{ inside: 50.8 mm, {SMOOTH} }} }}\n\
         \x20 L2: {{ from: P1, to: T1, length: 3.7 m, pipe: {{ inside: 10 mm, {SMOOTH} }} }}\n\
         tanks: {{ T1: {{ inlet: 2.5 }} }}\n"
    )));
    let flush = json(&site, &[]);
    let run = &flush["runs"][0];
    let down = run["most_drained_s"].as_f64().unwrap();
    let expected = through_a_pipe(0.125).0;
    assert!((down / expected - 1.0).abs() < 2e-3, "{down} {expected}");
    let speed = run["lines"]["L1"]["peak_velocity_m_per_s"].as_f64().unwrap();
    assert!((speed / first - 1.0).abs() < 3e-3, "{speed}");
    // Up to the outlet everything stays: half a metre of the column, both lines and 1.2 m of riser.
    let left = 4.0 * 0.5 + area(1.0) * 0.6 + area(0.0508) * 6.0 + area(0.01) * 1.2;
    // The water that still runs as the column comes to the outlet draws it a little below.
    assert!((run["left_m3"].as_f64().unwrap() / left - 1.0).abs() < 1e-3, "{run}");
}

/// A cylinder 4 ft wide runs from 6 ft down to 2 ft over a nozzle of 5 in² without loss: 94 s in a
/// review book for engineers, 93.416 s by `2 A/a (√h1 − √h2)/√2g` with this g. The nozzle here has a
/// hundredth of that: a greater flow would stand higher over the foot than the 10 mm within which a
/// column is down.
#[test]
fn a_cylinder_runs_out_over_a_nozzle() {
    let nozzle_mm = (0.05 / FRAC_PI_4).sqrt() * 25.4;
    let (_folder, site) = written(&site(&format!(
        "roofs: {{ R: {{ area: 20 m2, to: D1 }} }}\n\
         downspouts: {{ D1: {{ outlet: 3, foot: 0.5996, pipe: {{ inside: 1219.2 mm, {SMOOTH} }} }} }}\n\
         points: {{ P1: {{ level: -1, drain: {nozzle_mm:.6} mm, drain_k: 0, drain_outlet: {{ level: 0 }} }} }}\n\
         lines:\n  L1: {{ from: D1, to: P1, length: 2 m, pipe: {{ inside: 1219.2 mm, {SMOOTH} }} }}\n\
         \x20 L2: {{ from: P1, to: T1, length: 2.9 m, pipe: {{ inside: 5 mm, {SMOOTH} }} }}\n\
         tanks: {{ T1: {{ inlet: 1.8288 }} }}\n"
    )));
    let flush = json(&site, &[]);
    let down = flush["runs"][0]["columns"]["D1"]["down_at_s"].as_f64().unwrap();
    assert!((down / 9341.6 - 1.0).abs() < 1e-3, "{down}");
}

/// Six shafts of 76.2 mm stand 2.5 m over a drain whose discharge coefficient is 0.62: at first
/// 1.231, 2.200, 4.950 and 8.799 L/s run out of 19, 25.4, 38.1 and 50.8 mm, and in 111.14 and 62.19 s
/// the smaller ones would have let all go; the last 10 mm are left out of the time, `1 − √(0.01/2.5)`
/// of it.
#[test]
fn six_shafts_run_out_together() {
    let k = 1.0 / (0.62_f64 * 0.62) - 1.0;
    for (mm, flow, seconds) in [
        (19.0, 1.231, Some(111.14)),
        (25.4, 2.200, Some(62.19)),
        (38.1, 4.950, None),
        (50.8, 8.799, None),
    ] {
        let mut text = format!(
            "roofs: {{ R: {{ area: 60 m2, to: {{ D1: 20 %, D2: 20 %, D3: 20 %, D4: 20 %, D5: 10 %, D6: 10 % }} }} }}\n\
             points:\n  P1: {{ level: 99, drain: {mm} mm, drain_k: {k:.6}, drain_outlet: {{ level: 100 }} }}\n\
             tanks: {{ T1: {{ inlet: 102.5 }} }}\ndownspouts:\n"
        );
        for d in 1..=6 {
            text += &format!(
                "  D{d}: {{ outlet: 104, foot: 100, pipe: {{ inside: 76.2 mm, {SMOOTH} }} }}\n"
            );
        }
        text += "lines:\n";
        for d in 1..=6 {
            text += &format!(
                "  L{d}: {{ from: D{d}, to: P1, length: 1.2 m, pipe: {{ inside: 300 mm, {SMOOTH} }} }}\n"
            );
        }
        text += &format!(
            "  M: {{ from: P1, to: T1, length: 3.6 m, pipe: {{ inside: 5 mm, {SMOOTH} }} }}\n"
        );
        let (_folder, site) = written(&site(&text));
        let flush = json(&site, &[]);
        let run = &flush["runs"][0];
        let first = run["drains"]["P1"]["peak_flow_m3_per_s"].as_f64().unwrap() * 1e3;
        assert!((first / flow - 1.0).abs() < 1.5e-2, "{mm} mm: {first}");
        for d in 1..=6 {
            let down = run["columns"][format!("D{d}")]["down_at_s"].as_f64().unwrap();
            let Some(seconds) = seconds else { continue };
            let expected = seconds * (1.0 - (0.01_f64 / 2.5).sqrt());
            assert!((down / expected - 1.0).abs() < 1.5e-2, "{mm} mm: {down} {expected}");
        }
    }
}

/// A pool 10 m wide and 2 m deep runs out through 25 m of 50 mm with a friction factor of 0.022: a
/// textbook (Çengel and Cimbala, Fluid Mechanics, chapter 14) has it empty after 24.6 h and 1.808 m/s
/// at first; `(D/d)² √(2 z (1 + f L/d)/g)`, 88 480 s. The pipe's loss is a coefficient here, and the
/// time is that by which 95 % has gone: `1 − √0.05` of it.
#[test]
fn a_pool_runs_out_for_a_day() {
    let k = 0.022 * 25.0 / 0.05;
    let whole = |g: f64| (10.0_f64 / 0.05).powi(2) * (2.0 * 2.0 * (1.0 + k) / g).sqrt();
    assert!((whole(9.81) - 88_480.0).abs() < 1.0, "{}", whole(9.81));
    // What half a metre of smooth pipe loses besides, at f = 0.02 or so.
    let k_line = k - 0.02 * 0.5 / 0.05;
    let (_folder, site) = written(&site(&format!(
        "roofs: {{ R: {{ area: 20 m2, to: D1 }} }}\n\
         downspouts: {{ D1: {{ outlet: 4, foot: -0.5, pipe: {{ inside: 10 m, {SMOOTH} }} }} }}\n\
         points:\n  P0: {{ level: -1 }}\n  P1: {{ level: -1.2, drain: 50 mm, drain_k: 0, drain_outlet: {{ level: 0 }} }}\n\
         lines:\n  L0: {{ from: D1, to: P0, length: 0.6 m, pipe: {{ inside: 1 m, {SMOOTH} }} }}\n\
         \x20 L1: {{ from: P0, to: P1, length: 0.5 m, k: {k_line:.6}, pipe: {{ inside: 50 mm, {SMOOTH} }} }}\n\
         \x20 L2: {{ from: P1, to: T1, length: 3.2 m, pipe: {{ inside: 5 mm, {SMOOTH} }} }}\n\
         tanks: {{ T1: {{ inlet: 2 }} }}\n"
    )));
    let flush = json(&site, &[]);
    let run = &flush["runs"][0];
    let down = run["most_drained_s"].as_f64().unwrap();
    let expected = whole(G) * (1.0 - 0.05_f64.sqrt());
    assert!((down / expected - 1.0).abs() < 2e-3, "{down} {expected}");
    let speed = run["lines"]["L1"]["peak_velocity_m_per_s"].as_f64().unwrap();
    assert!((speed / 1.808 - 1.0).abs() < 2e-3, "{speed}");
}

/// A lying cylinder, 1.488 m wide and 2.988 m long, runs out from 0.177 m over a nozzle of 50.8 mm
/// with a coefficient of 0.62 (a tank forum's worked case: 224.8 s):
/// `t = 4 L (D^1.5 − (D − h)^1.5)/(3 a c √2g)`. Here the gutter of a downspout is its lower part; 95 %
/// of what stands over the drain's end has gone, the column's share of it
/// `2 A (√h₁ − √h₂)/(a c √2g)`, when the segment left holds the rest.
#[test]
fn a_lying_cylinder_runs_out_over_a_nozzle() {
    let (d, length, h): (f64, f64, f64) = (1.488, 2.988, 0.177);
    let nozzle = area(0.0508) * 0.62 * (2.0 * G).sqrt();
    let falls = |to: f64| 4.0 * length / (3.0 * nozzle) * ((d - to).powf(1.5) - (d - h).powf(1.5));
    assert!((falls(0.0) - 224.809).abs() < 1e-3, "{}", falls(0.0));
    let shaft = 0.1;
    let holds = |h: f64| {
        let radius = 0.5 * d;
        let chord = (h * (d - h)).sqrt();
        let segment = radius * radius * ((radius - h) / radius).acos() - (radius - h) * chord;
        segment * length + area(shaft) * h
    };
    let (mut low, mut high) = (0.0, h);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if holds(middle) < 0.05 * holds(h) { low = middle } else { high = middle }
    }
    let expected = falls(low) + 2.0 * area(shaft) * (h.sqrt() - low.sqrt()) / nozzle;
    let width = 2.0 * (h * (d - h)).sqrt();
    let k = 1.0 / (0.62_f64 * 0.62) - 1.0;
    let (_folder, site) = written(&site(&format!(
        "roofs: {{ R: {{ area: 20 m2, to: D1 }} }}\n\
         gutters: {{ eave: {{ shape: half-round, width: {width:.9} m, depth: {h} m, length: {length} m }} }}\n\
         downspouts: {{ D1: {{ outlet: 1, lip: 1.2, foot: 0, gutter: eave, pipe: {{ inside: {shaft} m, {SMOOTH} }} }} }}\n\
         points: {{ P1: {{ level: -0.5, drain: 50.8 mm, drain_k: {k:.6}, drain_outlet: {{ level: 1 }} }} }}\n\
         lines:\n  L1: {{ from: D1, to: P1, length: 1 m, pipe: {{ inside: 400 mm, {SMOOTH} }} }}\n\
         \x20 L2: {{ from: P1, to: T1, length: 1.8 m, pipe: {{ inside: 3 mm, {SMOOTH} }} }}\n\
         tanks: {{ T1: {{ inlet: 1.177 }} }}\n"
    )));
    let flush = json(&site, &[]);
    let down = flush["runs"][0]["most_drained_s"].as_f64().unwrap();
    assert!((down / expected - 1.0).abs() < 5e-3, "{down} {expected}");
}

/// A full line that falls by 1 in 50 runs out at its lower end, air behind it, against `ΣK + f l/D`
/// velocity heads, without its momentum; or with it, and with what stays below that end, until it
/// stands still. How much of its length is gone after each millisecond, and the fastest that it runs.
fn line_runs_out(friction: impl Fn(f64) -> f64, k: f64, stays: Option<f64>) -> (Vec<f64>, f64) {
    let (slope, bore, length) = (0.02, 0.1016, 40.0);
    let (mut l, mut v, mut fastest) = (length, 0.0, 0.0_f64);
    let step = 1e-3;
    let mut course = Vec::new();
    while l > 0.0 || (stays.is_some() && v > 0.0) {
        let full = l + stays.unwrap_or(0.0);
        let loss = |v: f64| (k + friction(v) * full / bore) / (2.0 * G);
        if stays.is_some() {
            let rate = |v: f64| G * (slope * l - loss(v) * v * v.abs()) / full;
            v += step * rate(v + 0.5 * step * rate(v));
        } else {
            for _ in 0..30 {
                v = (slope * l / loss(v)).sqrt();
            }
        }
        fastest = fastest.max(v);
        l -= v * step;
        course.push(length - l);
    }
    (course, fastest)
}

/// A full line of 40 m and 101.6 mm at 1 in 50 runs out: with f = 0.02, ΣK = 1.5 and without its momentum
/// it takes 39.3746 s, and runs at 1.29377 m/s at first
/// (`t = (√(l (K + b l)) + (K/√b) asinh √(b l/K))/√(2 g S)`). The program has its momentum too, Colebrook's
/// friction, and 9 m below those 40 that stay full: the same equation, by hand. So long as the line
/// does not break over its bend: the drain's end stands so much higher than that.
#[test]
fn a_sloping_line_runs_out_with_air_behind_it() {
    let (course, first) = line_runs_out(|_| 0.02, 1.5, None);
    let t = 1e-3 * course.len() as f64;
    assert!((t - 39.3746).abs() < 5e-2 && (first - 1.29377).abs() < 1e-3, "{t} {first}");
    let colebrook = |v: f64| {
        let re = v.max(1e-3) * 0.1016 / 1.0034e-6;
        let mut root: f64 = 7.0;
        for _ in 0..12 {
            root = -2.0 * (0.03e-3 / 0.1016 / 3.7 + 2.51 * root / re).log10();
        }
        1.0 / (root * root)
    };
    let (course, fastest) = line_runs_out(colebrook, 1.5, Some(9.0));
    let rough = "roughness: 0.03 mm";
    let (_folder, site) = written(&site(&format!(
        "roofs: {{ R: {{ area: 20 m2, to: D1 }} }}\n\
         downspouts: {{ D1: {{ outlet: 4, foot: 0.96, pipe: {{ inside: 60 mm, {SMOOTH} }} }} }}\n\
         points: {{ P1: {{ level: -1, drain: 101.6 mm, drain_k: 0.5, drain_outlet: {{ level: 0.16 }} }} }}\n\
         lines:\n  L1:\n    from: D1\n    to: P1\n    length: 49 m\n    pipe: {{ inside: 101.6 mm, {rough} }}\n\
         \x20   profile: [{{ at: 0 m, level: 0.96 }}, {{ at: 48 m, level: 0 }}, {{ at: 49 m, level: -1 }}]\n\
         \x20 L2: {{ from: P1, to: T1, length: 2 m, pipe: {{ inside: 4 mm, {SMOOTH} }} }}\n\
         tanks: {{ T1: {{ inlet: 0.96 }} }}\n"
    )));
    let flush = json(&site, &[]);
    let run = &flush["runs"][0];
    let down = run["most_drained_s"].as_f64().unwrap();
    let gone = run["drained_m3"].as_f64().unwrap() / area(0.1016);
    let by = course.iter().position(|so_far| *so_far >= 0.95 * gone).unwrap();
    let expected = 1e-3 * by as f64;
    assert!((down / expected - 1.0).abs() < 1e-2, "{down} {expected} {run}");
    // By hand it runs on beyond the drain's end by 2.28 m before its momentum is spent. Once a line has
    // broken a step may err by a millimetre, here 50 mm of line, and that takes some of it.
    let all = course[course.len() - 1];
    assert!(all > 42.2 && gone > 41.0 && gone < all, "{gone} {all}");
    let speed = run["lines"]["L1"]["peak_velocity_m_per_s"].as_f64().unwrap();
    assert!((speed / fastest - 1.0).abs() < 5e-3, "{speed} {fastest}");
}

/// What a line needs is what fills its bore at the speed that carries silt where that has one way down,
/// and more in a ring; poured in, it does carry silt, and where the file asks for a lesser speed the
/// line needs nothing.
#[test]
fn an_inflow_that_is_said_to_carry_silt_does() {
    let clean = std::fs::read_to_string("../../fixtures/review/clean/site.yaml").unwrap();
    let (_folder, clean) = written(&clean.replace("drain: 80 mm", "drain: 60 mm"));
    let flush = json(&clean, &[]);
    let lines = &flush["runs"][0]["lines"];
    let asked = lines["L1"]["needs_inflow_m3_per_s"].as_f64().unwrap();
    // A bore of 103.6 mm.
    assert!((asked / (area(0.1036) * 0.7) - 1.0).abs() < 5e-3, "{asked}");
    let hosed = json(&clean, &["--open", "P1", "--hose", &format!("{} L/s@D1", asked * 1e3)]);
    let swept = &hosed["runs"][0]["lines"]["L1"];
    assert_eq!(swept["carries_silt"], true, "{swept}");
    assert!(swept["needs_inflow_m3_per_s"].is_null());
    for (line, swept) in lines.as_object().unwrap() {
        let fast = swept["peak_velocity_m_per_s"].as_f64().unwrap() >= 0.7;
        assert_eq!(swept["carries_silt"], fast, "{line}");
        assert_eq!(swept["needs_inflow_m3_per_s"].is_null(), fast, "{line}");
    }
}

/// A wider drain that is said to carry silt does so when the file has it, and one of half the bore
/// does not; a gulp's water is what its column holds above the rest level.
#[test]
fn a_wider_drain_and_a_gulp_that_are_said_to_carry_silt_do() {
    let ring = std::fs::read_to_string("../../fixtures/ok/si-two-tanks-ring/site.yaml").unwrap();
    let (_folder, site) = written(&ring);
    let lines = json(&site, &[])["runs"][0]["lines"].clone();
    let wider: Vec<(&String, f64)> = lines
        .as_object()
        .unwrap()
        .iter()
        .filter_map(|(tag, swept)| Some((tag, swept["needs_drain_m"].as_f64()?)))
        .collect();
    assert!(wider.len() > 2, "{lines}");
    for bore in [wider[0].1, 0.5 * wider[0].1] {
        let drain = format!("drain: {} mm", bore * 1e3);
        let (_folder, site) = written(&ring.replace("drain: 50 mm", &drain));
        let opened = json(&site, &[]);
        let all = wider.iter().filter(|(_, asked)| *asked == wider[0].1);
        let carries = all.map(|(tag, _)| &opened["runs"][0]["lines"][*tag]["carries_silt"]);
        let carries: Vec<bool> = carries.map(|carries| carries.as_bool().unwrap()).collect();
        assert_eq!(carries.iter().all(|carries| *carries), bore == wider[0].1, "{bore}: {lines}");
    }
    let swept = &lines["A3"];
    let (level, volume) = (&swept["needs_gulp_level_m"], &swept["needs_gulp_m3"]);
    // D3's bore, and where the water stands without rain.
    let holds = (level.as_f64().unwrap() - 2.2) * area(0.1036);
    assert!((volume.as_f64().unwrap() / holds - 1.0).abs() < 1e-6, "{swept}");
}

/// What hangs from an inlet under its tank's water stays as long as its lower end is under water, and
/// falls when air comes to it.
#[test]
fn a_line_hangs_until_air_comes_to_its_lower_end() {
    for (outlet, hangs) in [(1.1, true), (0.5, false)] {
        let text =
            shaft(8.0, outlet).replace("overflow: { level: 2.8 }", "overflow: { level: 3.2 }");
        let (_folder, site) = written(&text);
        let flush = json(&site, &[]);
        let run = &flush["runs"][0];
        let left = run["left_in"]["L2"].as_f64().unwrap_or(0.0);
        let full = area(0.04) * 2.2;
        let expected = if hangs { full } else { 0.0 };
        assert!((left - expected).abs() < 1e-9, "{outlet}: {left} {expected}");
        // Up to the outlet stays what stands below it: of 0.3 m of fall 0.2 m.
        let left = run["left_in"]["L1"].as_f64().unwrap_or(0.0);
        let expected = if hangs { area(0.4) * 0.5 * 2.0 / 3.0 } else { 0.0 };
        assert!((left - expected).abs() < 1e-3 * area(0.4), "{outlet}: {left} {expected}");
        let warned = flush["findings"].as_array().unwrap().iter();
        assert!(warned.clone().any(|told| told["rule"] == "flush-submerged-inlet"));
        // 5 m³ stand on 3.2 m: what stands over the inlet would run out.
        let told = warned.clone().find(|told| told["rule"] == "flush-submerged-inlet").unwrap();
        assert!((told["value"].as_f64().unwrap() - 5.0 * 0.2 / 3.2).abs() < 1e-6, "{told}");
    }
}

/// With a hose a run goes on until nothing changes: to the level at which the drain takes what comes,
/// `H = 1.7 (q/a)²/2g`.
#[test]
fn a_hose_comes_to_its_level() {
    let (_folder, site) = written(&shaft(12.0, 0.9));
    let hosed = json(&site, &["--open", "P1", "--hose", "0.4 L/s@D1"]);
    let run = &hosed["runs"][0];
    let stands = 1.7 / (2.0 * G) * (0.4e-3 / area(0.012)).powi(2) - 0.3;
    let expected = area(0.4) * stands;
    let left = run["left_in"]["D1"].as_f64().unwrap();
    assert!((left / expected - 1.0).abs() < 1e-2, "{left} {expected}");
    let ended = run["ended_s"].as_f64().unwrap();
    assert!(ended > 1000.0 && ended <= 3600.0, "{ended}");
    assert!((run["hosed_m3"].as_f64().unwrap() / (0.4e-3 * ended) - 1.0).abs() < 1e-9);
}

/// The order is that of the drains each by itself, without hoses and whatever is opened.
#[test]
fn the_order_hangs_on_the_drains_alone() {
    let site = "fixtures/review/planted/sound.yaml";
    let order = json(site, &[])["order"].clone();
    assert_eq!(order.as_array().unwrap().len(), 2);
    for more in [&["--open", "P1"][..], &["--open", "P3"], &["--open", "P3", "--hose", "1 gpm@D1"]]
    {
        assert_eq!(json(site, more)["order"], order, "{more:?}");
    }
}

#[test]
fn what_is_no_drain_is_refused() {
    let hall = "fixtures/ok/us-hall-six-downspouts/site.yaml";
    for (more, says) in [
        (&["--open", "W1"][..], "W1"),
        (&["--open", "nowhere"], "nowhere"),
        (&["--hose", "10 gpm"], "10 gpm"),
        (&["--hose", "10 gpm@nowhere"], "nowhere"),
        (&["--hose", "ten@D1"], "ten"),
    ] {
        let ran = run(&[&["flush", hall], more].concat());
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{more:?}");
        assert!(ran.stderr.contains(says), "{more:?}: {}", ran.stderr);
    }
}

#[test]
fn the_report_fits_a_page() {
    for name in [
        "us-hall-six-downspouts",
        "si-two-tanks-ring",
        "si-inlet-under-water",
        "us-tanks-in-cascade",
    ] {
        let ran = run(&["flush", &format!("fixtures/ok/{name}/site.yaml")]);
        assert_eq!(ran.status, 0, "{name}: {}", ran.stderr);
        for line in ran.stdout.lines() {
            assert!(line.chars().count() <= 80, "{name}: {line}");
        }
    }
}
