//! Further sheets, worked out on demand and called off when the site changes.

use super::current::GATE;
use super::running::{Desk, Site, click, edit, open, words};
use crate::browser::browser;

const BURST: &str = "fixtures/ok/us-hall-six-downspouts/site.yaml";

#[test]
fn storm_and_doubt_on_demand() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of(BURST);
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    assert_eq!(words(&mut browser, "#further-body"), "");
    for (sheet, says) in [("storm", "HOLDS"), ("doubt", "How sure")] {
        click(&mut browser, &format!("[data-sheet={sheet}]"));
        browser.until("document.querySelector('#further-note').textContent === '' && document.querySelector('#further-body svg')");
        let answer = words(&mut browser, "#further-body .answer strong");
        assert_eq!(answer, says);
    }
    // The drains: every line of the site, and the water that runs out as the command says it.
    click(&mut browser, "[data-sheet=flush]");
    browser
        .until("document.querySelector('#further-body h3').textContent === 'Opening the drains'");
    let told = crate::support::run(&["flush", site.path.to_str().unwrap()]).stdout;
    let runs_out = words(&mut browser, "#further-body dd");
    assert!(runs_out.len() > 2 && told.contains(&runs_out), "{runs_out}: {told}");
    let rows = browser.evaluate("document.querySelector('#further-body tbody').rows.length");
    let lines = site.text.lines().filter(|line| line.contains("from: ")).count();
    assert_eq!(rows, lines);
    click(&mut browser, "[data-sheet=doubt]");
    browser.until("document.querySelector('#further-body .answer') && document.querySelector('#further-body .answer strong').textContent === 'How sure'");
    // The sentence is that of the command.
    let told = crate::support::run(&["doubt", site.path.to_str().unwrap()]).stdout;
    let shown = words(&mut browser, "#further-body .answer");
    let start = shown.trim_start_matches("How sure").trim().split(' ').take(6);
    let told: Vec<&str> = told.split_whitespace().collect();
    let start: Vec<&str> = start.collect();
    assert!(told.windows(start.len()).any(|part| part == start), "{shown}");
    // Another text: what is shown is old, and said to be.
    edit(&mut browser, "intensity: 5.2 in/h", "intensity: 5.4 in/h");
    browser.until("document.querySelector('#further-body').className.includes('old-picture')");
    assert!(words(&mut browser, "#further-note").contains("ask again"));
    // What is on its way is called off by another text, and that is said.
    browser.evaluate(GATE);
    browser.evaluate("held.sheet = true");
    click(&mut browser, "[data-sheet=storm]");
    browser.until("asked.includes('sheet')");
    edit(&mut browser, "intensity: 5.4 in/h", "intensity: 5.3 in/h");
    browser.until("document.querySelector('#further-note').textContent.startsWith('Called off')");
    browser.evaluate("held.sheet = false");
    click(&mut browser, "[data-sheet=year]");
    browser.until("document.querySelector('#further-note').textContent.includes('--rain')");
    assert_eq!(browser.complaints(), [""; 0]);
}

/// Days of rain that the desk was given: all of them are told, and every tank that the command tells of.
#[test]
fn days_of_rain_on_demand() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of("fixtures/year/us-three-tanks/site.yaml");
    let days = crate::support::root().join("crates/year/tests/data/seattle.csv");
    let desk = Desk::start_with_rain(&site.path, &days);
    open(&mut browser, &desk, 1280);
    click(&mut browser, "[data-sheet=year]");
    browser.until("document.querySelector('#further-note').textContent === '' && document.querySelector('#further-body table')");
    let shown = words(&mut browser, "#further-body");
    let told = crate::support::run(&[
        "year",
        site.path.to_str().unwrap(),
        "--rain",
        days.to_str().unwrap(),
    ]);
    assert_eq!(told.status, 0, "{}", told.stderr);
    for tank in ["T1", "T2", "T3"] {
        assert!(shown.contains(tank) && told.stdout.contains(tank), "{tank}: {shown}");
    }
    // Four years to the end of 2015, 1461 days.
    assert!(shown.contains("1461") || shown.contains("4 years"), "{shown}");
    assert_eq!(browser.complaints(), [""; 0]);
}
