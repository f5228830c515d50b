//! `wetrun size`: its text and JSON beside each site of `fixtures/size`, and what it writes.

use crate::support::{cases, expect, root, run};

#[test]
fn every_site_with_open_sizes_gives_its_text_and_its_json() {
    for name in cases("size") {
        let folder = root().join("fixtures/size").join(&name);
        let site = format!("fixtures/size/{name}/site.yaml");
        let text = run(&["size", &site]);
        let json = run(&["size", &site, "--format", "json"]);
        assert_eq!((text.stderr.as_str(), json.stderr.as_str()), ("", ""), "{name}");
        assert_eq!(text.status, json.status, "{name}");
        expect(&folder.join("size.txt"), &text.stdout);
        expect(&folder.join("size.json"), &json.stdout);
        let value: serde_json::Value = serde_json::from_str(&json.stdout).unwrap();
        let keys: Vec<&str> = value.as_object().unwrap().keys().map(String::as_str).collect();
        let contract = [
            "wetrun",
            "outcome",
            "chosen",
            "cost",
            "cost_basis",
            "lower_bound",
            "proven",
            "worst_margin_m",
            "worst_downspout",
        ];
        assert_eq!(keys, contract, "{name}");
        assert_eq!(text.status, i32::from(value["outcome"] != "chosen"), "{name}");
        assert!(text.stdout.lines().all(|line| line.chars().count() <= 80), "{name}");
    }
}

#[test]
fn the_written_file_holds_and_differs_by_the_sizes_alone() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sized.yaml");
    let out = out.to_str().unwrap();
    let site = "fixtures/size/us-hall-six-downspouts/site.yaml";
    let ran = run(&["size", site, "--format", "json", "--write", out]);
    let value: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
    let (old, new) = (
        std::fs::read_to_string(root().join(site)).unwrap(),
        std::fs::read_to_string(out).unwrap(),
    );
    let mut changed = 0;
    for (old, new) in old.lines().zip(new.lines()) {
        if old != new {
            changed += 1;
            let start = old.find("{ type").unwrap();
            let end = start + old[start..].find('}').unwrap() + 1;
            assert_eq!(old[..start], new[..start]);
            assert!(new.ends_with(&old[end..]), "{new}");
        }
    }
    assert_eq!(changed, value["chosen"].as_object().unwrap().len());
    assert_eq!(old.lines().count(), new.lines().count());
    // What was chosen is what `check` finds to hold.
    let check = run(&["check", out, "--format", "json"]);
    assert_eq!(check.status, 0);
    let result: serde_json::Value = serde_json::from_str(&check.stdout).unwrap();
    let least = (result["downspouts"].as_object().unwrap().values())
        .map(|d| d["headroom_m"].as_f64().unwrap() - 0.1016)
        .fold(f64::INFINITY, f64::min);
    assert!((least - value["worst_margin_m"].as_f64().unwrap()).abs() < 1e-9);
}

#[test]
fn what_cannot_be_sized_is_refused() {
    let closed = run(&["size", "fixtures/ok/us-hall-six-downspouts/site.yaml"]);
    assert_eq!((closed.status, closed.stdout.as_str()), (2, ""));
    assert!(closed.stderr.contains("no pipe size is open"));
    let open = run(&["check", "fixtures/size/us-hall-six-downspouts/site.yaml"]);
    assert_eq!((open.status, open.stdout.as_str()), (2, ""));
    assert!(open.stderr.contains("M7"));
}
