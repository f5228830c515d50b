//! `wetrun storm` as it is run: statuses, the contract's keys, the balance, agreement with `check`.

use crate::support::{cases, run};
use serde_json::Value;

fn site(name: &str) -> String {
    format!("fixtures/ok/{name}/site.yaml")
}

fn json(args: &[&str]) -> Value {
    let ran = run(&[&["storm", "--format", "json"], args].concat());
    assert!(ran.status < 2 && ran.stderr.is_empty(), "{args:?}: {}", ran.stderr);
    serde_json::from_str(&ran.stdout).unwrap()
}

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

/// All rain is accounted for, on every demo, and each tank's own account closes.
#[test]
fn rain_is_accounted_for() {
    for name in cases("ok") {
        let storm = json(&[&site(&name)]);
        let total = |key: &str| storm["totals"][key].as_f64().unwrap();
        let gone = ["wetted_m3", "no_runoff_m3", "spilled_m3", "escaped_m3", "stored_m3"];
        let off = ["overflowed_m3", "over_rim_m3"];
        let sum: f64 = gone.iter().chain(&off).map(|key| total(key)).sum();
        let slack = 1e-9 * total("rain_m3");
        assert!(total("balance_m3").abs() <= slack, "{name}: {}", total("balance_m3"));
        assert!((total("rain_m3") - sum - total("balance_m3")).abs() <= 1e-10, "{name}");
        for (tag, tank) in storm["tanks"].as_object().unwrap() {
            let m3 = |key: &str| tank[key].as_f64();
            let (Some(start), Some(end)) = (m3("start_m3"), m3("end_m3")) else { continue };
            let net = ["received_m3", "overflowed_m3", "over_rim_m3"].map(|k| m3(k).unwrap());
            let miss = start + net[0] - net[1] - net[2] - end;
            assert!(miss.abs() < 1e-9, "{name} {tag}: {miss}");
        }
    }
}

/// A rain that holds for a day ends as the steady state has it: level, spill, verdict.
#[test]
fn rain_that_holds_is_the_steady_check() {
    for name in cases("ok") {
        let text = std::fs::read_to_string(crate::support::root().join(site(&name))).unwrap();
        let check = run(&["check", &site(&name), "--format", "json"]);
        let check: Value = serde_json::from_str(&check.stdout).unwrap();
        let rain = check["storm"]["intensity_m_per_s"].as_f64().unwrap() * 3.6e6;
        let course =
            format!("  course: [{{at: 0 s, rain: {rain:.12} mm/h}}, {{at: 5 h, rain: 0 mm/h}}]");
        let place = text.find("storm:").unwrap();
        let text = if text[place..].starts_with("storm: {") {
            text.replacen("storm: {", &format!("storm: {{ {}, ", course.trim()), 1)
        } else {
            text.replacen("storm:\n", &format!("storm:\n{course}\n"), 1)
        };
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("site.yaml");
        std::fs::write(&file, text).unwrap();
        let storm = json(&[file.to_str().unwrap(), "--until", "5 h"]);
        for (tag, course) in storm["downspouts"].as_object().unwrap() {
            let steady = &check["downspouts"][tag];
            let (peak, stands) = (&course["peak_level_m"], &steady["standing_level_m"]);
            let miss = peak.as_f64().unwrap() - stands.as_f64().unwrap();
            // Roofs lag: nothing swings above what the rain comes to in the end.
            assert!(miss.abs() < 1e-3, "{name} {tag}: {miss}");
        }
    }
}

#[test]
fn the_keys_are_those_of_the_contract() {
    let storm = json(&[&site("us-tanks-in-cascade")]);
    let all = [
        "wetrun",
        "site",
        "verdict",
        "course",
        "ended_s",
        "totals",
        "downspouts",
        "openings",
        "lines",
        "tanks",
        "steady",
        "findings",
        "solve",
    ];
    assert_eq!(keys(&storm), all);
    assert_eq!(keys(&storm["course"][0]), ["at_s", "rain_m_per_s"]);
    let totals = [
        "rain_m3",
        "wetted_m3",
        "no_runoff_m3",
        "runoff_m3",
        "spilled_m3",
        "escaped_m3",
        "stored_m3",
        "overflowed_m3",
        "over_rim_m3",
        "balance_m3",
    ];
    assert_eq!(keys(&storm["totals"]), totals);
    let downspout = [
        "peak_level_m",
        "peak_at_s",
        "least_headroom_m",
        "spilled_m3",
        "spills_from_s",
        "spills_for_s",
    ];
    assert_eq!(keys(&storm["downspouts"]["D1"]), downspout);
    let line = ["peak_flow_m3_per_s", "peak_velocity_m_per_s", "passed_m3"];
    assert_eq!(keys(&storm["lines"]["L1"]), line);
    let tank = [
        "start_m3",
        "end_m3",
        "received_m3",
        "overflowed_m3",
        "over_rim_m3",
        "full_at_s",
        "peak_level_m",
    ];
    assert_eq!(keys(&storm["tanks"]["T1"]), tank);
    assert_eq!(keys(&storm["steady"]), ["worst_downspout", "headroom_m"]);
    assert_eq!(keys(&storm["solve"]), ["steps", "level_error_m"]);
    let vent = json(&[&site("si-vent-below-the-grade")]);
    assert_eq!(keys(&vent["openings"]["P2"]), ["peak_level_m", "escaped_m3"]);
    assert_eq!(vent["verdict"], "fail");
}

#[test]
fn statuses_and_refusals() {
    assert_eq!(run(&["storm", &site("us-hall-six-downspouts")]).status, 0);
    assert_eq!(run(&["storm", &site("us-hall-low-roof")]).status, 1);
    for args in [["--until", "never"], ["--until", "0 s"], ["--storm", "much"]] {
        let ran = run(&[&["storm", &site("us-hall-six-downspouts")], &args[..]].concat());
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{args:?}");
        assert!(ran.stderr.contains(args[0]), "{}", ran.stderr);
    }
    for name in cases("ok") {
        let ran = run(&["storm", &site(&name)]);
        assert!(ran.stdout.lines().all(|line| line.chars().count() <= 80), "{}", ran.stdout);
    }
}

/// A demo's report, word for word, with a tank that fills and runs over into the next.
#[test]
fn the_demo_reads_as_it_did() {
    let ran = run(&["storm", "fixtures/storm/us-packing-shed/site.yaml"]);
    assert_eq!((ran.status, ran.stderr.as_str()), (0, ""));
    assert!(ran.stdout.lines().all(|line| line.chars().count() <= 80), "{}", ran.stdout);
    let path = crate::support::root().join("fixtures/storm/us-packing-shed/storm.txt");
    crate::support::expect(&path, &ran.stdout);
}
