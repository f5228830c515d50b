//! Levels written as survey points, read back by another reader, and points read as levels.

use crate::support::{root, run};
use serde_json::Value;
use std::path::{Path, PathBuf};

const YARD: &str = "fixtures/plan/us-schoolyard/site.yaml";
const SHED: &str = "fixtures/plan/si-boat-shed/site.yaml";

/// Writes the points of a site into a folder; the file's text, and what was said.
fn points(folder: &Path, site: &str) -> (PathBuf, String, String) {
    let out = folder.join("points.csv");
    let ran = run(&["levels", site, "--points", out.to_str().unwrap()]);
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    assert!(ran.stdout.contains("LEVELS TO SET"));
    (out.clone(), std::fs::read_to_string(out).unwrap(), ran.stderr)
}

fn as_built(folder: &Path, site: &str, name: &str, text: &str) -> (i32, String, String) {
    let file = folder.join(name);
    std::fs::write(&file, text).unwrap();
    let ran = run(&["levels", site, "--as-built", file.to_str().unwrap(), "--format", "json"]);
    (ran.status, ran.stdout, ran.stderr)
}

/// The site file's own numbers: northing is the second of `at`, easting the first.
#[test]
fn levels_are_written_as_survey_points() {
    let folder = tempfile::tempdir().unwrap();
    let (_, yard, said) = points(folder.path(), YARD);
    let rows: Vec<&str> = yard.lines().collect();
    assert_eq!(rows[0], "number,northing_ft,easting_ft,level_ft,description");
    assert_eq!(rows[1], "1,36.00,72.00,109.20,T1 inlet");
    for row in [
        ",84.00,20.00,111.40,D1 outlet",
        ",84.00,20.00,99.10,D1 foot",
        ",84.00,100.00,98.20,P1 level",
        ",84.00,100.00,112.00,P1 vent.level",
        ",84.00,100.00,98.35,L4 to_level",
        ",40.00,100.00,97.80,P2 level",
    ] {
        assert!(rows.iter().any(|r| r.ends_with(row)), "{row}\n{yard}");
    }
    for (index, row) in rows.iter().enumerate().skip(1) {
        assert!(row.starts_with(&format!("{index},")), "{row}");
    }
    assert_eq!(
        said,
        "warning: 2 levels without a place in plan are not among the points: \
         L6 profile[1].level, L6 profile[2].level\n"
    );
    let (_, shed, _) = points(folder.path(), SHED);
    assert!(shed.starts_with("number,northing_m,easting_m,level_m,description\n"), "{shed}");
    assert!(shed.contains(",8.000,29.500,22.700,T2 inlet\n"), "{shed}");
}

#[test]
fn without_a_place_in_plan_no_points_are_written() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("points.csv");
    let site = "fixtures/ok/us-hall-six-downspouts/site.yaml";
    let ran = run(&["levels", site, "--points", out.to_str().unwrap()]);
    assert_eq!((ran.status, ran.stdout.as_str()), (2, ""));
    assert!(ran.stderr.contains("`at: [east, north]`"), "{}", ran.stderr);
    assert!(!out.exists());
    // Nor over what is read.
    let copy = folder.path().join("site.yaml");
    std::fs::copy(root().join(YARD), &copy).unwrap();
    let copy = copy.to_str().unwrap();
    let ran = run(&["levels", copy, "--points", copy]);
    assert_eq!((ran.status, ran.stdout.as_str()), (2, ""));
    assert!(ran.stderr.contains("--force"), "{}", ran.stderr);
}

/// What was written comes back as levels that deviate by nothing; in metres as in feet.
#[test]
fn points_come_back_as_levels() {
    let folder = tempfile::tempdir().unwrap();
    for site in [YARD, SHED] {
        let (_, text, _) = points(folder.path(), site);
        let (status, stdout, stderr) = as_built(folder.path(), site, "back.csv", &text);
        assert_eq!((status, stderr.as_str()), (0, ""), "{stdout}");
        let result: Value = serde_json::from_str(&stdout).unwrap();
        let deviations = result["as_built"]["deviations"].as_array().unwrap();
        assert_eq!(deviations.len(), text.lines().count() - 1);
        for one in deviations {
            assert!(one["deviation_m"].as_f64().unwrap().abs() < 1e-9, "{one}");
        }
    }
    // By hand: 109.21 ft is 33.287208 m. Columns in another order, other columns, blanks and
    // comments, capitals as a data collector writes them.
    let text = "\u{feff}\"Description\", Level_m ,code\r\n\r\n# day two\r\n\"T1 INLET\", 33.287208,\"a, b\"\r\n";
    let (status, stdout, stderr) = as_built(folder.path(), YARD, "metres.csv", text);
    assert_eq!((status, stderr.as_str()), (0, ""), "{stdout}");
    let result: Value = serde_json::from_str(&stdout).unwrap();
    let one = &result["as_built"]["deviations"][0];
    assert_eq!((&one["tag"], &one["level"]), (&"T1".into(), &"inlet".into()));
    assert!((one["deviation_m"].as_f64().unwrap() - 0.01 * 0.3048).abs() < 1e-9, "{one}");
    // The same without the ending, by its header.
    let (status, ..) = as_built(folder.path(), YARD, "metres.txt", text);
    assert_eq!(status, 0);
}

#[test]
fn faults_in_points_are_told_all_at_once_with_their_places() {
    let folder = tempfile::tempdir().unwrap();
    let text = "number,northing_ft,easting_ft,level_ft,description
1,36.00,72.00,109.20,T1 inlet
2,36.00,72.00,\"109,00\",T1 overflow.level
3,84.00,20.00,111.40,D1 outlte
4,84.00,20.00,99,10,D1 foot
5,84.00,20.00,nan,D2 foot
6,36.00,72.00,109.21,T1 inlet
7,84.00,,98.20,P1 level
8,84.00,20.00,98.20,\"P2 level
9,84.00,20.00,98000.20,W1 level
";
    let (status, stdout, stderr) = as_built(folder.path(), YARD, "wrong.csv", text);
    assert_eq!((status, stdout.as_str()), (2, ""));
    for (place, words) in [
        ("wrong.csv:3:15", "`109,00` is no level"),
        ("wrong.csv:4:22", "no level here is called `D1 outlte`"),
        ("wrong.csv:5:1", "this row has 6 cells"),
        ("wrong.csv:6:15", "`nan` is no level"),
        ("wrong.csv:7:22", "`T1 inlet` is measured twice"),
        ("wrong.csv:8:9", "this point has no easting"),
        ("wrong.csv:9:21", "not closed on its line"),
        ("wrong.csv:10:15", "out of range"),
    ] {
        assert!(stderr.contains(place) && stderr.contains(words), "{place} {words}\n{stderr}");
    }
    assert!(stderr.contains("`D1 outlet`"), "{stderr}");
    assert!(stderr.contains("8 errors"), "{stderr}");
    for (text, words) in [
        ("", "holds no points"),
        ("1,36.00,72.00,109.20,T1 inlet\n", "names no column `level_m` or `level_ft`"),
        ("level,description\n109.2,T1 inlet\n", "names no column `level_m` or `level_ft`"),
        ("level_ft,level_m,description\n", "both feet and metres"),
        ("level_ft,level_ft,description\n", "stands twice in the header"),
        ("level_ft,tag\n109.2,T1\n", "names no column `description`"),
        ("level_ft,description\n# nothing\n", "no point stands below this header"),
        ("level_ft;description\n109,2;T1 inlet\n", "names no column"),
    ] {
        let (status, stdout, stderr) = as_built(folder.path(), YARD, "wrong.csv", text);
        assert_eq!((status, stdout.as_str()), (2, ""), "{text}");
        assert!(stderr.contains(words) && stderr.contains("wrong.csv:1:"), "{text}\n{stderr}");
    }
}

/// Points that lie where another level is drawn are told, whatever their levels say.
#[test]
fn places_that_contradict_descriptions_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let (_, text, _) = points(folder.path(), YARD);
    let exchanged = text.replace("northing_ft,easting_ft", "easting_ft,northing_ft");
    let (status, _, stderr) = as_built(folder.path(), YARD, "exchanged.csv", &exchanged);
    assert_eq!(status, 0);
    assert!(stderr.contains("with northing and easting exchanged"), "{stderr}");
    // Taken for the foot of D2, which is at 78 ft N, 56 ft E: 36.5 ft away.
    let other = text.replace(",78.00,56.00,98.95,D2 foot", ",84.00,20.00,98.95,D2 foot");
    let (_, _, stderr) = as_built(folder.path(), YARD, "other.csv", &other);
    assert_eq!(
        stderr,
        "warning: the point described as `D2 foot` lies 36.5 ft from its place in plan\n"
    );
    // In the coordinates of a survey nothing is said.
    let far = text.replace(",84.00,", ",5084.00,").replace(",36.00,", ",5036.00,");
    let far = far.replace(",40.00,", ",5040.00,").replace(",78.00,", ",5078.00,");
    let far = far.replace(",76.00,", ",5076.00,");
    assert_eq!(as_built(folder.path(), YARD, "far.csv", &far).2, "");
}

/// A tag that is a formula is none in the file, and still comes back as itself.
#[test]
fn a_tag_that_is_a_formula_comes_back() {
    let folder = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(root().join(YARD)).unwrap();
    let text = text.replace("T1:", "\"=1+1\":").replace("to: T1", "to: \"=1+1\"");
    let text = text.replace("P1:", "\"a;-1\":").replace("P1", "\"a;-1\"").replace("\"\"", "\"");
    let site = folder.path().join("site.yaml");
    std::fs::write(&site, text).unwrap();
    let site = site.to_str().unwrap();
    let (_, text, _) = points(folder.path(), site);
    assert!(text.contains(",'=1+1 inlet\n") && text.contains(",a;'-1 level\n"), "{text}");
    let (status, stdout, stderr) = as_built(folder.path(), site, "back.csv", &text);
    assert_eq!((status, stderr.as_str()), (0, ""), "{stdout}");
}
