//! `wetrun year` as it is run: statuses, places of faults, the contract's keys, the balance.

use crate::support::run;
use serde_json::Value;

const SITE: &str = "fixtures/year/us-three-tanks/site.yaml";
const RAIN: &str = "crates/year/tests/data/seattle.csv";

fn json(args: &[&str]) -> Value {
    let ran = run(&[&["year", SITE, "--rain", RAIN, "--format", "json"], args].concat());
    assert_eq!((ran.status, ran.stderr.as_str()), (0, ""));
    serde_json::from_str(&ran.stdout).unwrap()
}

/// 2100 sq ft under 4426.0 mm, the sum of the file as its source gives it.
#[test]
fn water_is_accounted_for() {
    for order in ["use-last", "use-first"] {
        let year = json(&["--order", order]);
        let total = |key: &str| year["totals"][key].as_f64().unwrap();
        let area_m2 = 2100.0 * 0.3048 * 0.3048;
        assert!((total("rain_m3") - area_m2 * 4.4260).abs() < 1e-6, "{}", total("rain_m3"));
        assert!(total("balance_m3").abs() <= 1e-9 * total("rain_m3"));
        assert_eq!((year["days"].as_u64(), year["order"].as_str()), (Some(1461), Some(order)));
        for tank in year["tanks"].as_object().unwrap().values() {
            let m3 = |key: &str| tank[key].as_f64().unwrap();
            let came = m3("start_m3") + m3("received_m3");
            assert!((came - m3("given_m3") - m3("overflowed_m3") - m3("end_m3")).abs() < 1e-6);
        }
        // T1 starts half way from 101 ft to 108 ft: half of 2500 gal.
        let start = year["tanks"]["T1"]["start_m3"].as_f64().unwrap();
        assert!((start - 1250.0 * 3.785_411_784e-3).abs() < 1e-9);
        let months = year["months"].as_array().unwrap();
        let met: f64 = months.iter().map(|month| month["met_m3"].as_f64().unwrap()).sum();
        assert!(months.len() == 48 && (met - total("used_m3")).abs() < 1e-6);
    }
}

/// The demo's report, word for word.
#[test]
fn the_demo_reads_as_it_did() {
    let ran = run(&["year", SITE, "--rain", RAIN]);
    let path = crate::support::root().join("fixtures/year/us-three-tanks/year.txt");
    crate::support::expect(&path, &ran.stdout);
}

#[test]
fn the_report_fits_a_page() {
    let shut = ["--without", "T2", "--from", "2013-04-01", "--to", "2013-04-10"];
    let ran = run(&[&["year", SITE, "--rain", RAIN], &shut[..]].concat());
    assert_eq!((ran.status, ran.stderr.as_str()), (0, ""));
    assert!(ran.stdout.lines().all(|line| line.chars().count() <= 80), "{}", ran.stdout);
    assert!(ran.stdout.contains("short on"), "{}", ran.stdout);
}

#[test]
fn what_cannot_be_run_is_refused_with_its_place() {
    let no_volume = run(&["year", "fixtures/ok/si-no-rain/site.yaml", "--rain", RAIN]);
    assert_eq!((no_volume.status, no_volume.stdout.as_str()), (2, ""), "{}", no_volume.stderr);
    let public = run(&["year", SITE, "--rain", "Cargo.toml"]);
    assert_eq!(public.status, 2);
    assert!(public.stderr.contains("Cargo.toml:1:1: "), "{}", public.stderr);
}

/// A row a day: what stands in the tanks in the last evening is what the year ends with.
#[test]
fn days_as_rows_end_where_the_year_ends() {
    let ran = run(&["year", SITE, "--rain", RAIN, "--format", "csv", "--by", "day"]);
    assert_eq!((ran.status, ran.stderr.as_str()), (0, ""));
    let rows: Vec<&str> = ran.stdout.lines().collect();
    assert_eq!(rows.len(), 1 + 1461);
    let last: Vec<&str> = rows[1461].split(',').collect();
    assert_eq!(last[0], "2015-12-31");
    let tanks = json(&[])["tanks"].clone();
    for (cell, (tag, tank)) in last[5..].iter().zip(tanks.as_object().unwrap()) {
        let end = tank["end_m3"].as_f64().unwrap();
        assert!((cell.parse::<f64>().unwrap() - end).abs() < 1e-6, "{tag}");
    }
}

/// In a ladder of lines there are 2⁴⁰ ways from a downspout to the tanks: each tank receives what the
/// storm's flows bring it, and the run does not go through the ways one by one.
#[test]
fn shares_follow_the_flows_of_a_ladder() {
    let mut text = String::from(
        "wetrun: 1\nunits: si\nname: Ladder\nstorm: { intensity: 90 mm/h, basis: none }\n\
         roofs: { R: { area: 100 m2, to: D1 } }\n\
         downspouts: { D1: { outlet: 9, foot: 1, pipe: pvc-sch40 4 in } }\npoints:\n",
    );
    let rungs = 40;
    for i in 0..rungs {
        text += &format!("  A{i}: {{ level: 0.9 }}\n  B{i}: {{ level: 0.9 }}\n");
    }
    text += "lines:\n";
    let mut line = |from: String, to: String, length: f64| {
        let tag = format!("{from}-{to}");
        text += &format!(
            "  {tag}: {{ from: {from}, to: {to}, length: {length} m, pipe: pvc-sch40 6 in }}\n"
        );
    };
    line("D1".to_owned(), "A0".to_owned(), 3.0);
    for i in 0..rungs {
        line(format!("A{i}"), format!("B{i}"), 2.0 + 0.1 * f64::from(i));
        if i + 1 < rungs {
            line(format!("A{i}"), format!("A{}", i + 1), 5.0);
            line(format!("B{i}"), format!("B{}", i + 1), 6.0);
            line(format!("A{i}"), format!("B{}", i + 1), 7.0);
        }
    }
    line(format!("A{}", rungs - 1), "T1".to_owned(), 4.0);
    line(format!("B{}", rungs - 1), "T2".to_owned(), 9.0);
    for tank in ["T1", "T2"] {
        text += &format!(
            "{}  {tank}: {{ inlet: 5, floor: 0, volume: 900 m3, start: 0 %, overflow: {{ level: 4.5 }} }}\n",
            if tank == "T1" { "tanks:\n" } else { "" }
        );
    }
    text += "uses: { house: { takes: 1 L/d, from: T1 } }\n";
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site.yaml");
    let days = folder.path().join("rain.csv");
    std::fs::write(&site, text).unwrap();
    std::fs::write(&days, "date,rain_mm\n2024-01-01,10\n").unwrap();
    let [site, days] = [site, days].map(|path| path.to_str().unwrap().to_owned());
    let year = run(&["year", &site, "--rain", &days, "--format", "json"]);
    let year: Value = serde_json::from_str(&year.stdout).unwrap();
    let check = run(&["check", &site, "--format", "json", "--no-spill-rains"]);
    let check: Value = serde_json::from_str(&check.stdout).unwrap();
    let flow = |tank: &str| check["tanks"][tank]["inflow_m3_per_s"].as_f64().unwrap();
    let share = flow("T1") / (flow("T1") + flow("T2"));
    assert!((0.2..0.8).contains(&share), "{share}");
    let received = |tank: &str| year["tanks"][tank]["received_m3"].as_f64().unwrap();
    let found = received("T1") / (received("T1") + received("T2"));
    assert!((found - share).abs() < 1e-9, "{found} {share}");
}
