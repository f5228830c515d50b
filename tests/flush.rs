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

/// Every demo with drains: nothing is made or lost, and the order names every drain once.
#[test]
fn demos_close() {
    for name in cases("ok") {
        let flush = json(&format!("fixtures/ok/{name}/site.yaml"), &[]);
        let runs = flush["runs"].as_array().unwrap();
        if runs.is_empty() {
            assert!(!flush["findings"].as_array().unwrap().is_empty(), "{name}");
        }
        for run in runs {
            let m3 = |key: &str| run[key].as_f64().unwrap();
            let left = run["left_in"].as_object().unwrap();
            let left: f64 = left.values().map(|v| v.as_f64().unwrap()).sum();
            assert!((left - m3("left_m3")).abs() < 1e-9 && m3("drained_m3") > 0.0, "{name}");
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
