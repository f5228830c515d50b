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
