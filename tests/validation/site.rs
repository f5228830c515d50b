//! Whole jobs through the program: `wetrun check site.yaml --format json`.

use std::collections::BTreeMap;

use super::case::Results;
use crate::support::run;

/// The numbers that are asked for, by their way through the result: `downspouts D1
/// standing_level_m`. `failed findings` counts the rules that fail, `least headroom_m` is the
/// smallest of all downspouts.
pub(super) fn results<'a>(name: &str, asked: impl Iterator<Item = &'a str>) -> Results {
    let file = format!("fixtures/validation/{name}/site.yaml");
    let ran = run(&["check", &file, "--format", "json"]);
    assert!(ran.status <= 1, "{name}: {}", ran.stderr);
    let result: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
    let value = |way: &str| match way {
        "failed findings" => {
            let findings = result["findings"].as_array().unwrap();
            findings.iter().filter(|f| f["outcome"] == "fail").count() as f64
        }
        "least headroom_m" => (result["downspouts"].as_object().unwrap().values())
            .map(|d| d["headroom_m"].as_f64().unwrap())
            .fold(f64::INFINITY, f64::min),
        way => way
            .split(' ')
            .fold(&result, |at, key| &at[key])
            .as_f64()
            .unwrap_or_else(|| panic!("{name}: no number at {way}")),
    };
    let row: BTreeMap<String, f64> = asked.map(|way| (way.to_owned(), value(way))).collect();
    [(String::new(), row)].into()
}
