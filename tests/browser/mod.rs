//! The HTML of every demo site in a real browser: it fits a phone and a desk, is silent, asks for
//! nothing, and prints to the pages of the PDF set.
//!
//! Without a browser the tests say that they were left out; `WETRUN_BROWSER_REQUIRED=1` makes
//! them fail instead. `tests/browser/install` gets one, `WETRUN_BROWSER` names one.

pub(crate) mod devtools;
mod lent;

use crate::pdf;
use crate::support::{cases, root, run};
use devtools::Browser;
use lent::Lent;
use std::io::Write;
use std::path::{Path, PathBuf};

const PHONE_PX: u32 = 360;
const DESK_PX: u32 = 1280;

/// A browser prints to whole pixels of 1/96 in: 0.75 pt.
const PIXEL_PT: f32 = 0.75;

#[test]
fn every_demo_fits_the_screen_in_silence_and_prints_to_the_pages_of_the_set() {
    let folder = tempfile::tempdir().unwrap();
    let long = folder.path().join("long.yaml");
    std::fs::write(&long, with_long_names()).unwrap();
    let sites: Vec<String> =
        sites().into_iter().chain([long.to_str().unwrap().to_owned()]).collect();
    // Most of the time goes to the program that writes the sets: by halves, side by side.
    std::thread::scope(|scope| {
        for (half, sites) in sites.chunks(sites.len().div_ceil(2)).enumerate() {
            let folder = folder.path();
            scope.spawn(move || {
                let Some(mut browser) = browser() else { return };
                for site in sites {
                    fits_and_prints(&mut browser, site, &folder.join(format!("set-{half}")));
                }
            });
        }
    });
}

fn fits_and_prints(browser: &mut Browser, site: &str, set: &Path) {
    let written = |ending: &str| {
        let out = set.with_extension(ending);
        let ran = run(&["sheet", site, "-o", out.to_str().unwrap()]);
        assert_eq!(ran.status, 0, "{site}: {}", ran.stderr);
        out
    };
    let set = std::fs::read(written("pdf")).unwrap();
    let page = written("html");
    for width_px in [PHONE_PX, DESK_PX] {
        browser.open(&page, width_px);
        assert_eq!(troubles(browser, width_px), [""; 0], "{site} at {width_px} px");
        same_pages(&browser.print(), &set, &format!("{site} at {width_px} px"));
    }
    browser.open(&written("svg"), DESK_PX);
    assert_eq!(browser.complaints(), [""; 0], "{site}, svg");
    assert_eq!(outside(browser), [""; 0], "{site}, svg");
}

/// What the test above looks for is there to be found: a page that does it all wrong.
#[test]
fn a_page_that_misbehaves_is_caught() {
    let Some(mut browser) = browser() else { return };
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("bad.html");
    // Port 9 of this machine: nobody answers there.
    std::fs::write(
        &page,
        "<!doctype html><meta name=viewport content='width=device-width,initial-scale=1'>\
         <div style='width:2000px'>wide</div><img src='http://127.0.0.1:9/x.png'>\
         <script>console.warn('warned'); throw new Error('thrown')</script>",
    )
    .unwrap();
    for width_px in [PHONE_PX, DESK_PX] {
        browser.open(&page, width_px);
        let found = troubles(&mut browser, width_px).join("\n");
        for sign in ["scrolls sideways", "asks for http://127.0.0.1:9/x.png", "warned", "thrown"] {
            assert!(found.contains(sign), "{sign} at {width_px} px: {found}");
        }
    }
}

/// A browser; none where none is installed and none is required.
pub(crate) fn browser() -> Option<Lent> {
    installed().map(|program| Lent::or_else(|| Browser::start_with(&program, &[])))
}

/// One of its own, with more flags.
pub(crate) fn browser_with(flags: &[&str]) -> Option<Browser> {
    installed().map(|program| Browser::start_with(&program, flags))
}

fn installed() -> Option<PathBuf> {
    let program = program();
    if program.is_none() {
        let required = std::env::var_os("WETRUN_BROWSER_REQUIRED").is_some_and(|v| v != "0");
        assert!(!required, "no Chromium on the PATH, and WETRUN_BROWSER_REQUIRED is set");
        // Not by a macro: those stay unseen when a test passes.
        let mut stderr = std::io::stderr();
        let said = "browser tests left out: no Chromium on the PATH (tests/browser/install)\n";
        stderr.write_all(said.as_bytes()).unwrap();
    }
    program
}

fn program() -> Option<PathBuf> {
    if let Some(named) = std::env::var_os("WETRUN_BROWSER") {
        let named = PathBuf::from(named);
        assert!(named.is_file(), "WETRUN_BROWSER: {} is no file", named.display());
        return Some(named);
    }
    let path = std::env::var_os("PATH")?;
    let folders: Vec<PathBuf> = std::env::split_paths(&path).collect();
    ["chromium", "chromium-browser"]
        .iter()
        .flat_map(|name| folders.iter().map(move |folder| folder.join(name)))
        .find(|program| program.is_file())
}

fn sites() -> Vec<String> {
    let ok = cases("ok").into_iter().map(|case| format!("fixtures/ok/{case}/site.yaml"));
    let review = ["clean", "planted"].map(|case| format!("fixtures/review/{case}/site.yaml"));
    let sites: Vec<String> = ok.chain(review).collect();
    assert!(sites.iter().all(|site| root().join(site).is_file()));
    sites
}

/// A demo whose name and tags no screen holds in one line, and that break nowhere.
fn with_long_names() -> String {
    let site = root().join("fixtures/ok/us-hall-six-downspouts/site.yaml");
    let text = std::fs::read_to_string(site).unwrap();
    let mut long = text.clone();
    for (short, letter) in [("Larkspur hall", 'W'), ("D3", 'D'), ("W2", 'P'), ("T1", 'T')] {
        assert!(text.contains(short));
        long = long.replace(short, &letter.to_string().repeat(150));
    }
    long
}

/// What is wrong with the page that is open.
fn troubles(browser: &mut Browser, width_px: u32) -> Vec<String> {
    let number = |value: serde_json::Value| value.as_f64().unwrap();
    let wide = number(browser.evaluate("document.documentElement.scrollWidth"));
    let window = number(browser.evaluate("window.innerWidth"));
    let mut troubles = browser.complaints();
    troubles.extend(outside(browser));
    // A phone's window grows with a page that is too wide.
    if wide > f64::from(width_px) || (window - f64::from(width_px)).abs() > 0.5 {
        troubles.push(format!("scrolls sideways: {wide} px in a window of {window} px"));
    }
    troubles
}

/// Requests for anything but the file itself and what stands inside it.
fn outside(browser: &Browser) -> Vec<String> {
    let requests = browser.requests();
    assert!(requests.first().is_some_and(|url| url.starts_with("file:")), "{requests:?}");
    let others = requests.into_iter().skip(1).filter(|url| !url.starts_with("data:"));
    others.map(|url| format!("asks for {url}")).collect()
}

/// As many pages as the set, each of the same size, with the same text in the same order.
fn same_pages(printed: &[u8], set: &[u8], what: &str) {
    let squeezed = |text: &String| text.split_whitespace().collect::<String>();
    let (printed_text, set_text) = (pdf::pages(printed), pdf::pages(set));
    assert_eq!(printed_text.len(), set_text.len(), "{what}: pages");
    for (index, (printed, set)) in printed_text.iter().zip(&set_text).enumerate() {
        assert!(!set.is_empty());
        assert_eq!(squeezed(printed), squeezed(set), "{what}: page {}", index + 1);
    }
    for (index, (a, b)) in pdf::sizes(printed).iter().zip(pdf::sizes(set)).enumerate() {
        let same = (a.0 - b.0).abs() < PIXEL_PT && (a.1 - b.1).abs() < PIXEL_PT;
        assert!(same, "{what}: page {} is {a:?} pt, in the set {b:?} pt", index + 1);
    }
}

/// The reader of pages is told a size that it cannot know by itself: letter is 8.5 in by 11 in,
/// A4 is 210 mm by 297 mm (ISO 216).
#[test]
fn the_paper_of_the_set_is_letter_or_a4() {
    let folder = tempfile::tempdir().unwrap();
    for (site, mm) in [
        ("fixtures/ok/us-hall-six-downspouts/site.yaml", (215.9, 279.4)),
        ("fixtures/ok/si-two-tanks-ring/site.yaml", (210.0, 297.0)),
    ] {
        let out = folder.path().join("set.pdf");
        assert_eq!(run(&["sheet", site, "-o", out.to_str().unwrap()]).status, 0);
        let sizes = pdf::sizes(&std::fs::read(&out).unwrap());
        let is = |size: (f32, f32), w: f32, h: f32| {
            (size.0 / 72.0 * 25.4 - w).abs() < 0.1 && (size.1 / 72.0 * 25.4 - h).abs() < 0.1
        };
        assert!(is(sizes[0], mm.0, mm.1), "{site}: the cover stands: {sizes:?}");
        assert!(is(sizes[1], mm.1, mm.0), "{site}: the plan lies: {sizes:?}");
    }
}
