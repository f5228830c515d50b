//! The page on a phone, on a desk, zoomed, dark and light, read out, and with names full of markup.

use super::running::{Desk, Site, edit, open, rested, reviewed};
use crate::browser::browser;
use crate::browser::devtools::Browser;
use std::path::Path;

const HALL: &str = "fixtures/ok/us-hall-six-downspouts/site.yaml";

/// What scrolls sideways but should not: the page.
fn too_wide(browser: &mut Browser) -> f64 {
    let number = |value: serde_json::Value| value.as_f64().unwrap();
    number(browser.evaluate("document.documentElement.scrollWidth"))
        - number(browser.evaluate("document.documentElement.clientWidth"))
}

/// Words whose contrast with what is behind them is less than 4.5 (WCAG 2.1, success criterion
/// 1.4.3), by its own formula of relative luminance.
const FAINT: &str = r#"
(() => {
  const channel = (c) => (c / 255 <= 0.03928 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4);
  const light = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
  const read = (colour) => colour.match(/[\d.]+/g).map(Number);
  const behind = (element) => {
    for (let at = element; at; at = at.parentElement) {
      const colour = read(getComputedStyle(at).backgroundColor);
      if (colour.length < 4 || colour[3] > 0) return colour;
    }
    return [255, 255, 255];
  };
  const faint = [];
  for (const element of document.querySelectorAll("body *")) {
    if (element.closest("svg, :disabled, [hidden], .hidden") || element.offsetParent === null) continue;
    const own = [...element.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
    if (!own) continue;
    const [a, b] = [light(read(getComputedStyle(element).color)), light(behind(element))];
    const contrast = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (contrast < 4.5) faint.push(`${element.textContent.trim().slice(0, 30)}: ${contrast.toFixed(2)}`);
  }
  return faint;
})()
"#;

#[test]
fn on_every_screen() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of(HALL);
    let desk = Desk::start(&site.path);
    // 200 % zoom of a window is half of it, at twice the density.
    for (width, height, density) in
        [(390, 844, 3.0), (640, 450, 2.0), (1280, 900, 1.0), (1920, 1080, 1.0), (3840, 2160, 1.0)]
    {
        // Wider ones differ in their layout alone.
        if width <= 1280 {
            open(&mut browser, &desk, width);
        }
        browser.window(width, height, density);
        rested(&mut browser);
        reviewed(&mut browser);
        for scheme in ["light", "dark"] {
            browser.scheme(scheme);
            let at = format!("{width} px, {scheme}");
            assert!(too_wide(&mut browser) <= 0.0, "{at} scrolls sideways");
            assert_eq!(browser.evaluate(FAINT), serde_json::json!([]), "{at}");
            if let Some(folder) = std::env::var_os("WETRUN_PICTURES") {
                let file = Path::new(&folder).join(format!("desk-{width}-{scheme}.png"));
                std::fs::write(file, browser.picture()).unwrap();
            }
        }
        browser.scheme("light");
        // The section fits its part of the page: what is dragged does not scroll away.
        let figure = "document.querySelector('#section-figure')";
        let scrolls = format!("(({figure}).scrollLeft = 99, ({figure}).scrollLeft)");
        assert_eq!(browser.evaluate(&scrolls), 0, "{width} px");
        // Handles are as large as a finger.
        let least = browser.evaluate(
            "Math.min(...[...document.querySelectorAll('[role=slider]')].map(h => h.getBoundingClientRect()).flatMap(b => [b.width, b.height]))",
        );
        assert!(least.as_f64().unwrap() >= 44.0, "{width} px: {least}");
        assert_eq!(browser.complaints(), [""; 0], "{width} px");
        let outside: Vec<String> = (browser.requests().into_iter())
            .filter(|url| !url.starts_with(desk.bare()) && !url.starts_with("data:"))
            .collect();
        assert_eq!(outside, [""; 0]);
        // The secret has left the address bar, and stands in no address that was asked for.
        assert_eq!(browser.evaluate("location.href"), desk.bare());
        let told = |url: &String| url.contains(desk.secret()) && !url.contains('#');
        assert!(!browser.requests().iter().any(told));
    }
    // Loaded anew, it still is the page of this desk.
    browser.evaluate("location.reload()");
    browser.until("document.querySelector('#word') && document.querySelector('#word').textContent === 'HOLDS'");
}

#[test]
fn what_a_screen_reader_is_told() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of(HALL);
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    let told = browser.accessible();
    let is = |role: &str, name: &str| told.iter().any(|(r, n, _)| r == role && n == name);
    for (role, name) in [
        ("heading", "Larkspur hall"),
        ("button", "Undo"),
        ("button", "Save"),
        ("slider", "D2 outlet"),
        ("slider", "P1 level"),
        ("slider", "M7 profile[1].level"),
        ("slider", "T1 overflow.level"),
        ("slider", "Rain"),
        ("radio", "full"),
        ("button", "downspout D4"),
        ("button", "line M3"),
        ("button", "tank T1"),
        ("region", "Plan"),
        ("region", "Review"),
        ("columnheader", "headroom in"),
        ("rowheader", "D1"),
        ("textbox", "The file"),
    ] {
        assert!(is(role, name), "no {role} `{name}` in {told:?}");
    }
    // A level is told as the file writes it; the sentence is read out when it changes.
    let value =
        "document.querySelector('[aria-label=\"D2 outlet\"]').getAttribute('aria-valuetext')";
    assert_eq!(browser.evaluate(value), "109.60 ft");
    let live = "(() => { const said = document.querySelector('#word').closest('[aria-live]'); \
                return [said.getAttribute('role'), said.textContent.includes('worst is D2')]; })()";
    assert_eq!(browser.evaluate(live), serde_json::json!(["status", true]));
    // Nothing that can be pressed or moved is without a name.
    let nameless: Vec<_> = told
        .iter()
        .filter(|(role, name, _)| {
            ["button", "slider", "textbox", "radio", "checkbox", "combobox", "link", "spinbutton"]
                .contains(&&**role)
                && name.trim().is_empty()
        })
        .collect();
    assert!(nameless.is_empty(), "{nameless:?}");
}

/// A site whose every name and text would be markup, if it were not text.
const MARKUP: &str = r#"wetrun: 1
name: 'Hut <img src=x onerror=document.title=1>'
units: si
datum: '<svg onload=document.title=2>'
storm: { intensity: 90 mm/h, basis: '</script><script>document.title=3</script>' }
downspouts:
  '<img src=x>': { outlet: 3.00, foot: 0.50, pipe: pvc-sch40 4 in }
points:
  '"><b>P1</b>': { level: 0.40, vent: { level: 3.1 } }
roofs: { '<i>r': { area: 60 m2, to: '<img src=x>' } }
lines:
  '${M1}': { from: '<img src=x>', to: '"><b>P1</b>', length: 9 m, pipe: pvc-sch40 4 in }
  'M2&amp;': { from: '"><b>P1</b>', to: 'T<script>4</script>', length: 9 m, pipe: pvc-sch40 4 in }
tanks: { 'T<script>4</script>': { inlet: 2.00 } }
"#;

#[test]
fn text_from_the_file_is_text() {
    let Some(mut browser) = browser() else { return };
    let site = Site::with(MARKUP);
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    let made = "document.querySelectorAll('img, b, i, main script').length";
    assert_eq!(browser.evaluate(made), 0);
    assert_eq!(
        super::running::words(&mut browser, "#site"),
        "Hut <img src=x onerror=document.title=1>"
    );
    let title = browser.evaluate("document.title");
    assert!(title.as_str().unwrap().contains("Hut <img"), "{title}");
    let all = |browser: &mut Browser, what: &str, key: &str| {
        let found = format!(
            "[...document.querySelectorAll('{what}')].map(e => e.getAttribute('{key}')).join('\\n')"
        );
        browser.evaluate(&found).as_str().unwrap().to_owned()
    };
    let rows = all(&mut browser, "#tables tr", "data-tag");
    assert!(rows.contains("<img src=x>") && rows.contains("T<script>4</script>"), "{rows}");
    let handles = all(&mut browser, "[role=slider]", "aria-label");
    assert!(handles.contains("\"><b>P1</b> level"), "{handles}");
    let spots = all(&mut browser, "#plan [role=button]", "aria-label");
    assert!(spots.contains("line M2&amp;") && spots.contains("line ${M1}"), "{spots}");
    // An error repeats what is wrong: it is text as well.
    edit(&mut browser, "90 mm/h", "<img src=y onerror=document.title=5>");
    browser.until("document.querySelector('#word').textContent === 'NOT CURRENT'");
    assert!(super::running::words(&mut browser, "#cause").contains("not with `<img`"));
    assert_eq!(browser.evaluate(made), 0);
    assert_eq!(browser.complaints(), [""; 0]);
}
