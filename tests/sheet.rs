//! `wetrun sheet`: what stands on paper is what the JSON result says.

use crate::pdf;
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

/// The same with every route.
fn all_routes(site: &str, ending: &str) -> (i32, Vec<u8>) {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join(format!("set.{ending}"));
    let ran = run(&["sheet", site, "-o", out.to_str().unwrap(), "--all-routes"]);
    (ran.status, std::fs::read(&out).unwrap_or_default())
}

/// Every demo: the sheet's cover and the check never disagree, and name the same cause.
#[test]
fn the_cover_gives_the_verdict_of_the_check() {
    for case in cases("ok") {
        let site = format!("fixtures/ok/{case}/site.yaml");
        let check = run(&["check", &site]);
        let word = if check.status == 0 { "HOLDS" } else { "FAILS" };
        let cover = pages_of(&site, "Wet rainwater line: summary");
        assert!(cover.contains(word), "{case}: {word} is not in {cover}");
        let other = if check.status == 0 { "FAILSIn" } else { "HOLDSIn" };
        assert!(!cover.contains(other), "{case}");
        let first = check.stdout.lines().next().unwrap().split_whitespace().skip(1);
        shows(&cover, &[&first.collect::<String>()]);
    }
}

/// A vent below the grade line: the check fails by it, and every page that shows it says so.
#[test]
fn a_vent_that_lets_water_out_is_drawn_leaking() {
    const SITE: &str = "fixtures/ok/si-vent-below-the-grade/site.yaml";
    shows(&pages_of(SITE, "Wet rainwater line: summary"), &["water comes out", "What mends it"]);
    shows(&pages_of(SITE, "Plan scheme"), &["vent lets", "out"]);
    let section = pages_of(SITE, "Long section D1 to T1 (governing route)");
    shows(&section, &["vent 22.250 m: lets", "open cap 23.000 m", "water comes out"]);
}

/// Worked by hand: height of instrument 100.00 + 4.32 = 104.32 ft; T1's inlet at 107.60 ft reads
/// 104.32 - 107.60 = -3.28, D1's foot at 98.90 ft reads 5.42.
#[test]
fn the_level_schedule_takes_a_backsight() {
    const SITE: &str = "fixtures/levels/workshop/site.yaml";
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("set.html");
    let args = ["sheet", SITE, "-o", out.to_str().unwrap(), "--backsight", "BM1=4.32 ft"];
    assert_eq!(run(&args).status, 0);
    let html = std::fs::read_to_string(&out).unwrap();
    for words in ["height of instrument is 104.32 ft", ">-3.28<", ">5.42<", "Test level"] {
        assert!(html.contains(words), "{words}");
    }
    let ran = run(&["sheet", SITE, "-o", out.to_str().unwrap(), "--backsight", "BM9=4.32 ft"]);
    assert_eq!(ran.status, 2);
    assert!(ran.stderr.contains("there is no such benchmark"), "{}", ran.stderr);
}

/// The lines of this demo cross at most; its places are invented here. L1 is 4 m long, its ends
/// stand 30 m apart.
#[test]
fn places_further_apart_than_a_line_is_long_are_told() {
    const SITE: &str = "fixtures/ok/si-over-a-culvert/site.yaml";
    let text = std::fs::read_to_string(root().join(SITE)).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site.yaml");
    let moved = text
        .replacen("  D1: {", "  D1: { at: [0 m, 0 m],", 1)
        .replacen("  P1: {", "  P1: { at: [30 m, 0 m],", 1)
        .replacen("  T1: {", "  T1: { at: [31 m, 0 m],", 1);
    std::fs::write(&site, &moved).unwrap();
    let site = site.to_str().unwrap();
    shows(
        &pages_of(site, "Wet rainwater line: summary"),
        &["L1: its ends stand 30.00 m apart in plan (`at`), and it is 4.00 m long"],
    );
    shows(&pages_of(site, "Plan scheme"), &["Scale 1:", "north is up the page"]);
    assert!(pages_of(SITE, "Plan scheme").contains("Nottoscale"));
}

#[test]
fn levels_and_headroom_of_every_demo_site_are_those_of_the_result() {
    for case in cases("ok") {
        let site = format!("fixtures/ok/{case}/site.yaml");
        let us = std::fs::read_to_string(root().join(&site)).unwrap();
        let us = us.lines().any(|l| l.trim() == "units: us");
        let (status, html) = all_routes(&site, "html");
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
    assert!(ran.stderr.contains(".pdf, .html, .svg, .dxf or .xlsx"), "{}", ran.stderr);
    let ran = run(&["sheet", HALL, "-o", "no/such/folder/set.pdf"]);
    assert_eq!(ran.status, 2);
    assert!(ran.stderr.contains("cannot write"), "{}", ran.stderr);
}

/// Pages of the PDF set whose head says this, joined, without white space.
fn pages_of(site: &str, head: &str) -> String {
    let squeezed = |text: &str| text.split_whitespace().collect::<String>();
    let pages = pdf::pages(&sheet(site, "pdf").1);
    let pages: Vec<String> = pages
        .iter()
        .filter(|page| page.lines().rev().take(6).any(|line| line == head))
        .map(|page| squeezed(page))
        .collect();
    assert!(!pages.is_empty(), "{site} has no page `{head}`");
    pages.concat()
}

fn shows(page: &str, words: &[&str]) {
    for words in words {
        let squeezed: String = words.split_whitespace().collect();
        assert!(page.contains(&squeezed), "`{words}` is not in {page}");
    }
}

/// Words and levels as they stand in the site file.
#[test]
fn the_cover_shows_what_the_documents_state() {
    let cover = pages_of("fixtures/review/clean/site.yaml", "Wet rainwater line: summary");
    shows(
        &cover,
        &[
            "Revision B",
            "Designer licence cited on sheet 1",
            "Drawings plan, long section, details",
            "Return period 25 years",
            "Storm averaged over 5 min",
            "Roof area measured 120.0 m²",
            "Pipes stand full declared on sheet 1",
            "Frost depth 600 mm",
            "Ground water, highest 96.000 m",
            "Water test water held at 103.100 m for 20 min",
            "Hold point inspector sees the test, trench open",
            "Owner's manual sheet 6",
            "Inspection every 12 months",
        ],
    );
    let none = pages_of("fixtures/ok/si-two-tanks-ring/site.yaml", "Wet rainwater line: summary");
    assert!(!none.contains("Statedwiththedesign"), "nothing is stated there");
}

#[test]
fn the_owner_is_told_what_to_do_where_and_when() {
    let page = pages_of("fixtures/review/clean/site.yaml", "For the owner");
    shows(
        &page,
        &[
            "Every 12 months everything Have the whole system looked over",
            "Every one to three months D1, D2 Empty and clean the first-flush device, 15 L.",
            "Twice a year P1 Open the drain, let the line run out until the water is clear, and close it again. About 363 L come, most of it within",
            "It runs out to: swale.",
            "Once a year P1 Drain the line, open, look for silt, flush, close watertight.",
            "The ground freezes 600 mm deep here. Open the drain, let the line run out, and leave the drain open.",
            "First open the drain at P1 slowly, and stand clear of where it runs out (swale).",
            "Close every cap, then the drain, watertight, before the next rain",
            "Never enter a tank",
            "no pipe or hose may join it to drinking water",
            "When a gutter runs over",
            "Before the first frost D1, D2 Kept from freezing as designed: drained before frost.",
            "Before the first frost T1 Kept from freezing as designed: insulated.",
            "Stale water drained between storms",
            "T1: overflow runs out 4.000 m from the building",
        ],
    );
    // A tank that would run out through an inlet under its water is shut first, in order and always.
    let drowned = pages_of("fixtures/ok/si-inlet-under-water/site.yaml", "For the owner");
    let shut =
        "First shut L3 at T1: the tank would run out too. When the drain is closed, open it again.";
    shows(
        &drowned,
        &[&format!("Twice a year P1 {shut} Open the drain"), "Then open the drain at P1"],
    );
    let two = pages_of("fixtures/review/planted/sound.yaml", "For the owner");
    shows(&two, &["P1 Drain 1 of 2, in this order: open", "P3 Drain 2 of 2, in this order: open"]);
    let vented = pages_of("fixtures/levels/workshop/site.yaml", "For the owner");
    shows(&vented, &["Twice a year P1 See that the vent is open", "drain, vent"]);
}

#[test]
fn vents_stand_on_sections_plan_and_level_schedule() {
    const SITE: &str = "fixtures/levels/workshop/site.yaml";
    shows(&pages_of(SITE, "Long section D1 to T1"), &["P1, drain 2 in", "vent 110.40 ft"]);
    shows(&pages_of(SITE, "Plan scheme"), &["vent"]);
    let levels = pages_of(SITE, "Level schedule");
    // A vent may come down to the head at its point, printed upwards to 0.01 ft.
    let check = run(&["check", SITE, "--format", "json"]).stdout;
    let result: Value = serde_json::from_str(&check).unwrap();
    let head_m = result["points"]["P1"]["head_m"].as_f64().unwrap();
    let lowest_ft = (head_m / 0.3048 * 100.0).ceil() / 100.0;
    shows(&levels, &[&format!("P1 top of the vent 110.40 {lowest_ft:.2} –")]);
    shows(&levels, &["P1 outlet of the drain 97.00 –"]);
    shows(&levels, &["L4 invert 12.0 ft from its start 98.60"]);
}

/// U+6C34 and U+69FD are CJK ideographs, U+062E an Arabic letter; the font's own description has
/// Latin, Greek and Cyrillic only.
#[test]
fn characters_that_the_font_lacks_are_told_of() {
    const SITE: &str = "fixtures/ok/si-no-rain/site.yaml";
    let text = std::fs::read_to_string(root().join(SITE)).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let (site, out) = (folder.path().join("site.yaml"), folder.path().join("set.pdf"));
    let write = |text: &str| {
        std::fs::write(&site, text).unwrap();
        run(&["sheet", site.to_str().unwrap(), "-o", out.to_str().unwrap()])
    };
    assert_eq!(write(&text).stderr, "", "nothing is lacking as it stands");
    assert!(text.contains("T1") && text.contains("D1"));
    let foreign = text.replace("T1", "\u{6C34}\u{69FD}").replace("D1", "Дождь-\u{62E}");
    let ran = write(&foreign);
    assert_eq!((ran.status, ran.stdout.as_str()), (0, ""));
    let said = "lacks characters of `Дождь-\u{62E}`, `\u{6C34}\u{69FD}`;";
    assert!(ran.stderr.starts_with("warning: ") && ran.stderr.contains(said), "{}", ran.stderr);
    let cover = pdf::pages(&std::fs::read(&out).unwrap()).swap_remove(0);
    assert!(cover.contains("2 names or texts of the site file"), "{cover}");
}
