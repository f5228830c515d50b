//! `wetrun levels`: limits set into the file turn `wetrun check`; what is printed holds; readings;
//! what is written.

use crate::support::{cases, expect, root, run};
use serde_json::Value;
use wetrun_site::edit::{Edit, set_values};

const WORKSHOP: &str = "fixtures/levels/workshop/site.yaml";
/// A vent, a loose cap and a rim a little above the water.
const YARD: &str = "fixtures/levels/yard/site.yaml";
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
    for site in demos.chain([WORKSHOP.to_owned(), YARD.to_owned()]) {
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

/// A table of the report: for each row the tag, the key, and the numbers behind them as printed.
fn rows(text: &str, title: &str) -> Vec<(String, String, Vec<String>)> {
    let lines = text.lines().skip_while(|line| !line.starts_with(title)).skip(2);
    let rows = lines.take_while(|line| line.starts_with("  ")).map_while(|line| {
        let mut words = line.split_whitespace().map(str::to_owned);
        let (tag, key) = (words.next()?, words.next()?);
        let numbers: Vec<String> = words.map(|n| n.trim_end_matches('*').to_owned()).collect();
        let design = numbers.first()?.parse::<f64>();
        design.is_ok().then_some((tag, key, numbers))
    });
    rows.collect()
}

/// What fails of the review: rules with their places.
fn failing(path: &str) -> Vec<(String, String)> {
    let review: Value =
        serde_json::from_str(&run(&["review", path, "--format", "json"]).stdout).unwrap();
    let findings = review["findings"].as_array().unwrap().iter();
    let word = |f: &Value, key: &str| f[key].as_str().unwrap().to_owned();
    findings
        .filter(|f| f["outcome"] == "fail")
        .map(|f| (word(f, "rule"), word(f, "where")))
        .collect()
}

/// As the report prints them: no verdict and no rule that passed as drawn fails at a limit, nor at
/// a level at which a site that fails is said to hold.
#[test]
fn what_is_printed_holds_when_it_is_put_into_the_file() {
    let demos = cases("ok").into_iter().map(|name| format!("fixtures/ok/{name}/site.yaml"));
    let named = demos.chain([WORKSHOP.to_owned(), YARD.to_owned()]);
    let texts = named.map(|site| std::fs::read_to_string(root().join(site)).unwrap());
    let random = (0..12).map(|seed| {
        crate::random_site::site(
            4000 + seed,
            crate::random_site::Kinds { open: false, loops: seed % 3 == 0, facts: seed % 2 == 0 },
        )
    });
    let (mut printed_in_all, mut limits, mut ways) = (0, 0, 0);
    // A review follows the drains, which takes its time: every fifth limit, all with `WETRUN_LONG`.
    let step = if std::env::var_os("WETRUN_LONG").is_some() { 1 } else { 5 };
    for text in texts.chain(random) {
        let (_folder, path) = scratch("site.yaml", &text);
        let ran = run(&["levels", &path]);
        if ran.status == 2 {
            continue;
        }
        let unit_m = if text.contains("units: us") { 0.3048 } else { 1.0 };
        let before = failing(&path);
        for (tag, key, numbers) in
            rows(&ran.stdout, ["LEVELS TO SET", "LEVELS"][ran.status as usize])
        {
            let printed = if ran.status == 0 { &numbers[1..3] } else { &numbers[1..2] };
            for number in printed.iter().filter(|number| *number != "-") {
                printed_in_all += 1;
                if printed_in_all % step != 0 {
                    continue;
                }
                *(if ran.status == 0 { &mut limits } else { &mut ways }) += 1;
                let to_m = number.parse::<f64>().unwrap() * unit_m;
                let (_folder, path) = scratch("site.yaml", &moved(&text, &tag, &key, to_m));
                let name = format!("{tag} {key} {number}\n{text}");
                let ran = run(&["check", &path]);
                assert_eq!(ran.status, 0, "{name}{}{}", ran.stdout, ran.stderr);
                let new: Vec<_> =
                    failing(&path).into_iter().filter(|f| !before.contains(f)).collect();
                let of_levels = |rule: &str| {
                    !["watertight-level", "construction-tolerance", "test-level"].contains(&rule)
                };
                assert!(!new.iter().any(|(rule, _)| of_levels(rule)), "{name}{new:?}");
            }
        }
    }
    assert!(limits > 100 / step && ways * step > 2, "{limits} {ways}");
}

/// Tight up to where it is asked for, as printed, is tight enough for the review.
#[test]
fn watertight_as_printed_is_watertight_enough() {
    for site in [WORKSHOP, YARD] {
        let text = std::fs::read_to_string(root().join(site)).unwrap();
        let unit = if site == WORKSHOP { "ft" } else { "m" };
        let report = run(&["levels", site]).stdout;
        let lines = report.lines().skip_while(|l| !l.starts_with("WATERTIGHT")).skip(2);
        let mut edits = Vec::new();
        for words in lines.map(|l| l.split_whitespace().collect::<Vec<_>>()) {
            let [tag @ ("D1" | "D2"), to, _] = words[..] else { break };
            edits.push(Edit::new(&["downspouts", tag, "watertight_to"], format!("{to} {unit}")));
        }
        assert_eq!(edits.len(), 2);
        let (_folder, path) = scratch("site.yaml", &set_values(&text, &edits).unwrap());
        let failing = failing(&path);
        assert!(!failing.iter().any(|(rule, _)| rule == "watertight-level"), "{failing:?}");
    }
}

/// By hand, in the yard: a drain runs out no higher than the 9.400 m it drains, an overflow stays
/// a bore (125 mm less two walls of 3.2 mm) below the inlet at 12.200 m, no wall stands below what
/// runs into it.
#[test]
fn rules_stop_a_level_before_the_verdict_does() {
    let result = json(&[YARD]);
    let one = |tag: &str, level: &str| {
        let list = result["set_points"].as_array().unwrap().iter();
        list.clone().find(|s| s["tag"] == tag && s["level"] == level).unwrap().clone()
    };
    let near = |value: &Value, expected_m: f64| (value.as_f64().unwrap() - expected_m).abs() < 1e-6;
    let drain = one("P2", "drain_outlet.level");
    assert!(drain["highest_m"].is_null() && near(&drain["highest_by_rules_m"], 9.4), "{drain}");
    assert_eq!(drain["highest_limited_by"]["rule"], "drain-outlet");
    let overflow = one("T1", "overflow.level");
    assert!(near(&overflow["highest_by_rules_m"], 12.2 - 0.1186), "{overflow}");
    assert!(overflow["highest_m"].as_f64().unwrap() > 12.2, "{overflow}");
    assert_eq!(overflow["highest_limited_by"]["rule"], "inlet-air-gap");
    // The vent and the cap stop at the storm grade line.
    let check: Value =
        serde_json::from_str(&run(&["check", YARD, "--format", "json"]).stdout).unwrap();
    for (tag, level) in [("P1", "vent.level"), ("P2", "cap")] {
        let one = one(tag, level);
        let head_m = check["points"][tag]["head_m"].as_f64().unwrap();
        assert!(near(&one["lowest_m"], head_m) && one["highest_m"].is_null(), "{one}");
        assert_eq!(one["lowest_limited_by"]["rule"], "no-escape");
    }
}

/// Nothing is raised out of the ground: the crown of a 110 mm pipe, 103.6 mm inside and 110 mm
/// outside, stands 106.8 mm above its invert.
#[test]
fn nothing_buried_is_raised_out_of_the_ground() {
    let text = std::fs::read_to_string(root().join(YARD)).unwrap();
    // Drained at both ends and with hardly any soil over it, only the ground is left to stop it.
    let text = text.replace(
        "{ level: 9.450 m, ground: 10.300 m, ",
        "{ level: 9.380 m, ground: 9.700 m, drain: 50 mm, ",
    );
    let text = text.replace(
        "foot: 9.600 m, pipe: pvc-en1401-sn4 110 mm, g",
        "foot: 9.700 m, ground: 10.3 m, pipe: pvc-en1401-sn4 110 mm, g",
    );
    let (_folder, path) = scratch("site.yaml", &text);
    let result = json(&[&path]);
    let list = result["set_points"].as_array().unwrap().iter();
    let point = list.clone().find(|s| s["tag"] == "P1" && s["level"] == "level").unwrap();
    let highest_m = point["highest_by_rules_m"].as_f64().unwrap();
    assert!((highest_m - (9.7 - 0.1068)).abs() < 1e-6, "{point}");
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
    expect(&root().join("fixtures/levels/yard/levels.txt"), &run(&["levels", YARD]).stdout);
    expect(&folder.join("as-built.txt"), &built);
    expect(&folder.join("levels.csv"), &text(&["--format", "csv"]));
    let refused = run(&["levels", WORKSHOP, "--as-built", &READINGS.replace(".yaml", "-err.yaml")]);
    assert_eq!((refused.status, refused.stdout.as_str()), (2, ""));
    expect(&folder.join("readings-err.txt"), &refused.stderr);
    for line in drawn.lines().chain(built.lines()) {
        assert!(unicode_width::UnicodeWidthStr::width(line) <= 80, "{line}");
    }
    assert!(built.starts_with("BELOW TARGET"), "{built}");
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

/// What `levels --as-built` says of a site and readings: the text, its status, and the JSON.
fn as_built(site: &str, readings: &str) -> (String, i32, Value) {
    let (_folder, path) = scratch("readings.yaml", &format!("readings:\n{readings}"));
    let ran = run(&["levels", site, "--as-built", &path]);
    assert_eq!(ran.stderr, "");
    (ran.stdout, ran.status, json(&[site, "--as-built", &path])["as_built"].clone())
}

#[test]
fn readings_that_do_not_close_are_no_leave_to_go_on() {
    // The sight stands at 104.32 ft; BM2 would come out at 99.45 ft, 0.10 ft high.
    let shots = "  - { backsight: BM1, rod: 4.32 ft }
  - { tag: T1, level: inlet, rod: -3.28 ft }
  - { close: BM2, rod: 4.87 ft }
";
    let (text, status, result) = as_built(WORKSHOP, shots);
    assert!(text.starts_with("MEASURE AGAIN  the readings do not close on BM2"), "{text}");
    assert_eq!((status, &result["verdict"]), (1, &"measure-again".into()));
    assert!(!text.contains("GO ON"));
    // Closed within 5 mm the same shots are leave to go on.
    let (text, status, result) = as_built(WORKSHOP, &shots.replace("4.87", "4.97"));
    assert!(text.starts_with("GO ON"), "{text}");
    assert_eq!((status, &result["verdict"]), (0, &"go-on".into()));
}

#[test]
fn a_level_far_from_its_design_is_doubted_by_name() {
    // By the sign: 104.32 ft less 3.60 ft is 100.72 ft, and with the rod upside down 107.92 ft.
    let shots = "  - { backsight: BM1, rod: 4.32 ft }
  - { tag: T1, level: inlet, rod: 3.60 ft }
";
    let (text, status, result) = as_built(WORKSHOP, shots);
    assert_eq!((status, &result["verdict"]), (1, &"measure-again".into()));
    assert!(text.contains("T1 inlet comes out 82.6 in below its design"), "{text}");
    assert!(text.contains("turned it is 107.92 ft"), "{text}");
    assert_eq!(result["doubts"][0]["level"], "T1 inlet");
    // 6 in are not doubted yet, 6.1 in are.
    for (found, doubts) in [("110.9 ft", 0), ("110.91 ft", 1)] {
        let shots = format!("  - {{ tag: P1, level: vent.level, measured: {found} }}\n");
        let (_, status, result) = as_built(WORKSHOP, &shots);
        assert_eq!(result["doubts"].as_array().unwrap().len(), doubts, "{found}");
        assert_eq!(status, doubts as i32);
    }
    // In metres it is 150 mm.
    for (found, doubts) in [("12.950 m", 0), ("12.951 m", 1)] {
        let shots = format!("  - {{ tag: D2, level: outlet, measured: {found} }}\n");
        let (_, _, result) = as_built(YARD, &shots);
        assert_eq!(result["doubts"].as_array().unwrap().len(), doubts, "{found}");
    }
}

/// The drain's outlet 10 mm above what it drains, 9.400 m: nothing spills, but it is no drain.
#[test]
fn rules_that_turned_are_no_leave_to_go_on() {
    let shots = "  - { tag: P2, level: level, measured: 9.190 m }\n";
    let yard = std::fs::read_to_string(root().join(YARD)).unwrap();
    let (_folder, site) = scratch("site.yaml", &yard.replace("level: 9.400 m", "level: 9.300 m"));
    let (text, status, result) = as_built(&site, shots);
    assert!(text.starts_with("NOT YET  "), "{text}");
    assert_eq!((status, &result["verdict"]), (1, &"rules-turned".into()));
    let turned = result["turned"].as_array().unwrap();
    assert!(turned.iter().any(|t| t["rule"] == "drain-outlet" && t["where"] == "P2"), "{turned:?}");
    assert!(text.contains("\nNO LONGER PASSES\n  drain-outlet, P2: "), "{text}");
}

/// Both the inlet high and the outlet low, each within 150 mm: neither is to be set any more, and
/// what was measured can be set again. Every way that is printed holds once it is in the file.
#[test]
fn what_was_measured_can_be_set_back() {
    let workshop = std::fs::read_to_string(root().join(WORKSHOP)).unwrap();
    let every = json(&[WORKSHOP]);
    let shots: String =
        every["set_points"].as_array().unwrap().iter().fold(String::new(), |shots, one| {
            let (tag, level) = (one["tag"].as_str().unwrap(), one["level"].as_str().unwrap());
            let off_m = match (tag, level) {
                ("T1", "inlet") => 0.10,
                ("D2", "leaf_head") => -0.06,
                _ => 0.0,
            };
            let found_m = one["design_m"].as_f64().unwrap() + off_m;
            shots + &format!("  - {{ tag: {tag}, level: \"{level}\", measured: {found_m:.6} m }}\n")
        });
    let (text, status, result) = as_built(WORKSHOP, &shots);
    assert_eq!((status, &result["verdict"]), (1, &"below-target".into()), "{text}");
    assert_eq!(result["unmeasured"], 0);
    assert_eq!(result["win_back"].as_array().unwrap().len(), 0);
    let again = result["set_again"].as_array().unwrap();
    assert!(!again.is_empty() && !text.contains("nothing was found"), "{text}");
    let folder = tempfile::tempdir().unwrap();
    let (readings, out) = (folder.path().join("readings.yaml"), folder.path().join("built.yaml"));
    std::fs::write(&readings, format!("readings:\n{shots}")).unwrap();
    let (readings, out) = (readings.to_str().unwrap(), out.to_str().unwrap());
    let ran = run(&["levels", WORKSHOP, "--as-built", readings, "--write", out]);
    assert!(ran.stderr.contains("is the site as built, which fails"), "{}", ran.stderr);
    assert_eq!(run(&["check", out]).status, 1);
    let built = std::fs::read_to_string(out).unwrap();
    assert_ne!(built, workshop);
    for way in again {
        let (tag, level) = (way["tag"].as_str().unwrap(), way["level"].as_str().unwrap());
        let to_m = way["set_to_m"].as_f64().unwrap();
        let (_folder, path) = scratch("site.yaml", &moved(&built, tag, level, to_m));
        assert_eq!(run(&["check", &path]).status, 0, "{way}\n{text}");
    }
}

/// A tolerance is for what is still to be set: once all but one level stand where they are drawn,
/// that one may use all that its own limits leave.
#[test]
fn the_tolerance_is_that_of_levels_not_yet_measured() {
    let result = json(&[YARD]);
    let set_points = result["set_points"].as_array().unwrap();
    let d2 = |one: &&Value| one["tag"] == "D2" && one["level"] == "outlet";
    let shots: String =
        set_points.iter().filter(|one| !d2(one)).fold(String::new(), |shots, one| {
            let design_m = one["design_m"].as_f64().unwrap();
            shots
                + &format!(
                    "  - {{ tag: {}, level: {}, measured: {design_m} m }}\n",
                    one["tag"], one["level"]
                )
        });
    let (_folder, path) = scratch("readings.yaml", &format!("readings:\n{shots}"));
    let built = json(&[YARD, "--as-built", &path]);
    let lowest_m = set_points.iter().find(d2).unwrap()["lowest_m"].as_f64().unwrap();
    let tolerance_m = built["tolerance_all_m"].as_f64().unwrap();
    assert!((12.8 - lowest_m - tolerance_m).abs() < 2e-6, "{tolerance_m} {lowest_m}");
    assert!(tolerance_m > result["tolerance_all_m"].as_f64().unwrap());
}

/// On a site that fails each level says where it alone would mend it, or that none was found.
#[test]
fn a_site_that_fails_shows_how_far_each_level_would_have_to_go() {
    let yard = std::fs::read_to_string(root().join(YARD)).unwrap();
    let low = yard.replace("vent: { level: 12.560 m }", "vent: { level: 12.200 m }");
    let (_folder, path) = scratch("site.yaml", &low);
    let ran = run(&["levels", &path]);
    assert!(ran.status == 1 && ran.stdout.starts_with("FAILS  the vent at P1"), "{}", ran.stdout);
    let rows = rows(&ran.stdout, "LEVELS");
    let vent = rows.iter().find(|(_, key, _)| key == "vent.level").unwrap();
    let to_m: f64 = vent.2[1].parse().unwrap();
    for (move_m, status) in [(0.0, 0), (-0.0011, 1)] {
        let text = moved(&low, "P1", "vent.level", to_m + move_m);
        let (_folder, path) = scratch("site.yaml", &text);
        assert_eq!(run(&["check", &path]).status, status, "{move_m}");
    }
    // Two openings far too low: no one level mends both.
    let two = low.replace("cap: 12.520 m", "cap: 9.9 m").replace("12.200 m }", "9.9 m }");
    let (_folder, path) = scratch("site.yaml", &two);
    let ran = run(&["levels", &path]);
    assert!(ran.status == 1 && ran.stdout.contains("No one level alone does it"), "{}", ran.stdout);
}

#[test]
fn nothing_that_is_read_is_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (site, readings) = (path("site.yaml"), path("readings.yaml"));
    std::fs::copy(root().join(WORKSHOP), &site).unwrap();
    std::fs::copy(root().join(READINGS), &readings).unwrap();
    let text = |path: &str| std::fs::read_to_string(path).unwrap();
    let before = [text(&site), text(&readings)];
    for out in [&site, &readings] {
        let ran = run(&["levels", &site, "--as-built", &readings, "--write", out]);
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{out}");
        assert!(ran.stderr.contains("--force"), "{}", ran.stderr);
        assert_eq!([text(&site), text(&readings)], before);
    }
    let ran = run(&["levels", &site, "--as-built", &readings, "--write", &site, "--force"]);
    assert_eq!(ran.status, 1, "{}", ran.stderr);
    assert!(text(&site).contains("inlet: 107.92 ft"));
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
