//! Graphs of storms, days and doubts: what is drawn and written beside them is what the report says.

use crate::support::{cases, root, run};
use serde_json::Value;
use std::path::Path;

const DAYS: &str = "crates/year/tests/data/seattle.csv";

fn site(name: &str) -> String {
    format!("fixtures/ok/{name}/site.yaml")
}

/// The picture that a command writes as well, and its report.
fn drawn(folder: &Path, name: &str, args: &[&str]) -> (String, String) {
    let out = folder.join(name);
    let ran = run(&[args, &["-o", out.to_str().unwrap()]].concat());
    assert!(ran.status < 2 && ran.stderr.is_empty(), "{args:?}: {}", ran.stderr);
    (String::from_utf8_lossy(&std::fs::read(out).unwrap()).into_owned(), ran.stdout)
}

/// The texts of an SVG file.
fn texts(svg: &str) -> Vec<String> {
    let each = svg.split("<text ").skip(1).filter_map(|rest| {
        let (_, text) = rest.split_once('>')?;
        let (text, _) = text.split_once("</text>")?;
        Some(text.replace("&#39;", "'").replace("&quot;", "\"").replace("&amp;", "&"))
    });
    each.collect()
}

/// The worst downspout's number stands in the picture as in the report, on every demo.
#[test]
fn a_storms_graph_says_what_its_report_says() {
    let folder = tempfile::tempdir().unwrap();
    for name in cases("ok") {
        let (svg, text) = drawn(folder.path(), "storm.svg", &["storm", &site(&name)]);
        let texts = texts(&svg);
        let first: Vec<&str> = text.split_whitespace().take(3).collect();
        let said = texts.join(" ");
        assert!(said.contains(&format!("{}: {}", first[0], first[1..].join(" "))), "{name}");
        let json = run(&["storm", &site(&name), "--format", "json"]);
        let json: Value = serde_json::from_str(&json.stdout).unwrap();
        let headroom = |one: &Value| one["least_headroom_m"].as_f64().unwrap();
        let downspouts = json["downspouts"].as_object().unwrap();
        let worst = downspouts.iter().min_by(|a, b| headroom(a.1).total_cmp(&headroom(b.1)));
        let (tag, worst) = worst.unwrap();
        let us = std::fs::read_to_string(root().join(site(&name))).unwrap().contains("units: us");
        let room = headroom(worst) / if us { 0.0254 } else { 0.001 };
        let room = if us { format!("{room:.1} in") } else { format!("{room:.0} mm") };
        let label = format!("{tag}  {}", room.replace("-0 ", "0 ").replace("-0.0 ", "0.0 "));
        assert!(texts.iter().any(|text| text.starts_with(&label)), "{name}: {label} in {texts:?}");
    }
}

/// The table of courses has every peak of the result, to what a step may miss of it, and ends as it
/// does.
#[test]
fn the_courses_hold_the_peaks() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("courses.csv");
    for name in cases("ok") {
        let args = ["storm", &site(&name), "--format", "json", "--series", out.to_str().unwrap()];
        let ran = run(&args);
        let json: Value = serde_json::from_str(&ran.stdout).unwrap();
        let mut table = csv::Reader::from_path(&out).unwrap();
        let header: Vec<String> = table.headers().unwrap().iter().map(str::to_owned).collect();
        let rows: Vec<Vec<f64>> = table
            .records()
            .map(|row| row.unwrap().iter().map(|c| c.parse().unwrap_or(f64::NAN)).collect())
            .collect();
        let column = |name: &str| {
            let at = header.iter().position(|head| head == name).unwrap();
            rows.iter().map(move |row| row[at])
        };
        assert!(rows.windows(2).all(|pair| pair[0][0] <= pair[1][0]), "{name}");
        let last = column("at_s").next_back().unwrap();
        assert!((last - json["ended_s"].as_f64().unwrap()).abs() < 1e-6, "{name}");
        for (tag, one) in json["downspouts"].as_object().unwrap() {
            let most = column(&format!("{tag} level_m")).fold(f64::MIN, f64::max);
            let peak = one["peak_level_m"].as_f64().unwrap();
            assert!((0.0..1e-3).contains(&(peak - most + 1e-9)), "{name} {tag}: {peak} {most}");
        }
        for (tag, one) in json["tanks"].as_object().unwrap() {
            let Some(peak) = one["peak_level_m"].as_f64() else { continue };
            let most = column(&format!("{tag} level_m")).fold(f64::MIN, f64::max);
            assert!((0.0..1e-3).contains(&(peak - most + 1e-9)), "{name} {tag}: {peak} {most}");
        }
    }
}

/// Every form of every picture is written, HTML and PDF among them.
#[test]
fn pictures_have_three_forms() {
    let folder = tempfile::tempdir().unwrap();
    let (storm, doubt) = (site("us-tanks-in-cascade"), "fixtures/doubt/si-low-eaves/site.yaml");
    let year = "fixtures/year/us-three-tanks/site.yaml";
    let commands: [&[&str]; 3] =
        [&["storm", &storm], &["doubt", doubt, "--samples", "64"], &["year", year, "--rain", DAYS]];
    for args in commands {
        let (pdf, text) = drawn(folder.path(), "picture.pdf", args);
        assert!(pdf.starts_with("%PDF-"));
        let (html, again) = drawn(folder.path(), "picture.HTML", args);
        assert!(html.starts_with("<!doctype html>") && html.contains("<svg"));
        assert_eq!(text, again);
        let (svg, _) = drawn(folder.path(), "picture.svg", args);
        assert!(texts(&svg).len() > 10);
        // The same bytes every time.
        assert_eq!(drawn(folder.path(), "again.svg", args).0, svg);
    }
}

/// What cannot be drawn or would overwrite what is read is refused, and nothing is written.
#[test]
fn a_picture_takes_no_other_files_place() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("site.svg");
    std::fs::copy(root().join(site("us-tanks-in-cascade")), &file).unwrap();
    let before = std::fs::read(&file).unwrap();
    let path = file.to_str().unwrap();
    let ran = run(&["storm", path, "-o", path]);
    assert_eq!((ran.status, ran.stdout.as_str()), (2, ""));
    assert!(ran.stderr.contains("--force"), "{}", ran.stderr);
    let ran = run(&["storm", path, "--series", path]);
    assert_eq!((ran.status, ran.stdout.as_str()), (2, ""));
    assert_eq!(std::fs::read(&file).unwrap(), before);
    for name in ["picture.dxf", "picture.png", "picture"] {
        let out = folder.path().join(name);
        let ran = run(&["storm", path, "-o", out.to_str().unwrap()]);
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{name}");
        assert!(ran.stderr.contains(".svg, .html or .pdf"), "{}", ran.stderr);
        assert!(!out.exists());
    }
}

/// The set has a part of the storm and one of the doubt where they are asked for, else neither.
#[test]
fn the_set_takes_them_in() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("set.html");
    let write = |more: &[&str]| {
        let args = ["sheet", &site("us-hall-six-downspouts"), "-o", out.to_str().unwrap()];
        let ran = run(&[&args, more].concat());
        assert_eq!((ran.status, ran.stderr.as_str()), (0, ""));
        std::fs::read_to_string(&out).unwrap()
    };
    let (storm, doubt) = ("<h2>The storm as it passes</h2>", "<h2>How sure the margins are</h2>");
    let plain = write(&[]);
    assert!(!plain.contains(storm) && !plain.contains(doubt));
    let both = write(&["--storm-course", "--doubts"]);
    assert!(both.contains(storm) && both.contains(doubt));
}
