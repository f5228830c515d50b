//! Mends that hold: on random sites every mend that is printed is put into the file; what failed
//! passes then, and nothing fails that did not fail before.

use crate::random_site::{Kinds, site};
use crate::support::run;
use serde_json::Value;
use std::path::Path;
use wetrun_site::edit::{Edit, set_values};

/// So many random sites; `WETRUN_RANDOM_CASES` asks for more.
fn cases(default: u64) -> u64 {
    let asked = std::env::var("WETRUN_RANDOM_CASES").ok().and_then(|text| text.parse().ok());
    asked.unwrap_or(default)
}

fn json(args: &[&str]) -> Value {
    let ran = run(args);
    serde_json::from_str(&ran.stdout).unwrap_or_else(|error| panic!("{error}: {}", ran.stderr))
}

/// The findings that fail: rule and place.
fn failing(path: &str) -> Vec<(String, String)> {
    let result = json(&["review", path, "--format", "json"]);
    let fails = result["findings"].as_array().unwrap().iter().filter(|f| f["outcome"] == "fail");
    let word = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    fails.map(|f| (word(&f["rule"]), word(&f["where"]))).collect()
}

/// The values that the words of one way put into the file: read as a person would read them.
fn edits(words: &str, text: &str) -> Vec<Edit> {
    let site = wetrun_site::read(text, "site.yaml").unwrap();
    let (_, parts) = words.split_once(' ').unwrap();
    let mut parts = parts.replace(", its lip as much", " with lip");
    // Tags in brackets are of what moves along by itself.
    while let (Some(from), Some(to)) = (parts.find(" ("), parts.find(')')) {
        parts.replace_range(from..=to, "");
    }
    let parts = parts.replace(" and ", ", ");
    let mut edits = Vec::new();
    for part in parts.split(", ") {
        let (what, to) = part.split_once(" to ").unwrap_or_else(|| panic!("{part}"));
        let Some(what) = what.strip_prefix("the ") else {
            edits.push(Edit::new(&["lines", what, "pipe"], to));
            continue;
        };
        let (key, tag) = what.split_once(" of ").unwrap();
        let tag = tag.split(" (").next().unwrap();
        let (to, lip_too) = match to.strip_suffix(" with lip") {
            Some(to) => (to, true),
            None => (to, false),
        };
        match key {
            "inlet" | "rim" => edits.push(Edit::new(&["tanks", tag, key], to)),
            "overflow" if to.contains('-') => {
                edits.push(Edit::new(&["tanks", tag, "overflow", "pipe"], to));
            }
            "overflow" => edits.push(Edit::new(&["tanks", tag, "overflow", "level"], to)),
            "leaf head" => edits.push(Edit::new(&["downspouts", tag, "leaf_head"], to)),
            "outlet" => {
                edits.push(Edit::new(&["downspouts", tag, "outlet"], to));
                if lip_too {
                    let this = site.network.downspouts().iter().find(|d| d.tag == tag).unwrap();
                    let rise_m = (this.lip - this.outlet).to_m();
                    let outlet_m: f64 = to.strip_suffix(" m").unwrap().parse().unwrap();
                    let lip = format!("{:.5} m", outlet_m + rise_m);
                    edits.push(Edit::new(&["downspouts", tag, "lip"], lip));
                }
            }
            _ => panic!("{part}"),
        }
    }
    edits
}

fn holds(folder: &Path, seeds: std::ops::Range<u64>, kinds: Kinds) -> usize {
    let mut tried = 0;
    for seed in seeds {
        let text = site(seed, kinds);
        let path = folder.join("site.yaml");
        std::fs::write(&path, &text).unwrap();
        let path = path.to_str().unwrap();
        if run(&["check", path]).status != 1 {
            continue;
        }
        let before = failing(path);
        let findings = json(&["review", path, "--format", "json"]);
        for finding in findings["findings"].as_array().unwrap() {
            let rule = finding["rule"].as_str().unwrap();
            let Some(mend) = finding["mend"].as_str() else { continue };
            let ours = ["freeboard", "no-spill", "tank-rim"].contains(&rule);
            if !ours || finding["outcome"] != "fail" || mend.starts_with("mend ") {
                continue;
            }
            let at = finding["where"].as_str().unwrap();
            for way in mend.split("; or ") {
                tried += 1;
                let mended = set_values(&text, &edits(way, &text)).unwrap();
                let new = folder.join("mended.yaml");
                std::fs::write(&new, &mended).unwrap();
                let after = failing(new.to_str().unwrap());
                let item = (rule.to_owned(), at.to_owned());
                assert!(!after.contains(&item), "seed {seed}: {at} still fails by {way}\n{text}");
                for fails in after {
                    assert!(before.contains(&fails), "seed {seed}: {way} makes {fails:?}\n{text}");
                }
            }
        }
    }
    tried
}

#[test]
fn a_mend_put_into_the_file_mends_it_and_breaks_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let most = cases(20);
    let plain = Kinds { open: false, loops: true, facts: false };
    let facts = Kinds { facts: true, ..plain };
    let tried = holds(folder.path(), 0..most, plain) + holds(folder.path(), 500..500 + most, facts);
    assert!(tried > 10, "{tried}");
}
