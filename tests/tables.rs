//! Tables as comma-separated values, read back by another reader and held against the JSON results.

use crate::readers::read_by;
use crate::support::{cases, root, run};
use serde_json::{Value, json};
use std::path::Path;

/// The tables of a run: what a row is, and where the rows lie in the JSON result.
const CHECK: [(&str, &[&str]); 7] = [
    ("site", &[]),
    ("downspout", &["downspouts"]),
    ("line", &["lines"]),
    ("point", &["points"]),
    ("opening", &["openings"]),
    ("tank", &["tanks"]),
    ("finding", &["findings"]),
];
const COMPARE: [(&str, &[&str]); 3] =
    [("downspout", &["downspouts"]), ("change", &["changes"]), ("finding", &["findings"])];
const LEVELS: [(&str, &[&str]); 4] = [
    ("level", &["set_points"]),
    ("downspout", &["watertight_to_m"]),
    ("measured", &["as_built", "deviations"]),
    ("benchmark", &["closing"]),
];
const YEAR: [(&str, &[&str]); 4] =
    [("month", &["months"]), ("use", &["uses"]), ("tank", &["tanks"]), ("size", &["sizes"])];

/// Tables written into a folder, and what each is held against.
struct Tables {
    folder: tempfile::TempDir,
    list: Vec<Value>,
}

impl Tables {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap(), list: Vec::new() }
    }

    fn write(&self, name: &str, text: &str) -> String {
        let path = self.folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    }

    /// Runs a command for each of its tables and for its JSON.
    fn add(&mut self, args: &[&str], rows: &[(&str, &[&str])], near: f64) {
        let number = self.list.len();
        let ran = run(&[args, &["--format", "json"]].concat());
        assert!(ran.status < 2, "{args:?}: {}", ran.stderr);
        let result = self.write(&format!("{number}.json"), &ran.stdout);
        for (row, way) in rows {
            let by: &[&str] = if row.is_empty() { &[] } else { &["--by", row] };
            let table = run(&[args, &["--format", "csv"], by].concat());
            let (status, stderr) = (table.status, table.stderr.as_str());
            assert_eq!((status, stderr), (ran.status, ran.stderr.as_str()), "{args:?} {row}");
            let path = self.write(&format!("{number}-{row}.csv"), &table.stdout);
            self.list.push(json!({ "csv": path, "json": result, "way": way, "near": near }));
        }
    }

    /// How many cells the other reader found right.
    fn cells(&self) -> Option<usize> {
        let list = self.write("list.json", &Value::from(self.list.clone()).to_string());
        let said = read_by("tables.py", &[&list])?;
        Some(said.trim().parse().unwrap())
    }
}

#[test]
fn every_table_says_what_the_json_says() {
    let mut tables = Tables::new();
    for name in cases("ok") {
        let site = format!("fixtures/ok/{name}/site.yaml");
        tables.add(&["check", &site], &CHECK, 0.0);
        tables.add(&["review", &site], &[("", &["findings"])], 0.0);
    }
    let [before, after] = ["hall-low-roof", "leaf-heads-and-tees"]
        .map(|name| format!("fixtures/ok/us-{name}/site.yaml"));
    tables.add(&["compare", &before, &after], &COMPARE, 0.0);
    for name in cases("size") {
        let site = format!("fixtures/size/{name}/site.yaml");
        tables.add(&["size", &site], &[("site", &[])], 0.0);
    }
    // Rounded to the safe side to a hundredth of a millimetre.
    let workshop = "fixtures/levels/workshop";
    let (site, readings) = (format!("{workshop}/site.yaml"), format!("{workshop}/readings.yaml"));
    tables.add(&["levels", &site, "--as-built", &readings], &LEVELS[1..], 0.0);
    let year = "fixtures/year/us-three-tanks/site.yaml";
    let rain = "crates/year/tests/data/seattle.csv";
    tables.add(&["year", year, "--rain", rain], &YEAR, 5.1e-7);
    if let Some(cells) = tables.cells() {
        assert!(cells > 5_000, "{cells}");
    }
}

/// The tables of the catalogue have a row for each size and fitting.
#[test]
fn the_catalogue_is_a_table() {
    for (what, inner) in [("pipes", "sizes"), ("fittings", "")] {
        let json: Value =
            serde_json::from_str(&run(&["list", what, "--format", "json"]).stdout).unwrap();
        let entries = json[what].as_object().unwrap().values();
        let rows =
            entries.map(|e| e.get(inner).map_or(1, |sizes| sizes.as_object().unwrap().len()));
        let csv = run(&["list", what, "--format", "csv"]).stdout;
        assert_eq!(csv.lines().count(), 1 + rows.sum::<usize>(), "{what}");
    }
    let pipes = run(&["list", "pipes", "--format", "csv"]).stdout;
    // 4.500 in less two walls of 0.237 in (ASTM D1785).
    assert!(pipes.contains("pvc-sch40,4 in,0.1143000,0.0060198,0.1022604,"), "{pipes}");
}

#[test]
fn a_row_is_asked_for_with_a_table_only() {
    let site = "fixtures/ok/si-no-rain/site.yaml";
    let ran = run(&["check", site, "--by", "line"]);
    assert_eq!((ran.status, ran.stdout.as_str()), (2, ""));
    assert!(ran.stderr.contains("--format csv"), "{}", ran.stderr);
}

/// Names that are formulas, commands or cells of their own, in every table that repeats them.
#[test]
fn no_name_becomes_a_formula() {
    let mut tables = Tables::new();
    let hall = root().join("fixtures/ok/us-hall-six-downspouts/site.yaml");
    let mut text = std::fs::read_to_string(hall).unwrap();
    for (name, hostile) in [
        ("Larkspur hall", "\"=cmd|' /C calc'!A0\""),
        ("25-year 5-minute, county rainfall table", "\"@SUM(1+1)*cmd|' /C calc'!A0;=1+1\""),
        ("porch slab = 100.00 ft", "\"-2+3;+4\""),
        ("D1", "\"=1+1\""),
        ("D2", "\"+1\""),
        ("D3", "\"-1\""),
        ("D4", "\"@A1\""),
        ("D5", "\"a,b;=HYPERLINK(1)\""),
        ("D6", "\"\\\"=2\""),
        ("W1", "\"\\\"\\\"@3\""),
        ("P1", "\"\u{ff1d}1\""),
        ("T1", "\"'=1\""),
        ("M1", "\"=A1&B1\""),
    ] {
        assert!(text.contains(name), "{name}");
        text = text.replace(&format!("{name}:"), &format!("{hostile}:"));
        text = text.replace(&format!(" {name},"), &format!(" {hostile},"));
        text = text.replace(&format!(" {name} }}"), &format!(" {hostile} }}"));
        text = text.replace(&format!(" {name}\n"), &format!(" {hostile}\n"));
    }
    let hostile = tables.write("site.yaml", &text);
    tables.add(&["check", &hostile], &CHECK, 0.0);
    tables.add(&["review", &hostile], &[("", &["findings"])], 0.0);
    let clean = "fixtures/ok/us-hall-six-downspouts/site.yaml";
    tables.add(&["compare", clean, &hostile], &COMPARE, 0.0);
    let levels = run(&["levels", &hostile, "--format", "csv"]);
    assert_eq!(levels.status, 0, "{}", levels.stderr);
    let path = tables.write("levels.csv", &levels.stdout);
    assert!(Path::new(&path).is_file());
    tables.list.push(json!({ "csv": path }));
    tables.cells();
}
