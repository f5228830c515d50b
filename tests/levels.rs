//! `wetrun levels`: limits set into the file turn `wetrun check`; readings; what is written.

use crate::support::{cases, expect, root, run};
use serde_json::Value;
use wetrun_site::edit::{Edit, set_values};

const WORKSHOP: &str = "fixtures/levels/workshop/site.yaml";
const READINGS: &str = "fixtures/levels/workshop/readings.yaml";

fn json(args: &[&str]) -> Value {
    let ran = run(&[&["levels"], args, &["--format", "json"]].concat());
    assert_eq!(ran.stderr, "", "{args:?}");
    serde_json::from_str(&ran.stdout).unwrap()
}

fn scratch(name: &str, text: &str) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, text).unwrap();
    let path = path.to_str().unwrap().to_owned();
    (folder, path)
}

/// The file with one level moved, and by hand what moves with it: the lip with the outlet, a
/// profile's end with the point, foot or inlet it stands at.
fn moved(text: &str, tag: &str, level: &str, to_m: f64) -> String {
    let site: Value = serde_yaml::from_str(text).unwrap();
    let show = |level_m: f64| format!("{level_m:.9} m");
    let mut edits = Vec::new();
    let section = ["tanks", "downspouts", "points", "lines"]
        .into_iter()
        .find(|section| site[section].get(tag).is_some())
        .unwrap();
    let keys = level.replace(['[', ']'], ".").replace("..", ".");
    let keys: Vec<&str> = [section, tag].into_iter().chain(keys.split('.')).collect();
    edits.push(Edit::new(&keys, show(to_m)));
    let units = if site["units"] == "us" {
        wetrun_units::UnitSystem::Us
    } else {
        wetrun_units::UnitSystem::Si
    };
    let metres = |value: &Value| {
        let text = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
        units.read_level(&text).unwrap().to_m()
    };
    if level == "outlet" && site["downspouts"][tag].get("lip").is_some() {
        let this = &site["downspouts"][tag];
        let lip_m = to_m + metres(&this["lip"]) - metres(&this["outlet"]);
        edits.push(Edit::new(&["downspouts", tag, "lip"], show(lip_m)));
    }
    let node_level = ["inlet", "foot", "level"].contains(&level);
    for (line, this) in site["lines"].as_object().unwrap() {
        let Some(profile) = this.get("profile").and_then(Value::as_array) else { continue };
        let last = (profile.len() - 1).to_string();
        for (end, own, station) in [("from", "from_level", "0"), ("to", "to_level", &last)] {
            let along = node_level && this[end] == tag && this.get(own).is_none();
            if along || (line == tag && level == own) {
                edits.push(Edit::new(&["lines", line, "profile", station, "level"], show(to_m)));
            }
        }
    }
    set_values(text, &edits).unwrap()
}

#[test]
fn each_limit_set_into_the_file_turns_the_check() {
    let demos = cases("ok").into_iter().map(|name| format!("fixtures/ok/{name}/site.yaml"));
    let mut limits = 0;
    for site in demos.chain([WORKSHOP.to_owned()]) {
        let text = std::fs::read_to_string(root().join(&site)).unwrap();
        for one in json(&[&site])["set_points"].as_array().unwrap() {
            let (tag, level) = (one["tag"].as_str().unwrap(), one["level"].as_str().unwrap());
            for (limit, outward) in [("lowest_m", -1.0), ("highest_m", 1.0)] {
                let Some(limit_m) = one[limit].as_f64() else { continue };
                limits += 1;
                for (move_m, status) in [(-0.0005, 0), (0.0005, 1)] {
                    let to_m = limit_m + outward * move_m;
                    let (_folder, path) = scratch("site.yaml", &moved(&text, tag, level, to_m));
                    let ran = run(&["check", &path, "--format", "json"]);
                    assert_eq!(ran.status, status, "{site} {tag} {level} {to_m} {}", ran.stderr);
                }
            }
        }
    }
    assert!(limits > 60, "{limits}");
}

#[test]
fn the_json_is_that_of_the_contract() {
    for name in cases("ok") {
        let site = format!("fixtures/ok/{name}/site.yaml");
        let result = json(&[&site]);
        let keys: Vec<&str> = result.as_object().unwrap().keys().map(String::as_str).collect();
        assert_eq!(keys, ["wetrun", "set_points", "tolerance_all_m", "watertight_to_m"]);
        let passes = run(&["check", &site]).status == 0;
        assert_eq!(run(&["levels", &site]).status, i32::from(!passes), "{name}");
        for one in result["set_points"].as_array().unwrap() {
            let keys: Vec<&str> = one.as_object().unwrap().keys().map(String::as_str).collect();
            assert_eq!(keys[..5], ["tag", "level", "design_m", "lowest_m", "highest_m"]);
            let none = one["lowest_m"].is_null() && one["highest_m"].is_null();
            assert!(passes || none, "{name} {one}");
        }
        assert!(passes || result["tolerance_all_m"].is_null(), "{name}");
        let check: Value =
            serde_json::from_str(&run(&["check", &site, "--format", "json"]).stdout).unwrap();
        let freeboard_m = check["findings"][0]["limit"].as_f64().unwrap();
        for (tag, level) in result["watertight_to_m"].as_object().unwrap() {
            let standing_m = check["downspouts"][tag]["standing_level_m"].as_f64().unwrap();
            let headroom_m = check["downspouts"][tag]["headroom_m"].as_f64().unwrap();
            let expected_m = standing_m + freeboard_m.min(headroom_m);
            assert!((level.as_f64().unwrap() - expected_m).abs() < 1e-9, "{name} {tag}");
        }
    }
}

#[test]
fn what_people_read_stays_as_it_is() {
    let folder = root().join("fixtures/levels/workshop");
    let text = |args: &[&str]| run(&[&["levels", WORKSHOP], args].concat()).stdout;
    let sights = ["--backsight", "BM1=4.32 ft", "--foresight", "BM2=4.97 ft"];
    let drawn = text(&sights);
    let built = text(&["--as-built", READINGS]);
    expect(&folder.join("levels.txt"), &drawn);
    expect(&folder.join("as-built.txt"), &built);
    expect(&folder.join("levels.csv"), &text(&["--format", "csv"]));
    let refused = run(&["levels", WORKSHOP, "--as-built", &READINGS.replace(".yaml", "-err.yaml")]);
    assert_eq!((refused.status, refused.stdout.as_str()), (2, ""));
    expect(&folder.join("readings-err.txt"), &refused.stderr);
    for line in drawn.lines().chain(built.lines()) {
        assert!(unicode_width::UnicodeWidthStr::width(line) <= 80, "{line}");
    }
    assert!(built.starts_with("GO ON, BUT BELOW TARGET"), "{built}");
}

/// By hand: BM1 at 100.00 ft and 4.32 ft give a sight at 104.32 ft; the inlet read -3.60 ft
/// stands at 107.92 ft. TP1 stands at 99.12 ft; 3.11 ft more are 102.23 ft, and the outlet read
/// -6.82 ft stands at 109.05 ft; BM2 comes out at 99.36 ft, 0.01 ft high.
#[test]
fn readings_become_levels() {
    let result = json(&[WORKSHOP, "--as-built", READINGS]);
    let feet = |value: &Value| value.as_f64().unwrap() / 0.3048;
    let built = |tag: &str, level: &str| {
        let list = result["set_points"].as_array().unwrap().iter();
        feet(&list.clone().find(|s| s["tag"] == tag && s["level"] == level).unwrap()["built_m"])
    };
    assert!((built("T1", "inlet") - 107.92).abs() < 1e-9);
    assert!((built("D1", "outlet") - 109.05).abs() < 1e-9);
    assert!((built("L4", "profile[1].level") - 98.65).abs() < 1e-9);
    assert!((feet(&result["closing"][0]["error_m"]) - 0.01).abs() < 1e-9);
    assert_eq!(result["as_built"]["verdict"], "below-target");
    assert_eq!(result["as_built"]["measured"], 4);
}

#[test]
fn the_site_as_built_is_written_with_its_comments() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("built.yaml");
    let out = out.to_str().unwrap();
    let ran = run(&["levels", WORKSHOP, "--as-built", READINGS, "--write", out]);
    assert_eq!(ran.status, 1, "{}", ran.stderr);
    let (old, new) = (
        std::fs::read_to_string(root().join(WORKSHOP)).unwrap(),
        std::fs::read_to_string(out).unwrap(),
    );
    assert_eq!(old.lines().count(), new.lines().count());
    let comments = |text: &str| text.matches('#').count();
    assert_eq!(comments(&old), comments(&new));
    for expected in ["inlet: 107.92 ft", "outlet: 109.05 ft, lip: 109.30 ft", "level: 98.65 ft"] {
        assert!(new.contains(expected), "{expected}\n{new}");
    }
    // The file written comes to the same margin as the readings did.
    let check: Value =
        serde_json::from_str(&run(&["check", out, "--format", "json"]).stdout).unwrap();
    let least_m = ["D1", "D2"]
        .map(|d| check["downspouts"][d]["headroom_m"].as_f64().unwrap())
        .into_iter()
        .fold(f64::INFINITY, f64::min);
    let margin_m = json(&[WORKSHOP, "--as-built", READINGS])["as_built"]["worst_margin_m"].clone();
    assert!((least_m - 4.0 * 0.0254 - margin_m.as_f64().unwrap()).abs() < 1e-6);
}

/// A reading as it is printed, read again, is the same to half of its last place.
#[test]
fn rod_readings_come_back_as_they_were_printed() {
    use wetrun_units::{Length, UnitSystem, feet_inches};
    for step in -4000..4000 {
        let reading = Length::m(f64::from(step) * 0.001_237);
        let printed = [
            (format!("{:.2} ft", reading.to_m() / 0.3048), 0.005 * 0.3048),
            (feet_inches(reading), 0.0254 / 16.0),
            (format!("{:.0} mm", reading.to_m() * 1000.0), 0.0005),
        ];
        for (text, half_m) in printed {
            let back = UnitSystem::Us.read_level(&text).unwrap();
            let off_m = (back.to_m() - reading.to_m()).abs();
            assert!(off_m <= half_m + 1e-12, "{text} {}", reading.to_m());
        }
    }
}

#[test]
fn sights_that_cannot_be_used_are_refused() {
    for sights in [
        &["--backsight", "BM9=4.32 ft"][..],
        &["--backsight", "BM1"],
        &["--backsight", "BM1=4.32 gal"],
        &["--backsight", "BM1=90 ft"],
        &["--foresight", "BM2=4.97 ft"],
        &["--write", "out.yaml"],
    ] {
        let ran = run(&[&["levels", WORKSHOP], sights].concat());
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{sights:?}");
        assert!(!ran.stderr.is_empty());
    }
}
