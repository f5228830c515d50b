//! Pieces by their fields, new ones, and what is taken away: each a change of the text and no more.

use super::running::{Desk, Site, click, middle, open, other_text, rested, reviewed, text, words};
use crate::browser::browser;
use crate::browser::devtools::{Browser, Key, SHIFT};

const HALL: &str = "fixtures/ok/us-hall-six-downspouts/site.yaml";
const SHED: &str = "fixtures/plan/si-boat-shed/site.yaml";

/// Lines that are not the same in two texts of as many lines.
fn changed(before: &str, after: &str) -> Vec<(String, String)> {
    assert_eq!(before.lines().count(), after.lines().count());
    let pairs = before.lines().zip(after.lines()).filter(|(a, b)| a != b);
    pairs.map(|(a, b)| (a.trim().to_owned(), b.trim().to_owned())).collect()
}

/// Lines that only the second of two texts has.
fn added(before: &str, after: &str) -> Vec<String> {
    let new = after.lines().filter(|line| !before.lines().any(|old| old == *line));
    new.map(|line| line.trim().to_owned()).collect()
}

fn select(browser: &mut Browser, piece: &str, title: &str) {
    browser.evaluate(&format!(
        "(() => {{ const pick = document.querySelector('#piece-pick'); pick.value = '{piece}'; \
         pick.dispatchEvent(new Event('change')); }})()"
    ));
    browser.until(&format!("document.querySelector('#piece-title').textContent === '{title}'"));
}

/// A field of the piece, or of the new one, as an expression in the page.
fn field(at: &str) -> String {
    format!("document.querySelector('[data-at=' + CSS.escape('{at}') + ']')")
}

/// Writes into a field as a person does: by keys, with Enter at the end.
fn write(browser: &mut Browser, at: &str, value: &str) {
    let field = field(at);
    browser.evaluate(&format!("({field}).control.focus(), ({field}).control.select()"));
    browser.type_in(value);
    browser.press(Key("Enter", 13), 0);
}

fn choose(browser: &mut Browser, control: &str, value: &str) {
    browser.evaluate(&format!(
        "(() => {{ const list = {control}; list.value = '{value}'; \
         list.dispatchEvent(new Event('change')); }})()"
    ));
}

#[test]
fn every_key_has_its_field() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of(HALL);
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);

    // A level by its field: typed in another spelling, the lip keeps its height in its own.
    assert_eq!(words(&mut browser, "#piece-title"), "Downspout D2");
    write(&mut browser, "downspouts.D2.outlet", "109'-9\"");
    let now = other_text(&mut browser, &site.text);
    let lines = changed(&site.text, &now);
    assert_eq!(lines.len(), 1);
    // 109.75 ft, and 0.25 ft above it.
    assert!(lines[0].1.starts_with("D2: { outlet: 109'-9\", lip: 110.00 ft, foot: 98.80 ft,"));
    // By keys, an inch and an eighth, as its handle.
    browser.press(Key("ArrowDown", 40), 0);
    let lower = other_text(&mut browser, &now);
    assert!(lower.contains("D2: { outlet: 109'-8\", lip: 109.917 ft,"), "{lower}");
    browser.press(Key("ArrowUp", 38), SHIFT);
    let finer = other_text(&mut browser, &lower);
    assert!(finer.contains("D2: { outlet: 109'-8 1/8\","), "{finer}");

    // What is wrong stands at its field, in the words of `check`, and the last answer is greyed.
    write(&mut browser, "downspouts.D2.foot", "4 gal");
    browser.until("document.querySelector('#word').textContent === 'NOT CURRENT'");
    let fault = browser.evaluate(&format!("({}).textContent", field("downspouts.D2.foot")));
    let says = "`gal` measures a volume, but a length belongs here";
    assert!(fault.as_str().unwrap().contains(says), "{fault}");
    let control = format!("({}).control.getAttribute('aria-invalid')", field("downspouts.D2.foot"));
    assert_eq!(browser.evaluate(&control), "true");
    write(&mut browser, "downspouts.D2.foot", "98.80 ft");
    browser.until("document.querySelector('#word').textContent === 'HOLDS'");
    assert_eq!(text(&mut browser), finer);

    // A size of the catalogue.
    select(&mut browser, r#"["lines","M7"]"#, "Line M7");
    let size = "document.querySelector('[aria-label=\"pipe size\"]')";
    let sizes = browser.evaluate(&format!("[...{size}.options].map(o => o.value).join()"));
    assert!(sizes.as_str().unwrap().contains(",4 in,6 in,8 in,"), "{sizes}");
    choose(&mut browser, size, "8 in");
    let sized = other_text(&mut browser, &finer);
    let lines = changed(&finer, &sized);
    assert_eq!(lines, [("pipe: pvc-sch40 6 in".into(), "pipe: pvc-sch40 8 in".into())]);

    // A key that was not there, with its default told; and away again.
    browser.evaluate("document.querySelector('#piece-body details').open = true");
    let told = browser.evaluate(&format!("({}).textContent", field("lines.M7.k")));
    assert!(told.as_str().unwrap().contains("0 where left out"), "{told}");
    write(&mut browser, "lines.M7.k", "0.35");
    let with = other_text(&mut browser, &sized);
    assert_eq!(added(&sized, &with), ["k: 0.35"]);
    write(&mut browser, "lines.M7.k", "");
    assert_eq!(other_text(&mut browser, &with), sized);

    // Fittings by name with counts, and a station of the profile.
    choose(&mut browser, "document.querySelector('[aria-label=\"Add to fittings\"]')", "bend-45");
    let fitted = other_text(&mut browser, &sized);
    assert_eq!(added(&sized, &fitted), ["fittings: { bend-90: 2, bend-45: 1 }"]);
    click(&mut browser, "[aria-label=\"Take bend-45 away\"]");
    assert_eq!(other_text(&mut browser, &fitted), sized);
    click(&mut browser, "[data-do=station]");
    let more = other_text(&mut browser, &sized);
    // Half way from 8 ft at 97.70 to 18.5 ft at 108.20.
    assert_eq!(added(&sized, &more), ["- { at: 13.25 ft, level: 102.95 ft }"]);

    // A finding opens the field that it asks for.
    reviewed(&mut browser);
    browser.evaluate(
        "for (const group of document.querySelectorAll('#findings details')) group.open = true",
    );
    let asks = "[...document.querySelectorAll('#findings .key')].find(b => b.textContent.endsWith('T1.inlet_mesh'))";
    browser.until(asks);
    browser.evaluate(&format!("{asks}.click()"));
    browser.until("document.querySelector('#piece-title').textContent === 'Tank T1'");
    browser.until("document.activeElement.closest('[data-at=\"tanks.T1.inlet_mesh\"]')");

    // Every undo leads back to the very bytes.
    while browser.evaluate("document.querySelector('#undo').disabled") == false {
        let before = text(&mut browser);
        click(&mut browser, "#undo");
        other_text(&mut browser, &before);
    }
    assert_eq!(text(&mut browser), site.text);
    assert_eq!(browser.complaints(), [""; 0]);
}

#[test]
fn pieces_come_and_go() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of(HALL);
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    select(&mut browser, r#"["lines","M3"]"#, "Line M3");
    click(&mut browser, "#piece-new");
    browser.until("document.querySelector('#dialog').open");
    // What can be copied from the last downspout is there; how long the branch is nobody knows.
    let value = |browser: &mut Browser, name: &str| {
        browser.evaluate(&format!("({}).control.value", field(&format!("new {name}"))))
    };
    for (name, written) in [
        ("tag", "D7"),
        ("outlet", "109.60 ft"),
        ("branch", "B7"),
        ("along", "26.00 ft"),
        ("joint", "P2"),
        ("rest", "M8"),
        ("branch length", ""),
    ] {
        assert_eq!(value(&mut browser, name), written, "{name}");
    }
    click(&mut browser, "#dialog [data-do=go]");
    browser.until("document.querySelector('#dialog-fault').textContent.includes('length')");
    write(&mut browser, "new branch length", "8 ft");
    browser.until("!document.querySelector('#dialog').open");
    browser.until("document.querySelector('#piece-title').textContent === 'Downspout D7'");
    let more = text(&mut browser);
    let new = added(&site.text, &more);
    // Half way along M3, from 98.50 to 98.20 ft.
    assert_eq!(
        new,
        [
            "D7: { outlet: 109.60 ft, lip: 109.85 ft, foot: 98.30 ft, pipe: pvc-sch40 3 in }",
            "P2: { level: 98.35 ft, fitting: wye, branch: B7 }",
            "M3: { from: W2, to: P2, pipe: pvc-sch40 6 in, length: 26 ft, fittings: { bend-45: 4 } }",
            "M8: { from: P2, to: W3, pipe: pvc-sch40 6 in, length: 26 ft }",
            "B7: { from: D7, to: P2, pipe: pvc-sch40 4 in, length: 8 ft }",
        ]
    );
    rested(&mut browser);
    assert!(words(&mut browser, "#tables").contains("D7"));
    // Taken away again, after saying what goes with it.
    click(&mut browser, "#piece-away");
    browser.until("document.querySelector('#dialog').open");
    let goes = words(&mut browser, "#dialog ul");
    assert_eq!(goes, "line B7, from D7 to P2the wye at P2: 2 lines are left there");
    click(&mut browser, "#dialog [data-do=go]");
    let less = other_text(&mut browser, &more);
    select(&mut browser, r#"["points","P2"]"#, "Point P2");
    click(&mut browser, "#piece-away");
    browser.until("document.querySelector('#dialog').open");
    click(&mut browser, "#dialog [data-do=go]");
    assert_eq!(other_text(&mut browser, &less), site.text);

    // The other kinds: what nobody can know is filled in, and that is what the file has more.
    for (kind, filled, new) in [
        ("points", &[("tag", "P9")][..], "P9: { level: 98.775 ft }"),
        (
            "lines",
            &[("from", "P1"), ("to", "T1"), ("length", "9 ft")],
            "B7: { from: P1, to: T1, pipe: pvc-sch40 4 in, length: 9 ft }",
        ),
        ("tanks", &[("inlet", "108.20 ft")], "T2: { inlet: 108.20 ft }"),
        ("roofs", &[("area", "90 sq ft"), ("to", "D1")], "R1: { area: 90 sq ft, to: D1 }"),
    ] {
        click(&mut browser, "#piece-new");
        browser.until("document.querySelector('#dialog').open");
        choose(&mut browser, "document.querySelector('[aria-label=\"What is new\"]')", kind);
        let noun = kind.trim_end_matches('s');
        browser.until(&format!(
            "document.querySelector('#dialog-title').textContent === 'New {noun}'"
        ));
        for (name, value) in filled {
            choose(&mut browser, &format!("({}).control", field(&format!("new {name}"))), value);
        }
        click(&mut browser, "#dialog [data-do=go]");
        let after = other_text(&mut browser, &site.text);
        assert_eq!(added(&site.text, &after)[0], new, "{kind}");
        browser.until("!document.querySelector('#dialog').open");
        click(&mut browser, "#undo");
        assert_eq!(other_text(&mut browser, &after), site.text);
    }
    assert_eq!(browser.complaints(), [""; 0]);
}

#[test]
fn what_has_a_place_is_moved_on_the_plan() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of(SHED);
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    let spot = "document.querySelector('.spot[data-tag=\"D1\"]')";
    let (x, y) = middle(&mut browser, spot);
    browser.mouse("mousePressed", (x, y));
    for step in 1..=4 {
        browser.mouse("mouseMoved", (x + 15.0 * f64::from(step), y));
    }
    browser.mouse("mouseReleased", (x + 60.0, y));
    let moved = other_text(&mut browser, &site.text);
    let lines = changed(&site.text, &moved);
    assert_eq!(lines.len(), 1);
    let place = |line: &str| {
        let at = line.split("at: [").nth(1).unwrap().split(']').next().unwrap();
        at.split(", ").map(|axis| axis.parse::<f64>().unwrap()).collect::<Vec<_>>()
    };
    let (before, after) = (place(&lines[0].0), place(&lines[0].1));
    assert!(after[0] > before[0] + 1.0 && after[1] == before[1], "{lines:?}");
    // By keys: 0.1 m to the north.
    browser.until("document.querySelector('.spot[data-tag=\"D1\"]')");
    rested(&mut browser);
    browser.evaluate(&format!("{spot}.focus()"));
    browser.press(Key("ArrowUp", 38), SHIFT);
    let north = other_text(&mut browser, &moved);
    let line = changed(&moved, &north);
    assert!((place(&line[0].1)[1] - after[1] - 0.1).abs() < 1e-9, "{line:?}");
    // By the keyboard alone, a piece is selected.
    browser.evaluate("document.querySelector('.spot[data-tag=\"P1\"]').focus()");
    browser.press(Key("Enter", 13), 0);
    browser.until("document.querySelector('#piece-title').textContent === 'Point P1'");
    // A click selects.
    let (x, y) = middle(&mut browser, "document.querySelector('.spot[data-tag=\"T1\"]')");
    browser.mouse("mousePressed", (x, y));
    browser.mouse("mouseReleased", (x, y));
    browser.until("document.querySelector('#piece-title').textContent === 'Tank T1'");
    // So does a row of the margins, wherever it is clicked.
    click(&mut browser, "#tables tr[data-tag=D1] td:last-child");
    browser.until("document.querySelector('#piece-title').textContent === 'Downspout D1'");
    assert_eq!(text(&mut browser), north);
    assert_eq!(browser.complaints(), [""; 0]);
}
