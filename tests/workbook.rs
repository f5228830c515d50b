//! The workbook: its levels are those of `check`, an office suite works the same out, and an input that
//! is changed moves them as it moves `check`.

use crate::readers::{left_out, read_by};
use crate::support::{cases, root, run};
use serde_json::{Value, json};
use std::fs::{read, read_to_string, write};
use std::process::Command;

struct Books {
    folder: tempfile::TempDir,
    list: Vec<Value>,
}

impl Books {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap(), list: Vec::new() }
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).to_str().unwrap().to_owned()
    }

    /// Writes the workbook of a site, to be read with these cells changed.
    fn add(&mut self, site: &str, changes: &Value) -> String {
        let path = self.path(&format!("{}.xlsx", self.list.len()));
        let ran = run(&["sheet", site, "-o", &path]);
        assert_eq!((ran.status, ran.stdout.as_str(), ran.stderr.as_str()), (0, "", ""), "{site}");
        self.list.push(json!({ "file": path, "changes": changes }));
        path
    }

    /// What the office suite makes of them; none where it is not installed.
    fn worked_out(&self) -> Option<Vec<Value>> {
        if Command::new("soffice").arg("--version").output().is_err() {
            left_out("LibreOffice");
            return None;
        }
        let list = self.path("list.json");
        write(&list, Value::from(self.list.clone()).to_string()).unwrap();
        let told = read_by("workbook.py", &[&list])?;
        Some(serde_json::from_str(&told).unwrap())
    }
}

fn check(site: &str) -> Value {
    serde_json::from_str(&run(&["check", site, "--format", "json"]).stdout).unwrap()
}

/// The levels of a sheet `Answer` against those of `check`, in metres.
fn same_levels(answer: &Value, check: &Value, unit_m: f64, near_m: f64, what: &str) {
    let downspouts = check["downspouts"].as_object().unwrap();
    assert_eq!(answer.as_object().unwrap().len(), downspouts.len(), "{what}");
    for (tag, state) in downspouts {
        let level = answer[tag][1].as_f64().unwrap() * unit_m;
        let expected = state["standing_level_m"].as_f64().unwrap();
        assert!((level - expected).abs() < near_m, "{what}: {tag} {level} {expected}");
        let headroom = answer[tag][2].as_f64().unwrap() * unit_m;
        let expected = state["headroom_m"].as_f64().unwrap();
        assert!((headroom - expected).abs() < near_m, "{what}: {tag} {headroom} {expected}");
    }
}

fn unit_m(name: &str) -> f64 {
    if name.starts_with("us-") { 0.3048 } else { 1.0 }
}

#[test]
fn an_office_suite_works_out_the_levels_of_check() {
    let long = std::env::var_os("WETRUN_LONG").is_some();
    let some = [
        "us-hall-six-downspouts",
        "us-tanks-in-cascade",
        "si-two-tanks-ring",
        "si-looks-fine-fails",
    ];
    let names: Vec<String> =
        cases("ok").into_iter().filter(|name| long || some.contains(&name.as_str())).collect();
    let mut books = Books::new();
    for name in &names {
        books.add(&format!("fixtures/ok/{name}/site.yaml"), &json!([]));
    }
    // Water that comes up through a low downspout, in four times the storm.
    let low = read_to_string(root().join("fixtures/ok/us-hall-low-roof/site.yaml")).unwrap();
    let heavy = books.path("heavy.yaml");
    write(&heavy, low.replace("intensity: 5.2 in/h", "intensity: 20.8 in/h")).unwrap();
    books.add(&heavy, &json!([]));
    let expected = check(&heavy);
    let spouts = expected["downspouts"].as_object().unwrap().values();
    assert!(spouts.into_iter().any(|spout| spout["admitted_m3_per_s"].as_f64().unwrap() < -1e-4));
    let Some(told) = books.worked_out() else { return };
    same_levels(&told[names.len()]["answer"], &expected, 0.3048, 1e-6, "heavy");
    for (name, told) in names.iter().zip(&told) {
        let apart = told["apart"].as_f64().unwrap();
        assert!(apart < 1e-10, "{name}: stored and recalculated differ by {apart}");
        let left = told["left"].as_f64().unwrap();
        assert!(left < 1e-11, "{name}: {left} is left of a law");
        // Without rain nothing flows, and little is to be worked out.
        let least = if name == "si-no-rain" { 10 } else { 200 };
        assert!(told["formulas"].as_u64().unwrap() > least, "{name}");
        let check = check(&format!("fixtures/ok/{name}/site.yaml"));
        same_levels(&told["answer"], &check, unit_m(name), 1e-6, name);
    }
}

/// Rain, a length, a bore, an inlet, a fitting: the workbook moves as the program does.
#[test]
fn a_changed_input_moves_the_levels_as_it_moves_check() {
    let hall = "fixtures/ok/us-hall-six-downspouts/site.yaml";
    let text = read_to_string(root().join(hall)).unwrap();
    let mut books = Books::new();
    let mut expected = Vec::new();
    for (changes, from, to) in [
        (json!([["Inputs", "B2", 4.1]]), "intensity: 5.2 in/h", "intensity: 4.1 in/h"),
        (
            json!([["Lines", "E7", 55.5]]),
            "to: P1, pipe: pvc-sch40 6 in, length: 30 ft",
            "to: P1, pipe: pvc-sch40 6 in, length: 55.5 ft",
        ),
        (
            json!([["Tanks", "B2", 108.4], ["Stations", "C1", 108.4]]),
            "inlet: 108.20 ft",
            "inlet: 108.4 ft",
        ),
        (
            json!([["Friction", "C7", 5.0]]),
            "to: P1, pipe: pvc-sch40 6 in",
            "to: P1, pipe: { inside: 5 in, roughness: 0.0015 mm }",
        ),
        (
            json!([["Lines", "F7", 3.5]]),
            "length: 30 ft, fittings: { bend-45: 1 }",
            "length: 30 ft, k: 3.5",
        ),
        (json!([["Downspouts", "E2", 2.5]]), "fittings: { bend-45: 2 }", "k: 2.5"),
        (json!([["Roofs", "C2", 2000]]), "north: { area: 1440 sq ft", "north: { area: 2000 sq ft"),
    ] {
        let mut text = text.replacen(from, to, 1);
        let mut changes = changes;
        if from.starts_with("inlet") {
            // The profile's end is the inlet's.
            text = text.replace("level: 108.20 ft }", "level: 108.4 ft }");
            changes = json!([["Tanks", "B2", 108.4]]);
        }
        if from.starts_with("north") {
            // Three rows, one for each downspout it drains to.
            changes = json!([["Roofs", "C2", 2000], ["Roofs", "C3", 2000], ["Roofs", "C4", 2000]]);
        }
        assert_ne!(text, read_to_string(root().join(hall)).unwrap(), "{from}");
        let site = books.path(&format!("site-{}.yaml", expected.len()));
        write(&site, text).unwrap();
        expected.push(check(&site));
        books.add(hall, &changes);
    }
    let Some(told) = books.worked_out() else { return };
    for (number, (told, expected)) in told.iter().zip(&expected).enumerate() {
        same_levels(&told["answer"], expected, 0.3048, 1e-6, &format!("change {number}"));
        assert!(told["left"].as_f64().unwrap() < 1e-11, "change {number}");
    }
}

/// A downspout that spills only once an input is changed says so, as all of its water still goes down.
#[test]
fn a_downspout_that_begins_to_spill_says_so() {
    let hall = "fixtures/ok/us-hall-six-downspouts/site.yaml";
    let heavy = run(&["check", hall, "--storm", "20 in/h", "--format", "json"]).stdout;
    let heavy: Value = serde_json::from_str(&heavy).unwrap();
    let mut books = Books::new();
    books.add(hall, &json!([]));
    books.add(hall, &json!([["Inputs", "B2", 20.0]]));
    let Some(told) = books.worked_out() else { return };
    let mut spills = 0;
    for (tag, state) in heavy["downspouts"].as_object().unwrap() {
        let over = |told: &Value| told["answer"][tag][4].as_f64().unwrap();
        assert_eq!(over(&told[0]), 0.0, "{tag}");
        // What spills in truth spills here; water that is not sent on may keep another from it.
        if state["spilled_m3_per_s"].as_f64().unwrap() > 1e-9 {
            spills += 1;
            assert!(over(&told[1]) > 0.0, "{tag}: {}", told[1]["answer"]);
        }
    }
    assert!(spills > 0, "{heavy}");
}

#[test]
fn no_text_acts_as_a_formula_and_nothing_else_is_written() {
    let hall = read_to_string(root().join("fixtures/ok/us-hall-six-downspouts/site.yaml")).unwrap();
    let mut books = Books::new();
    let wild = hall
        .replace("name: Larkspur hall", "name: '=HYPERLINK(\"x\")'")
        .replace("county rainfall table", "+cmd|calc <&> \"q\"")
        .replace("W1", "'@W1'")
        .replace("B2", "'-B2'");
    let site = books.path("wild.yaml");
    write(&site, wild).unwrap();
    let path = books.add(&site, &json!([]));
    // Twice the same bytes, and no clock in them.
    let first = read(&path).unwrap();
    let again = books.add(&site, &json!([]));
    assert_eq!(first, read(again).unwrap());
    for args in [
        &["sheet", &site, "-o", &path, "--backsight", "BM1=4 ft"][..],
        &["sheet", &site, "-o", &path, "--doubts"],
        &["sheet", &site, "-o", "no/such/folder/x.xlsx"],
    ] {
        let ran = run(args);
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{args:?}");
    }
    let Some(told) = books.worked_out() else { return };
    let texts = told[0]["texts"].as_array().unwrap();
    assert!(texts.iter().any(|text| text == "'=HYPERLINK(\"x\")"), "{texts:?}");
    for text in texts {
        let text = text.as_str().unwrap();
        assert!(!text.starts_with(['=', '+', '-', '@']), "{text}");
    }
}
