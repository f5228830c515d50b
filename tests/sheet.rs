//! `wetrun sheet`: what stands on paper is what the JSON result says.

use crate::support::{cases, root, run};
use serde_json::Value;

/// The sheet of a site in one format, and the status it ended with.
fn sheet(site: &str, ending: &str) -> (i32, Vec<u8>) {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join(format!("set.{ending}"));
    let ran = run(&["sheet", site, "-o", out.to_str().unwrap()]);
    assert_eq!(ran.stdout, "");
    (ran.status, std::fs::read(&out).unwrap_or_default())
}

#[test]
fn levels_and_headroom_of_every_demo_site_are_those_of_the_result() {
    for case in cases("ok") {
        let site = format!("fixtures/ok/{case}/site.yaml");
        let us = std::fs::read_to_string(root().join(&site)).unwrap();
        let us = us.lines().any(|l| l.trim() == "units: us");
        let (status, html) = sheet(&site, "html");
        assert_eq!(status, 0, "{case}: the sheet is written whatever the verdict");
        let html = String::from_utf8(html).unwrap();
        let result: Value =
            serde_json::from_str(&run(&["check", &site, "--format", "json"]).stdout).unwrap();
        for (tag, downspout) in result["downspouts"].as_object().unwrap() {
            let m = |key: &str| downspout[key].as_f64().unwrap();
            // 0.3048 m to a foot, 0.0254 m to an inch.
            let (level, headroom) = if us {
                let (ft, inch) = (m("standing_level_m") / 0.3048, m("headroom_m") / 0.0254);
                (format!("{ft:.2}"), format!("headroom {inch:.1} in"))
            } else {
                let mm = m("headroom_m") * 1000.0;
                (format!("{:.3}", m("standing_level_m")), format!("headroom {mm:.0} mm"))
            };
            assert!(html.contains(&format!(">{level}<")), "{case} {tag}: {level}");
            assert!(html.contains(&headroom), "{case} {tag}: {headroom}");
        }
    }
}

#[test]
fn the_ending_chooses_the_format_and_bytes_repeat() {
    const HALL: &str = "fixtures/ok/us-hall-six-downspouts/site.yaml";
    for (ending, start) in [("pdf", "%PDF-"), ("svg", "<?xml"), ("html", "<!doctype html>")] {
        let (status, bytes) = sheet(HALL, ending);
        assert_eq!(status, 0);
        assert!(bytes.starts_with(start.as_bytes()), "{ending}");
        assert!(sheet(HALL, ending).1 == bytes, "{ending} differs between two runs");
    }
    let ran = run(&["sheet", HALL, "-o", "set.docx"]);
    assert_eq!((ran.status, ran.stdout.as_str()), (2, ""));
    assert!(ran.stderr.contains(".pdf, .html or .svg"), "{}", ran.stderr);
    let ran = run(&["sheet", HALL, "-o", "no/such/folder/set.pdf"]);
    assert_eq!(ran.status, 2);
    assert!(ran.stderr.contains("cannot write"), "{}", ran.stderr);
}
