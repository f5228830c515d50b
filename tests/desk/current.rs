//! Nothing old is shown as current, and nothing that somebody typed takes back what others changed
//! meanwhile; with answers that are held up, and some that are made up.

use super::running::{
    Desk, Site, click, edit, handle, middle, open, other_text, rested, reviewed, text, words,
};
use crate::browser::browser;
use crate::browser::devtools::Browser;
use serde_json::json;

const RING: &str = "fixtures/ok/si-two-tanks-ring/site.yaml";

/// Lets a test hold up the page's calls by name, and answer in the program's place.
pub(super) const GATE: &str = r#"
window.held = {}; window.made_up = {}; window.asked = [];
window.really = window.fetch;
window.fetch = async (url, options) => {
  const name = url.slice(1);
  asked.push(name);
  while (held[name]) await new Promise((done) => setTimeout(done, 10));
  const own = made_up[name];
  return own ? new Response(JSON.stringify(own(JSON.parse(options.body)))) : really(url, options);
};
0
"#;

/// A call as another page would make it.
fn elsewhere(browser: &mut Browser, name: &str, body: &serde_json::Value) -> serde_json::Value {
    browser.evaluate(&format!("server.call('{name}', {body})"))
}

fn is_old(browser: &mut Browser, element: &str) -> bool {
    let classes = format!("document.querySelector('{element}').className.includes('old-picture')");
    browser.evaluate(&classes) == true
}

#[test]
fn what_others_change_while_somebody_types_stays() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of(RING);
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    browser.evaluate(GATE);
    let put = |value: &str| json!({ "view": {}, "keys": ["storm", "intensity"], "value": value });

    // What was typed is on its way while another page changes another line.
    browser.evaluate("held.text = true");
    edit(&mut browser, "at the orchard", "by the orchard");
    browser.until("asked.includes('text')");
    let revision = browser.evaluate("desk.revision()");
    elsewhere(&mut browser, "put", &put("140 mm/h"));
    browser.until(&format!("desk.revision() !== {revision}"));
    browser.evaluate("held.text = false");
    let both =
        site.text.replace("at the orchard", "by the orchard").replace("150 mm/h", "140 mm/h");
    browser.until(&format!("document.querySelector('#typed').value === {}", json!(both)));
    let told = elsewhere(&mut browser, "look", &json!({ "view": {} }));
    assert_eq!(told["text"], json!(both));

    // Both change one line: a person chooses.
    browser.evaluate("held.text = true; asked.length = 0");
    edit(&mut browser, "140 mm/h", "145 mm/h");
    browser.until("asked.includes('text')");
    let revision = browser.evaluate("desk.revision()");
    elsewhere(&mut browser, "put", &put("130 mm/h"));
    browser.until(&format!("desk.revision() !== {revision}"));
    browser.evaluate("held.text = false");
    browser.until("!document.querySelector('#choice').hidden");
    assert!(words(&mut browser, "#choice h2").contains("while somebody typed"));
    let sides = words(&mut browser, "#choice .sides");
    assert!(sides.contains("145 mm/h") && sides.contains("130 mm/h"), "{sides}");
    browser.evaluate(
        "[...document.querySelectorAll('#choice button')].find(b => b.textContent === 'Take the other change').click()",
    );
    browser.until("document.querySelector('#choice').hidden");
    assert_eq!(text(&mut browser), both.replace("140 mm/h", "130 mm/h"));
    // Back to what was typed, and further to what stood there before.
    click(&mut browser, "#undo");
    let with = |rain: &str| both.replace("140 mm/h", rain);
    assert_eq!(other_text(&mut browser, &with("130 mm/h")), with("145 mm/h"));
    assert_eq!(browser.complaints(), [""; 0]);
}

#[test]
fn what_is_not_of_this_text_and_storm_is_greyed() {
    let Some(mut browser) = browser() else { return };
    // So little rain that a hundredth of it shows in no digit.
    let site = Site::with(&Site::of(RING).text.replace("150 mm/h", "1.5 mm/h"));
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    reviewed(&mut browser);
    browser.evaluate(GATE);
    assert!(!is_old(&mut browser, "#plan-figure") && !is_old(&mut browser, "#findings"));

    // Plan and review come later than the rest.
    browser.evaluate("held.rest = true");
    edit(&mut browser, "1.5 mm/h", "1.6 mm/h");
    browser.until("document.querySelector('#cause').textContent.endsWith('\u{2026}')");
    for (element, old) in [
        ("#plan-figure", true),
        ("#findings", true),
        ("#section-figure", false),
        ("#tables", false),
    ] {
        assert_eq!(is_old(&mut browser, element), old, "{element}");
    }
    browser.evaluate("held.rest = false");
    browser.until("!document.querySelector('#findings').className.includes('old-picture')");
    assert!(!is_old(&mut browser, "#plan-figure"));
    rested(&mut browser);

    // Another storm is another answer, however alike the two are written.
    let rain = |browser: &mut Browser, percent: u32| {
        browser.evaluate(&format!(
            "(() => {{ asked.length = 0; const rain = document.querySelector('#rain'); \
             rain.value = {percent}; rain.dispatchEvent(new Event('input')); }})()"
        ));
        browser.until("asked.includes('rest')");
        rested(browser);
    };
    rain(&mut browser, 101);
    assert!(words(&mut browser, "#rain-asked").starts_with("1.6 mm/h"));
    rain(&mut browser, 100);

    // The steady state is there, and what takes longer cannot be worked out: then `check` has no
    // answer, and neither has the page.
    browser.evaluate(
        "made_up.rest = (body) => ({ revision: body.revision, storm: { times: 1, tanks: 'full' }, \
         unsolved: 'no spill rain was found' })",
    );
    edit(&mut browser, "1.6 mm/h", "1.7 mm/h");
    browser.until("document.querySelector('#word').textContent === 'NOT CURRENT'");
    assert_eq!(words(&mut browser, "#cause"), "no spill rain was found");
    for element in ["#plan-figure", "#findings", "#section-figure", "#tables"] {
        assert!(is_old(&mut browser, element), "{element}");
    }
    // It stays so whatever else is looked at, until there is an answer.
    click(&mut browser, "#tables tbody tr:last-child button");
    browser.until("asked.lastIndexOf('look') > asked.lastIndexOf('rest')");
    assert_eq!(words(&mut browser, "#word"), "NOT CURRENT");
    browser.evaluate("delete made_up.rest");
    click(&mut browser, "#undo");
    browser.until("document.querySelector('#word').textContent === 'HOLDS'");
    rested(&mut browser);
    assert_eq!(browser.complaints(), [""; 0]);
}

#[test]
fn a_hand_that_moves_hurries_nobody_and_waits_openly() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of(RING);
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    browser.evaluate(GATE);
    // While a hand holds a level another page changes something: that is not asked for all the time.
    let (x, y) = middle(&mut browser, &handle("T2 inlet"));
    browser.mouse("mousePressed", (x, y));
    browser.evaluate("asked.length = 0");
    let body = json!({ "view": {}, "keys": ["storm", "basis"], "value": "a guess" });
    elsewhere(&mut browser, "put", &body);
    std::thread::sleep(std::time::Duration::from_millis(800));
    let news = browser.evaluate("asked.filter((name) => name === 'news').length");
    assert!((1..=6).contains(&news.as_u64().unwrap()), "asked for news {news} times in 0.8 s");
    browser.mouse("mouseReleased", (x, y));
    browser.until("document.querySelector('#typed').value.includes('a guess')");

    // A move that waits for the one before it has waited since it was made, also where a later one
    // takes its place.
    browser.evaluate("held.move = true; performance.clearMeasures()");
    let moved = |browser: &mut Browser, steps: i32| {
        browser.evaluate(&format!(
            "desk.move('m', {{ tag: 'T1', key: 'inlet' }}, {{ steps: {steps} }})"
        ));
    };
    moved(&mut browser, 1);
    moved(&mut browser, 2);
    std::thread::sleep(std::time::Duration::from_millis(300));
    moved(&mut browser, 3);
    browser.evaluate("held.move = false");
    browser.until("performance.getEntriesByName('answer').length === 2");
    let least = browser
        .evaluate("Math.min(...performance.getEntriesByName('answer').map((one) => one.duration))");
    assert!(least.as_f64().unwrap() >= 300.0, "{least} ms");
    assert_eq!(browser.complaints(), [""; 0]);
}

/// Whether what the page shows is what a page is told that has nothing yet.
const WHOLE: &str = r##"
window.told = { whole: 0, changed: 0 };
const really_call = server.call;
server.call = async (name, ...rest) => {
  const answer = await really_call(name, ...rest);
  if (answer.picture !== undefined) told[answer.since ? "changed" : "whole"] += 1;
  return answer;
};
// But for blanks between shapes and the order of attributes.
const words_of = (one) => [...one.attributes].map(({ name, value }) => `${name}=${value}`).sort().join();
const alike = (a, b) =>
  a.nodeName === b.nodeName && words_of(a) === words_of(b) && a.children.length === b.children.length &&
  (a.children.length ? [...a.children].every((child, at) => alike(child, b.children[at])) : a.textContent === b.textContent);
window.isWhole = async () => {
  const room = document.querySelector("#values").checked ? "full" : "low";
  const { section: now, tables } = await really_call("look", { view: { room } });
  const shown = [...document.querySelectorAll("#section-figure svg")];
  const drawings = now.panels.length === shown.length && now.panels.every((lines, at) => alike(drawn(lines.join("\n")), shown[at]));
  const handles = [...document.querySelectorAll("[role=slider]")].filter((one) => one.handle);
  const levels = now.handles.length === handles.length && now.handles.every((told) => {
    const one = handles.find((one) => one.handle.tag === told.tag && one.handle.key === told.key);
    return one && JSON.stringify(one.handle) === JSON.stringify(told) && one.getAttribute("aria-valuetext") === told.written;
  });
  const words = [...document.querySelectorAll("#tables tbody td")].map((one) => one.textContent);
  const rows = tables.flatMap((table) => table.rows.flatMap((row) => row.cells));
  return drawings && levels && JSON.stringify(words) === JSON.stringify(rows);
};
window.soonWhole = async () => {
  for (let tries = 0; tries < 200; tries += 1) {
    if (await isWhole()) return true;
    await new Promise((done) => setTimeout(done, 20));
  }
  return false;
};
0
"##;

/// A page that is told what changed alone shows the whole picture, also where shapes come and go.
#[test]
fn what_changed_alone_makes_the_whole_picture() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of("fixtures/ok/us-hall-six-downspouts/site.yaml");
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    browser.evaluate(WHOLE);
    // A sag and a hump; water that comes out of the gutter; a tank that stands higher than it.
    for (level, far) in
        [("W3 level", 40.0), ("W3 level", -70.0), ("D2 outlet", 60.0), ("T1 overflow.level", -40.0)]
    {
        browser.evaluate("told = { whole: 0, changed: 0 }");
        let (x, y) = middle(&mut browser, &handle(level));
        browser.mouse("mousePressed", (x, y));
        for step in 1..=10 {
            browser.mouse("mouseMoved", (x, y + far * f64::from(step) / 10.0));
            std::thread::sleep(std::time::Duration::from_millis(40));
        }
        assert_eq!(browser.evaluate("soonWhole()"), true, "{level}");
        let told = browser.evaluate("told");
        assert!(told["changed"].as_u64().unwrap() >= 3, "{level}: {told}");
        browser.mouse("mouseReleased", (x, y + far));
        rested(&mut browser);
    }
    assert_eq!(browser.complaints(), [""; 0]);
}
