//! Tables of rain through the program: what it prints of them, and what it puts into a site file.
//!
//! The numbers of published tables are open data of the US weather service (NOAA Atlas 14); those
//! under `fixtures/rain` are invented.

use crate::readers::read_by;
use crate::support::{root, run};
use serde_json::{Value, json};
use std::fs::{read_to_string, write};

const ENGLISH: &str = "crates/rain/tests/data/depth-english-pds.csv";
const METRIC_INTENSITY: &str = "crates/rain/tests/data/intensity-metric-pds.csv";
const ANNUAL: &str = "fixtures/rain/annual-maximum-depth-metric.csv";
const BOUNDS: &str = "fixtures/rain/depth-metric-with-bounds.csv";
const PLAIN: &str = "fixtures/rain/plain.csv";
const HALL: &str = "fixtures/ok/us-hall-six-downspouts/site.yaml";

fn result(args: &[&str]) -> (Value, String) {
    let ran = run(&[&["rain"], args, &["--format", "json"]].concat());
    assert_eq!(ran.status, 0, "{args:?}: {}", ran.stderr);
    (serde_json::from_str(&ran.stdout).unwrap(), ran.stderr)
}

fn near(value: &Value, expected: f64) {
    let value = value.as_f64().unwrap();
    assert!((value / expected - 1.0).abs() < 1e-11, "{value} {expected}");
}

/// A copy of a demo that may be written.
fn scratch(text: &str) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("site.yaml");
    write(&path, text).unwrap();
    let name = path.to_str().unwrap().to_owned();
    (folder, name)
}

fn hall() -> String {
    read_to_string(root().join(HALL)).unwrap()
}

/// 26.6 N 81.9 W, once in 100 years: 12.1 in a day, 1.15 in five minutes, as printed.
#[test]
fn the_result_has_the_keys_of_the_contract() {
    let (found, said) = result(&[ENGLISH, "--years", "100"]);
    assert_eq!(said, "");
    let rows = found["rows"].as_array().unwrap();
    assert_eq!(rows.len(), 19);
    for row in rows {
        let keys: Vec<&String> = row.as_object().unwrap().keys().collect();
        assert_eq!(keys, ["duration_s", "depth_m", "intensity_m_per_s"]);
        near(
            &row["intensity_m_per_s"],
            row["depth_m"].as_f64().unwrap() / row["duration_s"].as_f64().unwrap(),
        );
    }
    let day = rows.iter().find(|row| row["duration_s"] == 86400.0).unwrap();
    near(&day["depth_m"], 12.1 * 0.0254);
    near(&rows[0]["depth_m"], 1.15 * 0.0254);
    near(&found["storm"]["intensity_m_per_s"], 1.15 * 0.0254 / 300.0);
    assert_eq!(found["storm"]["duration_s"], 300.0);
    assert_eq!((&found["wetrun"], &found["years"]), (&json!(1), &json!(100.0)));
    assert_eq!((&found["series"], &found["place"]), (&json!("partial-duration"), &Value::Null));
    assert_eq!(found["edition"], "NOAA Atlas 14 Volume 9 Version 2");
    assert_eq!((&found["latitude"], &found["longitude"]), (&json!("26.6"), &json!("-81.9")));
}

/// 40.1 N 88.3 W: 0.647 in once in 10 years, 0.740 in once in 25; once in 20 years 0.71619 in by the
/// logarithms of depth and years, worked with another program. 0.647 in of 5 min is 7.764 in/h.
#[test]
fn return_periods_between_columns_and_none_beyond_them() {
    let text = "duration,10 yr (in),25 yr (in)\n5 min,0.647,0.740\n60 min,2.17,2.55\n";
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("table.csv");
    write(&path, text).unwrap();
    let table = path.to_str().unwrap();
    let (exact, said) = result(&[table, "--years", "10"]);
    near(&exact["storm"]["intensity_m_per_s"], 7.764 * 0.0254 / 3600.0);
    assert_eq!((said.as_str(), &exact["interpolated"]), ("", &json!(false)));
    let (between, said) = result(&[table, "--years", "20"]);
    let inches = between["rows"][0]["depth_m"].as_f64().unwrap() / 0.0254;
    assert!((inches - 0.71619).abs() < 1e-5, "{inches}");
    assert!(said.contains("warning: 20 years lies between two columns"), "{said}");
    for years in ["9", "26", "0", "-5", "nan", "inf", "ten"] {
        let ran = run(&["rain", table, "--years", years, "--format", "json"]);
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{years}");
    }
    let ran = run(&["rain", table]);
    assert_eq!((ran.status, ran.stdout.as_str()), (2, ""));
    assert!(ran.stderr.contains("--years 10") && ran.stderr.contains("10, 25"), "{}", ran.stderr);
    // A table of one return period needs no word for it.
    write(&path, "duration,50 yr (mm)\n5 min,20\n").unwrap();
    assert_eq!(result(&[table]).0["years"], 50.0);
}

#[test]
fn an_annual_maximum_is_not_converted_and_said_so() {
    let (found, said) = result(&[ANNUAL, "--years", "10"]);
    assert_eq!(found["series"], "annual-maximum");
    // 20.0 mm stand under '1/10 beside 5-min.
    let line = read_to_string(root().join(ANNUAL)).unwrap();
    let line = line.lines().find(|line| line.starts_with("5-min:,")).unwrap().to_owned();
    let printed: f64 = line.split(',').nth(3).unwrap().trim().parse().unwrap();
    near(&found["rows"][0]["depth_m"], printed / 1e3);
    for told in [said.as_str(), found["notes"][0].as_str().unwrap()] {
        assert!(told.contains("1/10 in a year") && told.contains("not converted"), "{told}");
    }
    let text = run(&["rain", ANNUAL, "--years", "10"]).stdout;
    assert!(text.starts_with("RAIN  1/10 in a year\n"), "{text}");
    assert!(text.contains("annual maximum"), "{text}");
    // Without a column of one year there is no rain of one year.
    assert_eq!(run(&["rain", ANNUAL, "--years", "1"]).status, 2);
}

/// 39 N 105 W: whole mm/h. 13 mm/h over 3 h may be 4 % off, 8 mm/h over 6 h 6 %.
#[test]
fn coarse_metric_intensities_are_left_out_with_a_warning() {
    let (found, said) = result(&[METRIC_INTENSITY, "--years", "10"]);
    let rows = found["rows"].as_array().unwrap();
    assert_eq!(rows.len(), 7);
    near(&rows[6]["duration_s"], 10800.0);
    near(&rows[6]["depth_m"], 0.039);
    assert!(said.starts_with("warning: left out") && said.contains("6 h, 12 h"), "{said}");
    // What is left out is not a duration to take the storm from either.
    let ran = run(&["rain", METRIC_INTENSITY, "--years", "10", "--duration", "6 h"]);
    assert_eq!((ran.status, ran.stdout.as_str()), (2, ""));
    assert!(ran.stderr.contains("from 5 min to 3 h"), "{}", ran.stderr);
}

#[test]
fn bounds_in_the_same_file_are_not_taken_for_the_estimate() {
    let (found, said) = result(&[BOUNDS, "--years", "25"]);
    let text = read_to_string(root().join(BOUNDS)).unwrap();
    let first = text.lines().find(|line| line.starts_with("24-hr:,")).unwrap();
    let printed: f64 = first.split(',').nth(5).unwrap().trim().parse().unwrap();
    let day = found["rows"].as_array().unwrap();
    let day = day.iter().find(|row| row["duration_s"] == 86400.0).unwrap();
    near(&day["depth_m"], printed / 1e3);
    assert!(said.contains("bounds of the confidence interval are not used"), "{said}");
    assert_eq!(found["place"], "An invented place, for tests");
}

#[test]
fn faults_have_line_and_column_and_nothing_else_is_said() {
    let text = read_to_string(root().join(PLAIN)).unwrap();
    for (bent, place) in [
        (text.replacen("2 yr (mm)", "2 yr", 1), "2:10"),
        (text.replacen("15 min", "15 hours ago", 1), "5:1"),
        // The depth of 30 min below that of 15 min.
        (text.replacen("30 min,23.6,39.6", "30 min,23.6,30.1", 1), "6:13"),
        (text.replacen(",", ",=cmd()", 9), ""),
        (String::new(), "1:1"),
    ] {
        let (_folder, path) = scratch(&bent);
        let ran = run(&["rain", &path, "--years", "10", "--format", "json"]);
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{bent}");
        assert!(ran.stderr.contains(&format!("{path}:{place}")), "{place}: {}", ran.stderr);
        assert_eq!(ran.stderr.contains("less falls in"), place == "6:13", "{}", ran.stderr);
    }
    for args in [
        &["rain", PLAIN, "--years", "10", "--duration", "5 mm"][..],
        &["rain", PLAIN, "--years", "10", "--duration", "1 min"],
        &["rain", PLAIN, "--years", "10", "--duration", "-5 min"],
        &["rain", PLAIN, "--years", "10", "--write", "no/such/site.yaml"],
        &["rain", PLAIN, "--years", "10", "--write", "-"],
        &["rain", PLAIN, "--years", "10", "--write", PLAIN],
        &["rain", "no/such/table.csv", "--years", "10"],
        &["rain"],
    ] {
        let ran = run(args);
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{args:?}");
        assert!(!ran.stderr.is_empty());
    }
}

/// What is written is read back: by the program, and by a reader of YAML that knows nothing of it.
#[test]
fn a_site_file_takes_the_table_and_keeps_the_rest() {
    let (_folder, path) = scratch(&hall());
    let ran = run(&["rain", ENGLISH, "--years", "100", "--write", &path]);
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    assert!(ran.stderr.contains("storm.basis still says `25-year"), "{}", ran.stderr);
    let after = read_to_string(&path).unwrap();
    let check = run(&["check", &path, "--format", "json"]);
    let check: Value = serde_json::from_str(&check.stdout).unwrap();
    near(&check["storm"]["intensity_m_per_s"], 1.15 * 0.0254 / 300.0);
    // Each line that was there is there, in order, but for the intensity.
    let mut rest = after.lines();
    for line in hall().lines().filter(|line| !line.contains("intensity:")) {
        assert!(rest.any(|found| found == line), "{line}\n{after}");
    }
    // A second time changes nothing, and another duration only that.
    assert_eq!(run(&["rain", ENGLISH, "--years", "100", "--write", &path]).status, 0);
    assert_eq!(read_to_string(&path).unwrap(), after);
    let args = ["rain", ENGLISH, "--years", "100", "--duration", "10 min", "--write", &path];
    assert_eq!(run(&args).status, 0);
    assert_eq!(
        read_to_string(&path).unwrap(),
        after.replace("duration: 5 min", "duration: 10 min")
    );
    // Without a basis of its own the file says the table's.
    let bare: String =
        hall().lines().filter(|line| !line.contains("basis")).map(|l| format!("{l}\n")).collect();
    let (_folder, path) = scratch(&bare);
    let ran = run(&["rain", ANNUAL, "--years", "10", "--write", &path]);
    assert!(!ran.stderr.contains("storm.basis"), "{}", ran.stderr);
    let check = run(&["check", &path, "--format", "json"]);
    let check: Value = serde_json::from_str(&check.stdout).unwrap();
    let basis = check["storm"]["basis"].as_str().unwrap();
    assert!(basis.starts_with("5 min, 10 years") && basis.contains("annual maximum"), "{basis}");
    assert!(basis.contains("An invented place"), "{basis}");
}

/// A site file that could not be read stays as it is, and its faults are told at their places.
#[test]
fn a_broken_site_file_is_left_alone() {
    for broken in [hall().replace("to: W1", "to: W9"), hall().replace("name:", "name: [")] {
        let (_folder, path) = scratch(&broken);
        let ran = run(&["rain", ENGLISH, "--years", "10", "--write", &path]);
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{broken}");
        assert!(ran.stderr.contains(&format!("--> {path}:")), "{}", ran.stderr);
        assert_eq!(ran.stderr, run(&["check", &path]).stderr);
        assert_eq!(read_to_string(&path).unwrap(), broken);
    }
    // An anchor is no fault: it stays where it is.
    let (_folder, path) = scratch(&hall().replace("storm:", "storm: &s"));
    let ran = run(&["rain", ENGLISH, "--years", "10", "--write", &path]);
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    assert!(read_to_string(&path).unwrap().contains("storm: &s"));
    assert!(run(&["check", &path]).status < 2);
}

#[test]
fn the_table_of_values_is_that_of_the_json() {
    let folder = tempfile::tempdir().unwrap();
    let mut list = Vec::new();
    for (number, table) in [ENGLISH, METRIC_INTENSITY, ANNUAL, BOUNDS, PLAIN].iter().enumerate() {
        let file = |end: &str, text: &str| {
            let path = folder.path().join(format!("{number}.{end}"));
            write(&path, text).unwrap();
            path.to_str().unwrap().to_owned()
        };
        let ran = |format| run(&["rain", table, "--years", "50", "--format", format]);
        let (csv, json) = (ran("csv"), ran("json"));
        assert_eq!((csv.status, &csv.stderr), (0, &json.stderr));
        assert!(csv.stdout.starts_with("duration_s,depth_m,intensity_m_per_s\n"));
        let (csv, json) = (file("csv", &csv.stdout), file("json", &json.stdout));
        list.push(json!({ "csv": csv, "json": json, "way": ["rows"], "near": 0.0 }));
    }
    let path = folder.path().join("list.json");
    write(&path, Value::from(list).to_string()).unwrap();
    let Some(cells) = read_by("tables.py", &[path.to_str().unwrap()]) else { return };
    assert!(cells.trim().parse::<usize>().unwrap() > 150, "{cells}");
}

#[test]
fn the_report_fits_the_page() {
    for table in [ENGLISH, METRIC_INTENSITY, ANNUAL, BOUNDS, PLAIN] {
        for years in ["2", "50", "100"] {
            let text = run(&["rain", table, "--years", years]).stdout;
            for line in text.lines() {
                assert!(line.chars().count() <= 80, "{line}");
            }
            assert!(text.contains("5 min"), "{text}");
        }
    }
}
