//! A handle that moves fast: no queue grows. With `WETRUN_LONG` set also how long a move takes to become
//! a picture, measured in the browser; `--nocapture` prints it.

use super::running::{Desk, Site, handle, middle, open, rested, text};
use crate::browser::browser;
use crate::browser::devtools::Browser;
use serde_json::json;
use std::fmt::Write;
use std::time::{Duration, Instant};

const HALL: &str = "fixtures/ok/us-hall-six-downspouts/site.yaml";
/// Moves of one drag, and how far apart a screen shows them.
const MOVES: u32 = 120;
const FRAME: Duration = Duration::from_millis(16);
/// Drags of the bench: other work of the machine is not in all of them.
const ROUNDS: u32 = 3;

/// A terrace of so many downspouts on one line: twice as many lines.
fn terrace(downspouts: usize) -> String {
    let mut text = "wetrun: 1\nname: Terrace\nunits: si\n\
                    storm: { intensity: 60 mm/h, basis: a guess }\nroofs:\n"
        .to_owned();
    let all = 1..=downspouts;
    for n in all.clone() {
        writeln!(text, "  R{n}: {{ area: 20 m2, to: D{n} }}").unwrap();
    }
    text.push_str("downspouts:\n");
    for n in all.clone() {
        writeln!(text, "  D{n}: {{ outlet: 12.00, foot: 9.00, pipe: pvc-sch40 4 in }}").unwrap();
    }
    text.push_str("points:\n");
    for n in all.clone() {
        let level = 8.9 - 0.002 * n as f64;
        writeln!(text, "  W{n}: {{ level: {level:.3}, ground: 10.0 }}").unwrap();
    }
    text.push_str("lines:\n");
    for n in all {
        let to = if n == downspouts { "T1".to_owned() } else { format!("W{}", n + 1) };
        let size = ["4 in", "6 in", "10 in", "12 in"][(n * 4 / (downspouts + 1)).min(3)];
        writeln!(
            text,
            "  B{n}: {{ from: D{n}, to: W{n}, pipe: pvc-sch40 4 in, length: 3 m }}\n  \
             M{n}: {{ from: W{n}, to: {to}, pipe: pvc-sch40 {size}, length: 3 m }}"
        )
        .unwrap();
    }
    text.push_str("tanks:\n  T1: { inlet: 10.40, overflow: { level: 10.2 } }\n");
    text
}

/// One drag up and down, a move a frame; gives how long each answered move took, ms.
fn drag(browser: &mut Browser, level: &str, moves: u32) -> Vec<f64> {
    let (x, y) = middle(browser, &handle(level));
    browser.evaluate("performance.clearMeasures()");
    browser.mouse("mousePressed", (x, y));
    let began = Instant::now();
    for step in 0..moves {
        browser.mouse("mouseMoved", (x, y + f64::from(step % 20) - 10.0));
        let due = FRAME * (step + 1);
        std::thread::sleep(due.saturating_sub(began.elapsed()));
    }
    std::thread::sleep(Duration::from_millis(300));
    browser.mouse("mouseReleased", (x, y));
    let taken = browser.evaluate("performance.getEntriesByName('answer').map(one => one.duration)");
    taken.as_array().unwrap().iter().map(|one| one.as_f64().unwrap()).collect()
}

/// However fast a hand is: one move is on its way at a time, those between are left out, and the last
/// is answered.
#[test]
fn moves_make_no_queue_and_the_last_is_answered() {
    let Some(mut browser) = browser() else { return };
    let site = Site::with(&terrace(30));
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    browser.evaluate(
        "(() => { const real = server.call; window.moves = { now: 0, most: 0, all: 0 }; \
         server.call = async (name, ...rest) => { if (name !== 'move') return real(name, ...rest); \
         moves.all += 1; moves.most = Math.max(moves.most, ++moves.now); \
         try { return await real(name, ...rest); } finally { moves.now -= 1; } }; })()",
    );
    let moves = 30;
    drag(&mut browser, "W12 level", moves);
    let told = browser.evaluate("moves");
    assert_eq!((&told["now"], &told["most"]), (&json!(0), &json!(1)), "{told}");
    let sent = told["all"].as_u64().unwrap();
    assert!((1..=u64::from(moves)).contains(&sent), "{told}");
    // The handle, the picture and the text are at one level: that of the last move.
    rested(&mut browser);
    let shown =
        browser.evaluate(&format!("{}.getAttribute('aria-valuetext')", handle("W12 level")));
    let shown = shown.as_str().unwrap();
    assert_ne!(shown, "8.876");
    assert!(text(&mut browser).contains(&format!("W12: {{ level: {shown},")), "{shown}");
    assert_eq!(browser.complaints(), [""; 0]);
}

/// Of the calls that moves make: how long the program was waited for, and all of the call, ms.
const CALLS: &str = "performance.getEntriesByType('resource').filter((one) => one.name.endsWith('/move')) \
    .map((one) => [one.responseStart - one.requestStart, one.responseEnd - one.startTime])";

/// The middle of some numbers, and what 95 of 100 are within.
fn spread(mut all: Vec<f64>) -> String {
    all.sort_by(f64::total_cmp);
    let at = |share: f64| all[((all.len() - 1) as f64 * share).round() as usize];
    format!("{:.1} ms, 95 % within {:.1} ms", at(0.5), at(0.95))
}

/// A bench: it prints, and promises nothing of a machine that it does not know.
#[test]
fn from_a_moved_handle_to_a_new_picture() {
    if std::env::var_os("WETRUN_LONG").is_none() {
        return;
    }
    let Some(mut browser) = browser() else { return };
    for (name, site, level) in [
        ("demo", Site::of(HALL), "W3 level"),
        ("300 lines", Site::with(&terrace(150)), "W60 level"),
    ] {
        let desk = Desk::start(&site.path);
        open(&mut browser, &desk, 1280);
        browser.listen_no_more();
        for round in 1..=ROUNDS {
            browser.evaluate("performance.clearResourceTimings()");
            let taken = drag(&mut browser, level, MOVES);
            let answered = taken.len();
            println!(
                "{name}, round {round}: {answered} of {MOVES} moves answered, {}",
                spread(taken)
            );
            let calls = browser.evaluate(CALLS);
            let part = |index: usize| {
                let calls = calls.as_array().unwrap().iter();
                spread(calls.map(|call| call[index].as_f64().unwrap()).collect())
            };
            println!("  of that the program {}; the whole call {}", part(0), part(1));
            rested(&mut browser);
        }
    }
}
