//! The program from outside: exit statuses, what goes where, colour, width, closed pipes.

use crate::support::{cases, ran, root, run, wetrun};
use std::io::{Read, Write};
use std::process::Stdio;
use unicode_width::UnicodeWidthStr;

const HALL: &str = "fixtures/ok/us-hall-six-downspouts/site.yaml";
const LOW: &str = "fixtures/ok/us-hall-low-roof/site.yaml";

fn scratch(text: &str) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("site.yaml");
    std::fs::write(&path, text).unwrap();
    let name = path.to_str().unwrap().to_owned();
    (folder, name)
}

fn hall() -> String {
    std::fs::read_to_string(root().join(HALL)).unwrap()
}

#[test]
fn exit_statuses_are_those_of_the_contract() {
    assert_eq!(run(&["check", HALL]).status, 0);
    assert_eq!(run(&["check", LOW]).status, 1);
    for args in [
        &["check", "no/such/file.yaml"][..],
        &["check", "fixtures"],
        &["check"],
        &["chekc", HALL],
        &["check", HALL, "--storm", "6 gal"],
        &["check", HALL, "--storm", "-1 in/h"],
        &["check", HALL, "--storm", "nan"],
        &["check", HALL, "--tanks", "half"],
        &["check", HALL, "--format", "xml"],
    ] {
        let ran = run(args);
        assert_eq!(ran.status, 2, "{args:?}");
        assert_eq!(ran.stdout, "", "{args:?}");
        assert!(!ran.stderr.is_empty(), "{args:?}");
    }
}

#[test]
fn a_broken_site_is_told_on_stderr_only() {
    let (_folder, path) = scratch(&hall().replace("to: W1", "to: W9"));
    for format in ["text", "json"] {
        let ran = run(&["check", &path, "--format", format]);
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""));
        assert!(ran.stderr.contains("W9"), "{}", ran.stderr);
    }
}

#[test]
fn open_sizes_are_refused_by_name() {
    let open = hall()
        .replace("to: P1, pipe: pvc-sch40 6 in", "to: P1, pipe: { type: pvc-sch40, size: any }");
    let (_folder, path) = scratch(&open);
    let ran = run(&["check", &path]);
    assert_eq!((ran.status, ran.stdout.as_str()), (2, ""));
    assert!(ran.stderr.contains("M6"), "{}", ran.stderr);
}

#[test]
fn the_first_line_is_the_verdict_with_its_margin_and_its_rain() {
    let good = run(&["check", HALL]).stdout;
    let first = good.lines().next().unwrap();
    assert!(first.starts_with("HOLDS  "), "{first}");
    assert!(first.contains(" in below ") && first.contains("spills at"), "{first}");
    let bad = run(&["check", LOW]).stdout;
    let first = bad.lines().next().unwrap();
    assert!(first.starts_with("FAILS  ") && first.contains("D5"), "{first}");
    assert!(first.contains("in/h"), "{first}");
}

#[test]
fn no_line_is_wider_than_80_columns() {
    let long = hall()
        .replace("M3", "the-long-line-round-the-gable-to-the-south-side-of-the-hall-and-back")
        .replace("D2", "排水立管二号");
    let (_folder, path) = scratch(&long);
    let mut runs: Vec<Vec<String>> = cases("ok")
        .iter()
        .flat_map(|name| {
            let site = format!("fixtures/ok/{name}/site.yaml");
            [vec!["check".into(), site.clone()], vec!["check".into(), site, "--both-units".into()]]
        })
        .collect();
    runs.push(vec!["list".into(), "pipes".into()]);
    runs.push(vec!["list".into(), "fittings".into()]);
    runs.push(vec!["check".into(), path]);
    runs.push(vec!["--help".into()]);
    runs.push(vec!["check".into(), "--help".into()]);
    for args in runs {
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        let ran = run(&args);
        assert_eq!(ran.stderr, "", "{args:?}");
        for line in ran.stdout.lines() {
            assert!(line.width() <= 80, "{args:?}: {line}");
            assert_eq!(line, line.trim_end(), "{args:?}: blanks at the end");
        }
    }
}

#[test]
fn colour_only_where_it_is_wanted() {
    assert!(!run(&["check", HALL]).stdout.contains('\u{1b}'), "a pipe is no terminal");
    assert!(run(&["check", HALL, "--color", "always"]).stdout.contains('\u{1b}'));
    let quiet = ran(wetrun(&["check", HALL]).env("NO_COLOR", "1").output().unwrap());
    assert!(!quiet.stdout.contains('\u{1b}'));
    let json = run(&["check", HALL, "--format", "json", "--color", "always"]);
    assert!(!json.stdout.contains('\u{1b}'), "JSON is never coloured");
    let error = run(&["check", "no/such/file.yaml", "--color", "never"]);
    assert!(!error.stderr.contains('\u{1b}'));
    let (_folder, path) = scratch("wetrun: 1\nname: [");
    let error = run(&["check", &path]);
    assert!(error.status == 2 && !error.stderr.contains('\u{1b}'), "{}", error.stderr);
}

#[test]
fn a_closed_pipe_is_no_accident() {
    let mut child =
        wetrun(&["list", "pipes"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let mut told = String::new();
    child.stderr.take().unwrap().read_to_string(&mut told).unwrap();
    assert_eq!(told, "");
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

#[test]
fn a_site_can_come_from_standard_input() {
    let mut child =
        wetrun(&["check", "-"]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(hall().as_bytes()).unwrap();
    let from_pipe = ran(child.wait_with_output().unwrap());
    assert_eq!(from_pipe.stdout, run(&["check", HALL]).stdout);
}

#[test]
fn overrides_hold_for_one_run() {
    let json = |args: &[&str]| -> serde_json::Value {
        let ran = run(&[&["check", HALL, "--format", "json"], args].concat());
        serde_json::from_str(&ran.stdout).unwrap()
    };
    let rain = |result: &serde_json::Value| result["storm"]["intensity_m_per_s"].as_f64().unwrap();
    let six = json(&["--storm", "6 in/h"]);
    assert!((rain(&six) - 6.0 * 0.0254 / 3600.0).abs() < 1e-16);
    // A bare number takes the unit of the site's system: inches an hour.
    assert_eq!(rain(&json(&["--storm", "6"])), rain(&six));
    assert_eq!(run(&["check", HALL, "--storm", "60 in/h"]).status, 1);
    assert_eq!(run(&["check", HALL, "--storm", "0"]).status, 0);
    let empty = json(&["--tanks", "empty"]);
    assert_eq!(empty["storm"]["tanks"], "empty");
    assert!(empty["tanks"]["T1"]["water_level_m"].is_null());
    assert_eq!(empty["tanks"]["T1"]["overflow_m3_per_s"], 0.0);
}

#[test]
fn spill_rains_are_left_out_when_asked() {
    const LEAKS: &str = "fixtures/ok/si-vent-below-the-grade/site.yaml";
    for site in [HALL, LEAKS, "fixtures/ok/si-looks-fine-fails/site.yaml"] {
        let [whole, quick] = [vec!["check", site], vec!["check", site, "--no-spill-rains"]];
        assert_eq!(run(&quick).status, run(&whole).status, "{site}");
        let text = run(&quick).stdout;
        for words in ["spills at", "lets out at", "begins", "begin ", "; it"] {
            assert!(!text.contains(words), "{site}: {words}\n{text}");
        }
        let json = |mut arguments: Vec<&str>| -> serde_json::Value {
            arguments.extend(["--format", "json"]);
            serde_json::from_str(&run(&arguments).stdout).unwrap()
        };
        let mut expected = json(whole);
        for (part, key) in [("downspouts", "spills_at_m_per_s"), ("openings", "escapes_at_m_per_s")]
        {
            for piece in expected[part].as_object_mut().unwrap().values_mut() {
                assert!(piece.as_object_mut().unwrap().remove(key).is_some(), "{site}: {key}");
            }
        }
        expected.as_object_mut().unwrap().remove("findings");
        let mut found = json(quick);
        found.as_object_mut().unwrap().remove("findings");
        assert_eq!(found, expected, "{site}");
    }
}

#[test]
fn both_unit_systems_stand_side_by_side() {
    let text = run(&["check", HALL, "--both-units"]).stdout;
    for unit in ["gpm", "L/s", "ft", " m", "in/h", "mm/h"] {
        assert!(text.contains(unit), "{unit}");
    }
}

#[test]
fn the_catalogue_lists_what_the_site_file_may_name() {
    let pipes: serde_json::Value =
        serde_json::from_str(&run(&["list", "pipes", "--format", "json"]).stdout).unwrap();
    // ASTM D1785: 4 in schedule 40 is 4.500 in outside with a wall of 0.237 in.
    let four = &pipes["pipes"]["pvc-sch40"]["sizes"]["4 in"];
    let inside_m = (4.500 - 2.0 * 0.237) * 0.0254;
    assert!((four["inside_m"].as_f64().unwrap() - inside_m).abs() < 1e-12);
    let fittings: serde_json::Value =
        serde_json::from_str(&run(&["list", "fittings", "--format", "json"]).stdout).unwrap();
    for fitting in fittings["fittings"].as_object().unwrap().values() {
        for key in ["what", "source", "published", "confidence"] {
            assert!(!fitting[key].as_str().unwrap().is_empty());
        }
    }
    assert!(run(&["list", "pipes"]).stdout.contains("pvc-sdr35"));
    assert!(run(&["list", "fittings"]).stdout.contains("bend-90"));
}

/// The same file gives the same bytes.
#[test]
fn the_same_input_gives_the_same_bytes() {
    let first = run(&["check", LOW, "--format", "json"]).stdout;
    assert_eq!(first, run(&["check", LOW, "--format", "json"]).stdout);
}

/// The storm from the rain table: 0.44 in in 5 min is 5.28 in/h; 7 min lies between 5 and 10 min in
/// log depth over log duration: 0.44 in (0.70/0.44)^(ln 1.4/ln 2), worked by hand.
#[test]
fn the_storm_comes_from_the_rain_table() {
    let site = |duration: &str| {
        format!(
            "wetrun: 1\nunits: us\nname: Shed\n\
             rainfall: {{ source: county table, years: 25, depths: {{ 5 min: 0.44 in, 10 min: 0.70 in }} }}\n\
             storm: {{ from: rainfall, duration: {duration} }}\n\
             downspouts:\n  D1: {{ outlet: 12 ft, foot: 2 ft, pipe: pvc-sch40 4 in }}\n\
             roofs:\n  R1: {{ area: 600 sq ft, to: D1 }}\n\
             lines:\n  M1: {{ from: D1, to: T1, length: 60 ft, pipe: pvc-sch40 4 in }}\n\
             tanks:\n  T1: {{ inlet: 9 ft }}\n"
        )
    };
    let dir = tempfile::tempdir().unwrap();
    let by_hand = 0.44 * (0.70_f64 / 0.44).powf(1.4_f64.ln() / 2.0_f64.ln()) * 60.0 / 7.0;
    for (duration, inches_per_hour) in [("5 min", 5.28), ("600 s", 4.2), ("7 min", by_hand)] {
        let path = dir.path().join("site.yaml");
        std::fs::write(&path, site(duration)).unwrap();
        let ran = run(&["check", path.to_str().unwrap(), "--format", "json"]);
        assert_eq!(ran.stderr, "");
        let result: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
        let found = result["storm"]["intensity_m_per_s"].as_f64().unwrap() * 3.6e6 / 25.4;
        assert!((found - inches_per_hour).abs() < 1e-9, "{duration}: {found}");
        let basis = result["storm"]["basis"].as_str().unwrap();
        assert!(basis.ends_with(" min, 25 years: county table"), "{basis}");
    }
}
