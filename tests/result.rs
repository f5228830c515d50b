//! The JSON result held against the site file and against itself.

use crate::support::{cases, run};
use serde_json::Value;
use std::collections::BTreeMap;

fn checked(name: &str) -> (Value, serde_yaml::Value) {
    let site = format!("fixtures/ok/{name}/site.yaml");
    let ran = run(&["check", &site, "--format", "json"]);
    let text = std::fs::read_to_string(crate::support::root().join(&site)).unwrap();
    (serde_json::from_str(&ran.stdout).unwrap(), serde_yaml::from_str(&text).unwrap())
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is not a number"))
}

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

/// The keys of the contract, in its order.
#[test]
fn keys_are_those_of_the_contract() {
    for name in cases("ok") {
        let (result, site) = checked(&name);
        let top = "wetrun site verdict storm totals downspouts lines points openings tanks findings \
                   solve";
        assert_eq!(keys(&result), top.split_whitespace().collect::<Vec<_>>());
        assert_eq!(result["wetrun"], 1);
        assert_eq!(keys(&result["storm"]), ["intensity_m_per_s", "basis", "tanks"]);
        let totals = ["demand_m3_per_s", "admitted_m3_per_s", "spilled_m3_per_s"];
        assert_eq!(keys(&result["totals"]), totals);
        for (tag, downspout) in result["downspouts"].as_object().unwrap() {
            let leaf_head = !site["downspouts"][tag.as_str()]["leaf_head"].is_null();
            let expected = format!(
                "demand_m3_per_s admitted_m3_per_s spilled_m3_per_s outlet_level_m lip_level_m {} \
                 standing_level_m headroom_m foot_head_m spills_at_m_per_s route",
                if leaf_head { "leaf_head_level_m" } else { "" }
            );
            assert_eq!(keys(downspout), expected.split_whitespace().collect::<Vec<_>>());
        }
        for opening in result["openings"].as_object().unwrap().values() {
            let expected = "kind level_m headroom_m escapes_m3_per_s escapes_at_m_per_s";
            assert_eq!(keys(opening), expected.split_whitespace().collect::<Vec<_>>());
        }
        for line in result["lines"].as_object().unwrap().values() {
            let expected = "flow_m3_per_s velocity_m_per_s reynolds friction_loss_m \
                            fitting_loss_m from_head_m to_head_m";
            assert_eq!(keys(line), expected.split_whitespace().collect::<Vec<_>>());
        }
        for point in result["points"].as_object().unwrap().values() {
            assert_eq!(keys(point), ["head_m", "rest_level_m"]);
        }
        for tank in result["tanks"].as_object().unwrap().values() {
            let expected = "inflow_m3_per_s overflow_m3_per_s over_rim_m3_per_s water_level_m";
            assert_eq!(keys(tank), expected.split(' ').collect::<Vec<_>>());
        }
        for finding in result["findings"].as_array().unwrap() {
            let expected =
                ["rule", "outcome", "where", "value", "limit", "unit", "message", "basis"];
            assert_eq!(keys(finding), expected);
        }
        let expected = ["iterations", "continuity_residual", "head_residual_m"];
        assert_eq!(keys(&result["solve"]), expected);
    }
}

/// No number carries more than 12 significant digits. Looked at in the text: a reader may round.
#[test]
fn numbers_carry_twelve_significant_digits() {
    for name in cases("ok") {
        let site = format!("fixtures/ok/{name}/site.yaml");
        let text = run(&["check", &site, "--format", "json"]).stdout;
        let mut seen = 0;
        for line in text.lines() {
            let Some((_, value)) = line.rsplit_once("\": ") else { continue };
            let value = value.trim_end_matches(',');
            if !value.starts_with(|c: char| c == '-' || c.is_ascii_digit()) {
                continue;
            }
            let digits = value.split('e').next().unwrap().replace(['-', '.'], "");
            let digits = digits.trim_start_matches('0').trim_end_matches('0');
            assert!(digits.len() <= 12, "{name}: {line}");
            seen += 1;
        }
        assert!(seen > 20, "{name}: only {seen} numbers");
    }
}

/// What flows into every point flows out of it, and what the downspouts admit the tanks receive.
#[test]
fn water_is_neither_made_nor_lost() {
    for name in cases("ok") {
        let (result, site) = checked(&name);
        let demand = number(&result["totals"]["demand_m3_per_s"]);
        let mut balance: BTreeMap<String, f64> = BTreeMap::new();
        for (tag, line) in site["lines"].as_mapping().unwrap() {
            let flow = number(&result["lines"][tag.as_str().unwrap()]["flow_m3_per_s"]);
            let end = |key: &str| line[key].as_str().unwrap().to_owned();
            *balance.entry(end("from")).or_default() -= flow;
            *balance.entry(end("to")).or_default() += flow;
        }
        for (tag, downspout) in result["downspouts"].as_object().unwrap() {
            *balance.entry(tag.clone()).or_default() += number(&downspout["admitted_m3_per_s"]);
            let parts = number(&downspout["admitted_m3_per_s"])
                + number(&downspout["spilled_m3_per_s"])
                - number(&downspout["demand_m3_per_s"]);
            assert!(parts.abs() <= 1e-9 * demand, "{name} {tag}");
        }
        for (tag, opening) in result["openings"].as_object().unwrap() {
            *balance.entry(tag.clone()).or_default() -= number(&opening["escapes_m3_per_s"]);
        }
        for (tag, inflow) in result["tanks"].as_object().unwrap() {
            let from_lines = balance.remove(tag).unwrap_or(0.0);
            let overflowing = |to: &serde_yaml::Value| to["overflow"]["to"].as_str() == Some(tag);
            let from_tanks: f64 = site["tanks"]
                .as_mapping()
                .unwrap()
                .iter()
                .filter(|(_, other)| overflowing(other))
                .map(|(other, _)| {
                    number(&result["tanks"][other.as_str().unwrap()]["overflow_m3_per_s"])
                })
                .sum();
            let received = number(&inflow["inflow_m3_per_s"]);
            assert!((received - from_lines - from_tanks).abs() <= 1e-9 * demand, "{name} {tag}");
            let left = number(&inflow["overflow_m3_per_s"]) + number(&inflow["over_rim_m3_per_s"]);
            let full = !inflow["water_level_m"].is_null();
            assert!(!full || (received.max(0.0) - left).abs() <= 1e-9 * demand, "{name} {tag}");
        }
        for (tag, rest) in balance {
            assert!(rest.abs() <= 1e-9 * demand, "{name} {tag}: {rest}");
        }
    }
}

/// Demand is the sum over the roofs of runoff x intensity x area x share, worked here from the
/// text of the file with the exact factors of the inch and the foot.
#[test]
fn demand_is_rain_on_the_roofs() {
    let (hall, _) = checked("us-hall-six-downspouts");
    let rain_m_per_s = 5.2 * 0.0254 / 3600.0;
    let roof_m2 = 1440.0 * 0.3048 * 0.3048 * 0.95;
    for (tag, share) in [("D1", 0.3), ("D2", 0.4), ("D3", 0.3), ("D5", 0.4)] {
        let demand = number(&hall["downspouts"][tag]["demand_m3_per_s"]);
        let expected = rain_m_per_s * roof_m2 * share;
        assert!((demand / expected - 1.0).abs() < 1e-11, "{tag}: {demand} {expected}");
    }
}

/// The pieces of every route add up to the standing level: heads at shared ends are equal, and
/// a full line's ends differ by its friction and its fittings.
#[test]
fn a_full_lines_ends_differ_by_its_losses() {
    for name in cases("ok") {
        let (result, _) = checked(&name);
        for (tag, line) in result["lines"].as_object().unwrap() {
            let lost = number(&line["from_head_m"]) - number(&line["to_head_m"]);
            let parts = number(&line["friction_loss_m"]) + number(&line["fitting_loss_m"]);
            let broken = name == "si-over-a-culvert" && tag == "L2";
            let still = number(&line["flow_m3_per_s"]) == 0.0;
            assert!(broken || still || (lost - parts).abs() < 1e-7, "{name} {tag}: {lost} {parts}");
        }
        for (tag, downspout) in result["downspouts"].as_object().unwrap() {
            let number = |key: &str| number(&downspout[key]);
            // Where water comes up and out, the head at the foot drives it.
            let rise = number("standing_level_m") - number("foot_head_m");
            let way = if number("admitted_m3_per_s") < 0.0 { -1.0 } else { 1.0 };
            assert!(rise * way >= -1e-9, "{name} {tag}");
        }
    }
}
