//! A level moved by mouse, by finger and by keys changes that value in the file and nothing else.

use super::running::{Desk, Site, click, handle, middle, open, other_text, rested, text, words};
use crate::browser::browser;
use crate::browser::devtools::{Browser, CONTROL, Key, SHIFT};

const HALL: &str = "fixtures/ok/us-hall-six-downspouts/site.yaml";

/// What differs between two texts, byte by byte: what stood there, and what stands there now. Both
/// are widened to whole words.
fn change(before: &str, after: &str) -> (String, String) {
    let same = |(a, b): &(u8, u8)| a == b;
    let head = before.bytes().zip(after.bytes()).take_while(same).count();
    let tail = before[head..].bytes().rev().zip(after[head..].bytes().rev());
    let tail = tail.take_while(same).count();
    let open = before[..head].rfind([' ', '\'', '"']).map_or(0, |at| at + 1);
    let close = before[before.len() - tail..].find([' ', ',', '\n']).unwrap_or(0);
    let cut = |text: &str| text[open..text.len() - tail + close].to_owned();
    (cut(before), cut(after))
}

fn drag(browser: &mut Browser, name: &str, down: f64) {
    let (x, y) = middle(browser, &handle(name));
    browser.mouse("mousePressed", (x, y));
    for step in 1..=5 {
        browser.mouse("mouseMoved", (x, y + down * f64::from(step) / 5.0));
    }
    browser.mouse("mouseReleased", (x, y + down));
}

/// Feet of height to a pixel of the panel that a handle stands on, by the two of its handles that are
/// farthest apart in height.
fn feet_per_px(browser: &mut Browser, name: &str) -> f64 {
    let per_px = format!(
        "(() => {{ const here = {}; here.scrollIntoView({{ block: 'center' }}); \
         const all = [...here.parentElement.querySelectorAll('[role=slider]')].map((one) => {{ \
         const box = one.getBoundingClientRect(); return [(box.top + box.bottom) / 2, one.handle.level_m]; }}); \
         all.sort((a, b) => a[0] - b[0]); const [top, foot] = [all[0], all[all.length - 1]]; \
         return (top[1] - foot[1]) / 0.3048 / (foot[0] - top[0]); }})()",
        handle(name)
    );
    browser.evaluate(&per_px).as_f64().unwrap()
}

#[test]
fn by_mouse_by_finger_and_by_keys() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of(HALL);
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    assert_eq!(words(&mut browser, "#word"), "HOLDS");
    assert!(
        words(&mut browser, "#cause").starts_with("worst is D2, 7.9 in below the gutter outlet")
    );

    // By mouse: down by 20 pixels, which are as many feet as between two other handles.
    let feet = feet_per_px(&mut browser, "W3 level");
    drag(&mut browser, "W3 level", 20.0);
    let moved = other_text(&mut browser, &site.text);
    let (was, is) = change(&site.text, &moved);
    assert_eq!(was, "98.20");
    let level: f64 = is.parse().unwrap();
    // To a hundredth of a foot, as a hand's level is written.
    assert!((level - (98.20 - 20.0 * feet)).abs() < 0.0101, "{is}: {feet} ft a pixel");
    // While it moved, the picture and the sentence were answered.
    assert!(words(&mut browser, "#took").contains("answered in"));
    click(&mut browser, "#undo");
    assert_eq!(other_text(&mut browser, &moved), site.text);

    // What stands at the same place moves along: the end of the profile with its point.
    drag(&mut browser, "P1 level", 12.0);
    let moved = other_text(&mut browser, &site.text);
    let lines = moved.lines().zip(site.text.lines());
    let changed: Vec<(&str, &str)> = lines.filter(|(a, b)| a != b).collect();
    assert_eq!(changed.len(), 2, "{changed:?}");
    assert!(changed[0].0.starts_with("  P1: { level: 9") && changed[1].0.contains("at: 0 ft"));
    browser.press(Key("z", 90), CONTROL);
    assert_eq!(other_text(&mut browser, &moved), site.text);

    // By keys: an inch, and an eighth of one with Shift.
    browser.evaluate(&format!("{}.focus()", handle("D2 foot")));
    browser.press(Key("ArrowUp", 38), 0);
    let moved = other_text(&mut browser, &site.text);
    // 98.80 ft and 1/12 ft.
    assert_eq!(change(&site.text, &moved), ("98.80".to_owned(), "98.883".to_owned()));
    browser.press(Key("ArrowDown", 40), SHIFT);
    let finer = other_text(&mut browser, &moved);
    // Less 1/96 ft.
    assert_eq!(change(&site.text, &finer).1, "98.873");
    browser.press(Key("z", 90), CONTROL);
    assert_eq!(other_text(&mut browser, &finer), moved);
    browser.press(Key("z", 90), CONTROL);
    assert_eq!(other_text(&mut browser, &moved), site.text);

    // By finger, on a phone; the page stays where it is.
    open(&mut browser, &desk, 390);
    let feet = feet_per_px(&mut browser, "T1 overflow.level");
    let (x, y) = middle(&mut browser, &handle("T1 overflow.level"));
    let scrolled = browser.evaluate("scrollY");
    browser.touch("touchStart", Some((x, y)));
    for step in 1..=6 {
        browser.touch("touchMove", Some((x, y + 3.0 * f64::from(step))));
    }
    browser.touch("touchEnd", None);
    let moved = other_text(&mut browser, &site.text);
    let (was, is) = change(&site.text, &moved);
    let fell = was.parse::<f64>().unwrap() - is.parse::<f64>().unwrap();
    assert_eq!(was, "108.00");
    assert!((fell - 18.0 * feet).abs() < 0.0101, "{is}: {feet} ft a pixel");
    assert_eq!(browser.evaluate("scrollY"), scrolled);
    rested(&mut browser);
    assert_eq!(browser.complaints(), [""; 0]);
    assert_eq!(text(&mut browser), moved);
    assert_eq!(site.on_disk(), site.text);
}

/// Every sort of level that somebody sets has its handle: an inch up is an inch in the file.
#[test]
fn every_sort_of_level_has_a_handle() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of("fixtures/ok/us-leaf-heads-and-tees/site.yaml");
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    // 1 in is 0.0833 ft.
    for (level, was, is) in [
        ("D3 leaf head", "106'-6 1/2\"", "106'-7 1/2\""),
        ("D3 foot", "98.2 ft", "98.283 ft"),
        ("J2 level", "97.9 ft", "97.983 ft"),
        ("T1 inlet", "105.10 ft", "105.183 ft"),
        ("T1 overflow.level", "104.95 ft", "105.033 ft"),
    ] {
        browser.evaluate(&format!("{}.focus()", handle(level)));
        browser.press(Key("ArrowUp", 38), 0);
        let moved = other_text(&mut browser, &site.text);
        assert_eq!(moved, site.text.replacen(was, is, 1), "{level}");
        click(&mut browser, "#undo");
        assert_eq!(other_text(&mut browser, &moved), site.text);
    }
    // The gutter's lip keeps its height above the outlet.
    browser.evaluate(&format!("{}.focus()", handle("D3 outlet")));
    browser.press(Key("ArrowUp", 38), 0);
    let moved = other_text(&mut browser, &site.text);
    let both = site.text.replace("108'-6\"", "108'-7\"").replace("108'-9\"", "108'-10\"");
    assert_eq!(moved, both);
    assert_eq!(browser.complaints(), [""; 0]);
}

/// The top of a vent and a loose cap are drawn where they open, and dragged there: up and down.
#[test]
fn vents_and_caps_are_dragged() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of("fixtures/ok/si-vent-below-the-grade/site.yaml");
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    for (name, was, down) in [
        ("P2 vent.level", "22.250", -12.0),
        ("P3 cap", "23.000", 9.0),
        ("P2 vent.level", "22.250", 15.0),
    ] {
        let metres = 0.3048 * feet_per_px(&mut browser, name);
        drag(&mut browser, name, down);
        let moved = other_text(&mut browser, &site.text);
        let (stood, is) = change(&site.text, &moved);
        assert_eq!(stood, was, "{name}: {is}");
        let expected = was.parse::<f64>().unwrap() - down * metres;
        // To 5 mm, as a hand's level is written, and half a pixel of the mouse.
        let level: f64 = is.parse().unwrap();
        assert!((level - expected).abs() < 0.0051 + 0.5 * metres, "{name}: {is}, not {expected}");
        rested(&mut browser);
        click(&mut browser, "#undo");
        assert_eq!(other_text(&mut browser, &moved), site.text);
    }
    assert_eq!(browser.complaints(), [""; 0]);
    assert_eq!(site.on_disk(), site.text);
}
