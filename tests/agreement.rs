//! One verdict: on random sites the commands never disagree on whether a site holds.

use crate::drawings;
use crate::random_site::{Kinds, site};
use crate::support::{Ran, files, run};
use serde_json::Value;
use std::path::Path;

/// A site that holds and is soon reviewed, to compare others with: the second decides the status.
const HOLDS: &str = "fixtures/ok/us-tanks-in-cascade/site.yaml";
const PLAIN: Kinds = Kinds { open: false, loops: true, facts: false };

/// So many random sites; `WETRUN_RANDOM_CASES` asks for more.
fn cases(default: u64) -> u64 {
    let asked = std::env::var("WETRUN_RANDOM_CASES").ok().and_then(|text| text.parse().ok());
    asked.unwrap_or(default)
}

fn written(folder: &Path, text: &str) -> String {
    let path = folder.join("site.yaml");
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

fn json(ran: &Ran) -> Value {
    serde_json::from_str(&ran.stdout).unwrap_or_else(|error| panic!("{error}: {}", ran.stderr))
}

/// The outcome of `check`: its status, having held its text and its JSON against each other.
fn checked(path: &str) -> i32 {
    let text = run(&["check", path]);
    let result = run(&["check", path, "--format", "json"]);
    assert_eq!(text.status, result.status);
    if text.status == 2 {
        assert_eq!(text.stdout, "");
        return 2;
    }
    let result = json(&result);
    let (word, verdict) = [("HOLDS", "pass"), ("FAILS", "fail")][text.status as usize];
    assert!(text.stdout.starts_with(word), "{}", text.stdout);
    assert_eq!(result["verdict"], verdict);
    let findings = result["findings"].as_array().unwrap();
    let fails = findings.iter().any(|finding| finding["outcome"] == "fail");
    assert_eq!(fails, verdict == "fail", "{}", text.stdout);
    text.status
}

/// What leaves by a downspout, an opening or over a rim makes the verdict fail, and is in the JSON.
fn leaves(path: &str) -> bool {
    let result = json(&run(&["check", path, "--format", "json"]));
    let any = |items: &str, key: &str| {
        let items = result[items].as_object().unwrap().values();
        items.map(|item| item[key].as_f64().unwrap()).any(|flow| flow > 1e-7)
    };
    any("downspouts", "spilled_m3_per_s")
        || any("openings", "escapes_m3_per_s")
        || any("tanks", "over_rim_m3_per_s")
}

#[test]
fn no_command_holds_what_another_fails() {
    let folder = tempfile::tempdir().unwrap();
    let mut seen = [0; 3];
    for seed in 0..cases(30) {
        let path = written(folder.path(), &site(seed, PLAIN));
        let status = checked(&path);
        seen[status as usize] += 1;
        if status == 2 {
            continue;
        }
        assert!(status == 1 || !leaves(&path), "seed {seed}: water leaves and it holds");
        let levels = run(&["levels", &path, "--format", "json"]);
        assert_eq!(levels.status, status, "seed {seed}: levels\n{}", levels.stderr);
        let compared = run(&["compare", HOLDS, &path]);
        assert_eq!(compared.status, status, "seed {seed}: compare\n{}", compared.stderr);
        let sheet = folder.path().join("set.html");
        let drawn = run(&["sheet", &path, "-o", sheet.to_str().unwrap()]);
        assert_eq!(drawn.status, 0, "seed {seed}: sheet\n{}", drawn.stderr);
        let page = std::fs::read_to_string(&sheet).unwrap();
        let said = [page.contains(">HOLDS"), page.contains(">FAILS")];
        assert_eq!(said, [status == 0, status == 1], "seed {seed}: sheet");
    }
    assert!(seen[0] > 0 && seen[1] > 0 && seen[2] * 20 <= seen[0] + seen[1], "{seen:?}");
}

#[test]
fn what_size_writes_is_judged_as_size_said() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sized.yaml");
    let out = out.to_str().unwrap();
    let mut chosen = 0;
    for seed in 0..cases(15) {
        let kinds = Kinds { open: true, loops: seed % 3 == 0, facts: false };
        let path = written(folder.path(), &site(1000 + seed, kinds));
        if !std::fs::read_to_string(&path).unwrap().contains("size: any") {
            continue;
        }
        let args = ["size", &path, "--format", "json", "--tries", "300", "--write", out];
        let sized = run(&args);
        assert_ne!(sized.status, 2, "seed {seed}: {}", sized.stderr);
        if json(&sized)["outcome"] != "chosen" {
            assert_eq!(sized.status, 1, "seed {seed}");
            continue;
        }
        chosen += 1;
        assert_eq!(checked(out), sized.status, "seed {seed}");
    }
    assert!(chosen > 0);
}

/// In every demo and every fixture of the review a finding fails exactly where the verdict does.
#[test]
fn findings_fail_exactly_where_the_verdict_does() {
    let mut seen = [0; 2];
    let sites = ["fixtures/ok", "fixtures/levels"].map(|folder| files(folder, ".yaml"));
    let drawings = drawings::all().values().cloned().collect();
    for paths in sites.into_iter().chain([drawings]) {
        for path in paths {
            let ran = run(&["check", path.to_str().unwrap(), "--format", "json"]);
            if ran.status == 2 {
                continue; // readings, and pieces of a site
            }
            let result = json(&ran);
            let findings = result["findings"].as_array().unwrap();
            let fails = findings.iter().any(|finding| finding["outcome"] == "fail");
            let words = [result["verdict"].as_str().unwrap(), ["pass", "fail"][usize::from(fails)]];
            assert_eq!(words[0], words[1], "{}", path.display());
            assert_eq!(ran.status, i32::from(fails), "{}", path.display());
            seen[usize::from(fails)] += 1;
        }
    }
    assert!(seen[0] > 100 && seen[1] > 5, "{seen:?}");
}

/// What mends a failure is one thing: the set and the comparison print what the review does.
#[test]
fn every_command_tells_the_mend_that_was_solved() {
    let folder = tempfile::tempdir().unwrap();
    let mut told = 0;
    for site in files("fixtures/ok", "site.yaml") {
        let site = site.to_str().unwrap();
        let review = json(&run(&["review", site, "--format", "json"]));
        let mends: Vec<&str> = (review["findings"].as_array().unwrap().iter())
            .filter(|finding| {
                let ours = ["freeboard", "tank-rim", "no-escape"];
                finding["outcome"] == "fail" && ours.contains(&finding["rule"].as_str().unwrap())
            })
            .filter_map(|finding| finding["mend"].as_str())
            .collect();
        // A set and a comparison review the site anew, which takes its time: only where there is a mend.
        if mends.is_empty() {
            continue;
        }
        let compared = run(&["compare", HOLDS, site]);
        let compared = compared.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
        let set = folder.path().join("set.html");
        assert_eq!(run(&["sheet", site, "-o", set.to_str().unwrap()]).status, 0);
        let page = std::fs::read_to_string(&set).unwrap();
        for mend in mends {
            assert!(page.contains(mend), "{site}: the set does not say `{mend}`");
            assert!(compared.contains(mend), "{site}: the comparison does not say `{mend}`");
            told += 1;
        }
    }
    assert!(told >= 4, "{told}");
}
