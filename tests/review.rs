//! The review: for every rule sites that pass, fail and do not show, held against values worked
//! out by hand in the notes beside them; the drawing with planted mistakes; compare and explain.

use crate::drawings::path;
use crate::support::{cases, expect, root, run};
use serde_json::Value;
use std::collections::BTreeSet;

fn review(site: &str) -> Value {
    let ran = run(&["review", site, "--format", "json"]);
    assert_eq!(ran.stderr, "", "{site}");
    let result: Value = serde_json::from_str(&ran.stdout).unwrap();
    let outcomes: Vec<&str> =
        findings(&result).iter().map(|f| f["outcome"].as_str().unwrap()).collect();
    let verdict = match outcomes.as_slice() {
        some if some.contains(&"fail") => "fail",
        some if some.contains(&"not-shown") => "incomplete",
        _ => "pass",
    };
    assert_eq!(result["verdict"], verdict, "{site}");
    assert_eq!(ran.status, i32::from(verdict != "pass"), "{site}");
    result
}

fn findings(result: &Value) -> &Vec<Value> {
    result["findings"].as_array().unwrap()
}

/// The rows of the table in a notes file, without its head.
fn table(notes: &str) -> Vec<Vec<String>> {
    let rows = notes.lines().filter(|line| line.starts_with("| ")).skip(2);
    rows.map(|line| line.trim_matches('|').split('|').map(|c| c.trim().to_owned()).collect())
        .collect()
}

fn notes(folder: &str) -> String {
    std::fs::read_to_string(root().join("fixtures/review").join(folder).join("notes.md")).unwrap()
}

/// Whether a number agrees with one from the notes, `-` standing for none asked for.
fn agrees(found: &Value, by_hand: &str, tolerance: f64) -> bool {
    if by_hand == "-" {
        return true;
    }
    let by_hand: f64 = by_hand.parse().unwrap();
    let close = tolerance * by_hand.abs().max(0.01);
    found.as_f64().is_some_and(|found| (found - by_hand).abs() <= close)
}

#[test]
fn every_rule_agrees_with_its_notes() {
    let folders: Vec<String> = cases("review");
    let mut rows = 0;
    for rule in folders.iter().filter(|name| !["clean", "planted"].contains(&name.as_str())) {
        // The program finds the rain of a spill to 0.1 %, as its contract says, and follows what
        // moves by steps of 0.05 mm; the tables of the standard print three digits.
        let tolerance = match rule.as_str() {
            "low-roof" | "self-cleansing" => 1e-3,
            "downspout-filling" => 1e-4,
            _ => 1e-5,
        };
        for row in table(&notes(rule)) {
            let [case, place, outcome, value, limit] = row.as_slice() else { panic!("{rule}") };
            let result = review(path(&format!("{rule}/{case}")));
            let found: Vec<&Value> = findings(&result)
                .iter()
                .filter(|f| f["rule"] == rule.as_str() && f["where"] == place.as_str())
                .collect();
            let [found] = found.as_slice() else { panic!("{rule} {case}: {found:?}") };
            assert_eq!(found["outcome"], outcome.as_str(), "{rule} {case}: {found}");
            assert!(agrees(&found["value"], value, tolerance), "{rule} {case}: {found}");
            assert!(agrees(&found["limit"], limit, tolerance), "{rule} {case}: {found}");
            assert!(!found["basis"].as_str().unwrap().is_empty());
            // What spills lacks freeboard too, and is mended there.
            if outcome == "fail" && !["no-spill", "low-roof"].contains(&rule.as_str()) {
                assert!(found["mend"].is_string(), "{rule} {case} says no mend");
            }
            rows += 1;
        }
    }
    assert!(rows > 190, "rows are missing from the notes: {rows}");
}

/// Each rule has a site that passes and one that fails (or is cautioned); and one where it is not
/// shown, unless all that it reads is required, which its notes then say.
#[test]
fn every_rule_has_its_sites() {
    for rule in wetrun_checks::rules() {
        let notes = notes(rule.name);
        let shown: Vec<String> = table(&notes).iter().map(|row| row[0].clone()).collect();
        let has = |case: &str| shown.iter().any(|name| name == case);
        assert!(has("pass") && has("fail"), "{}", rule.name);
        let all_required = notes.to_lowercase().replace('\n', " ").contains("it reads is required");
        let required = all_required || notes.contains("no not-shown case");
        assert!(has("not-shown") || required, "{} is never not shown", rule.name);
    }
}

#[test]
fn the_clean_drawings_conform() {
    for site in ["clean/site", "planted/sound"].map(path) {
        let result = review(site);
        for finding in findings(&result) {
            let outcome = finding["outcome"].as_str().unwrap();
            assert!(["pass", "not-applicable"].contains(&outcome), "{site}: {finding}");
        }
        assert_eq!(run(&["review", site, "--strict"]).status, 0);
    }
}

#[test]
fn the_review_finds_each_planted_mistake_and_nothing_else() {
    let triple = |a: &str, b: &str, c: &str| (a.to_owned(), b.to_owned(), c.to_owned());
    let planted: BTreeSet<_> =
        table(&notes("planted")).iter().map(|row| triple(&row[1], &row[2], &row[3])).collect();
    assert!(planted.len() >= 12);
    let result = review(path("planted/site"));
    let found: BTreeSet<_> = findings(&result)
        .iter()
        .filter(|f| f["outcome"] != "pass" && f["outcome"] != "not-applicable")
        .map(|f| {
            let text = |key: &str| f[key].as_str().unwrap();
            triple(text("rule"), text("where"), text("outcome"))
        })
        .collect();
    assert_eq!(found, planted);
}

/// What is not shown makes a drawing incomplete, which is no pass; `--strict` says that it fails.
#[test]
fn what_is_not_shown_makes_a_drawing_incomplete() {
    let site = path("bedding/not-shown");
    let word = |args: &[&str]| {
        let ran = run(args);
        assert_eq!(ran.status, 1);
        ran.stdout.split("  ").next().unwrap().to_owned()
    };
    assert_eq!(word(&["review", site]), "INCOMPLETE");
    assert_eq!(word(&["review", site, "--strict"]), "DOES NOT CONFORM");
}

#[test]
fn text_names_every_failing_item_and_every_caution() {
    let ran = run(&["review", path("planted/site")]);
    assert_eq!((ran.status, ran.stderr.as_str()), (1, ""));
    for row in table(&notes("planted")) {
        assert!(ran.stdout.contains(&row[1]), "{} is not named", row[1]);
    }
    let one_line = ran.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    for caution in wetrun_checks::CAUTIONS {
        assert!(one_line.contains(&caution.split_whitespace().collect::<Vec<_>>().join(" ")));
    }
    assert!(ran.stdout.lines().all(|line| line.chars().count() <= 80));
}

/// Wording goldens; the facts in them are checked above.
#[test]
fn the_words_of_a_review_and_of_a_comparison() {
    let planted = root().join("fixtures/review/planted");
    let (sound, site) = ("fixtures/review/planted/sound.yaml", "fixtures/review/planted/site.yaml");
    expect(&planted.join("review.txt"), &run(&["review", site]).stdout);
    expect(&planted.join("compare.txt"), &run(&["compare", sound, site]).stdout);
    let low = path("freeboard/fail");
    expect(&root().join("fixtures/review/freeboard/fail.txt"), &run(&["review", low]).stdout);
    expect(&planted.join("explain.txt"), &run(&["explain", "freeboard"]).stdout);
}

#[test]
fn a_limit_of_the_site_is_printed_with_its_reason_and_basis() {
    let result = review(path("design-velocity/fail"));
    let own = findings(&result).iter().find(|f| f["rule"] == "design-velocity").unwrap();
    assert_eq!(own["basis"], "set in the site file: old pipe; basis: owner's wish");
}

#[test]
fn an_unknown_rule_or_a_limit_of_another_kind_is_refused() {
    let clean = std::fs::read_to_string(root().join("fixtures/review/clean/site.yaml")).unwrap();
    let refused = |rules: &str| {
        let file = tempfile::NamedTempFile::new().unwrap();
        std::fs::write(file.path(), format!("{clean}rules: {rules}\n")).unwrap();
        let ran = run(&["review", file.path().to_str().unwrap()]);
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{rules}");
        ran.stderr
    };
    let stderr = refused("{ freebord: { limit: 2 in, reason: none given } }");
    assert!(stderr.contains("rules.freebord") && stderr.contains("`freeboard`"), "{stderr}");
    let stderr = refused("{ cover: { limit: 4 gal, reason: none given } }");
    assert!(stderr.contains("rules.cover.limit"), "{stderr}");
    let stderr = refused("{ manual: { limit: 1, reason: none given } }");
    assert!(stderr.contains("no limit to change"), "{stderr}");
}

#[test]
fn explain_has_a_page_for_every_rule() {
    for rule in wetrun_checks::rules() {
        let ran = run(&["explain", rule.name]);
        assert_eq!((ran.status, ran.stderr.as_str()), (0, ""));
        assert!(ran.stdout.lines().all(|line| line.chars().count() <= 80), "{}", rule.name);
        for part in ["checks", "why", "threshold", "source", "reads", "mend"] {
            assert!(ran.stdout.contains(&format!("\n  {part}")), "{} {part}", rule.name);
        }
    }
    let ran = run(&["explain", "flotatoin"]);
    assert_eq!((ran.status, ran.stdout.as_str()), (2, ""));
    assert!(ran.stderr.contains("`flotation`"));
}

#[test]
fn compare_names_what_changed_and_what_turned() {
    let (sound, planted) =
        ("fixtures/review/planted/sound.yaml", "fixtures/review/planted/site.yaml");
    let ran = run(&["compare", sound, planted, "--format", "json"]);
    assert_eq!((ran.status, ran.stderr.as_str()), (1, ""), "water leaves by the vent");
    let result: Value = serde_json::from_str(&ran.stdout).unwrap();
    let changes = result["changes"].as_array().unwrap();
    let change = |key: &str| changes.iter().find(|c| c["key"] == key).unwrap();
    assert_eq!(change("lines.L6.pipe")["after"], "pvc-sch40 3 in");
    assert_eq!(change("ground.bedding")["after"], Value::Null);
    assert_eq!(change("tanks.T1.overflow.k")["before"], Value::Null);
    // 98.65 to 99.40 ft.
    let by_m = change("lines.L5.profile[1].level")["by_m"].as_f64().unwrap();
    assert!((by_m - 0.75 * 0.3048).abs() < 1e-9);
    // What turned is what was planted.
    let turned: BTreeSet<String> = result["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|turn| turn["after"]["rule"].as_str().unwrap().to_owned())
        .collect();
    let planted: BTreeSet<String> =
        table(&notes("planted")).iter().map(|row| row[1].clone()).collect();
    assert_eq!(turned, planted);
    let downspout = &result["downspouts"]["D3"];
    let headroom = |key: &str| downspout[key].as_f64().unwrap();
    assert!(headroom("headroom_after_m") < headroom("headroom_before_m"));
}

#[test]
fn compare_of_a_file_with_itself_or_with_other_spellings_finds_nothing() {
    let site = "fixtures/review/clean/site.yaml";
    let clean = std::fs::read_to_string(root().join(site)).unwrap();
    // The same levels and sizes in other units.
    let other = clean
        .replace("foot: 99.000 m", "foot: 9900 cm")
        .replace("length: 12 m", "length: 12000 mm")
        .replace("drain: 50 mm", "drain: 5 cm");
    assert_ne!(clean, other);
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), other).unwrap();
    for second in [site, file.path().to_str().unwrap()] {
        let ran = run(&["compare", site, second, "--format", "json"]);
        assert_eq!(ran.status, 0, "{}", ran.stderr);
        let result: Value = serde_json::from_str(&ran.stdout).unwrap();
        assert_eq!(result["changes"].as_array().unwrap().len(), 0, "{}", result["changes"]);
        assert_eq!(result["findings"].as_array().unwrap().len(), 0);
    }
    let text = run(&["compare", site, site]);
    assert!(text.stdout.contains("nothing") && text.stdout.contains("none"));
    assert!(text.stdout.lines().all(|line| line.chars().count() <= 80));
}
