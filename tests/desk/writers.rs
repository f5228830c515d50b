//! Typing into the file, other writers on disk, other pages, and a program that is killed.

use super::running::{Desk, Site, click, edit, open, other_text, rested, text, words};
use crate::browser::browser;
use crate::support::{run, wetrun};

const RING: &str = "fixtures/ok/si-two-tanks-ring/site.yaml";

#[test]
fn errors_are_told_at_their_lines_and_nothing_is_lost() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of(RING);
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    let sentence = words(&mut browser, "#cause");

    // A wrong value: the last answer is greyed, and the error stands in the words of `check`.
    edit(&mut browser, "T1: { inlet: 2.30 m", "T1: { inlet: 2.30 gal");
    browser.until("document.querySelector('#word').textContent === 'NOT CURRENT'");
    assert!(
        words(&mut browser, "#cause").contains("`gal` measures a volume"),
        "{}",
        words(&mut browser, "#cause")
    );
    assert_eq!(
        browser.evaluate("document.querySelector('#section-figure').className"),
        "figure old-picture"
    );
    assert!(words(&mut browser, ".errors").contains("expected a length such as"));
    // Mended, it is as it was.
    edit(&mut browser, "2.30 gal", "2.30 m");
    browser.until("document.querySelector('#word').textContent === 'HOLDS'");
    rested(&mut browser);
    assert_eq!(words(&mut browser, "#cause"), sentence);
    assert_eq!(words(&mut browser, "#saved"), "saved");

    // A site that cannot be solved: an open size.
    edit(
        &mut browser,
        "R1: { from: P1, to: P2, pipe: pvc-en1401-sn4 110 mm",
        "R1: { from: P1, to: P2, pipe: { type: pvc-en1401-sn4, size: any }",
    );
    browser.until("document.querySelector('#cause').textContent.includes('still open: R1')");
    // The text as typed is kept beside the file meanwhile.
    assert!(std::fs::read_to_string(site.unsaved()).unwrap().contains("size: any"));
    click(&mut browser, "#undo");
    browser.until("document.querySelector('#word').textContent === 'HOLDS'");
    rested(&mut browser);

    // Another program writes the file while something is unsaved: both are shown, nothing is lost.
    edit(&mut browser, "150 mm/h", "140 mm/h");
    browser.until("document.querySelector('#saved').textContent === 'not saved'");
    let theirs =
        site.text.replace("150 mm/h", "160 mm/h").replace("at the orchard", "by the orchard");
    std::fs::write(&site.path, &theirs).unwrap();
    browser.until("!document.querySelector('#choice').hidden");
    assert_eq!(browser.evaluate("document.querySelectorAll('#choice .sides').length"), 2);
    assert_eq!(browser.evaluate("document.querySelector('#save').disabled"), true);
    click(&mut browser, "input[name=side-0][value=theirs]");
    click(&mut browser, "#choice button");
    browser.until("document.querySelector('#choice').hidden");
    let both =
        site.text.replace("150 mm/h", "140 mm/h").replace("at the orchard", "by the orchard");
    assert_eq!(text(&mut browser), both);
    assert_eq!(site.on_disk(), theirs);
    click(&mut browser, "#save");
    browser.until("document.querySelector('#saved').textContent === 'saved'");
    assert_eq!(site.on_disk(), both);
    assert!(!site.unsaved().exists());
    assert_eq!(browser.complaints(), [""; 0]);
}

/// Opened while there is no answer, a desk shows the text, its fields and what is wrong, and nothing
/// that would look like an answer; mended it shows all.
#[test]
fn a_site_without_an_answer_from_the_start() {
    let Some(mut browser) = browser() else { return };
    let open_size = "pipe: { type: pvc-en1401-sn4, size: any }";
    let first = Site::of(RING).text;
    let site = Site::with(&first.replacen("pipe: pvc-en1401-sn4 110 mm", open_size, 1));
    assert_ne!(first, site.text);
    let desk = Desk::start(&site.path);
    browser.visit(&desk.address, 1280);
    browser.until("document.querySelector('#word').textContent === 'NO ANSWER'");
    assert!(words(&mut browser, "#cause").contains("still open: D1"));
    assert_eq!(words(&mut browser, "#site"), "site.yaml");
    let seen = "[...document.querySelectorAll('main > section')].filter(s => s.offsetParent).map(s => s.id).join()";
    assert_eq!(browser.evaluate(seen), "piece,text");
    edit(&mut browser, open_size, "pipe: pvc-en1401-sn4 110 mm");
    browser.until("document.querySelector('#word').textContent === 'HOLDS'");
    rested(&mut browser);
    assert_eq!(browser.evaluate(seen), "storm,section,piece,margins,plan,review,further,text");
    assert_eq!(words(&mut browser, "#site"), "House at the orchard");
    // Asked with empty tanks it answers, and the file stays.
    click(&mut browser, "input[name=tanks][value=empty]");
    browser.until("document.querySelector('#under').textContent.endsWith('tanks empty')");
    click(&mut browser, "#own-storm");
    browser.until("document.querySelector('#under').textContent.endsWith('tanks full')");
    assert_eq!(text(&mut browser), first);
    assert_eq!(browser.complaints(), [""; 0]);
}

#[test]
fn two_pages_follow_each_other_and_a_killed_program_is_taken_up() {
    let Some(mut one) = browser() else { return };
    let Some(mut other) = browser() else { return };
    let site = Site::of(RING);
    let desk = Desk::start(&site.path);
    open(&mut one, &desk, 1280);
    open(&mut other, &desk, 1280);
    edit(&mut one, "100 mm", "90 mm");
    let edited = site.text.replacen("100 mm", "90 mm", 1);
    assert_eq!(other_text(&mut other, &site.text), edited);
    click(&mut other, "#undo");
    assert_eq!(other_text(&mut one, &edited), site.text);
    // While nothing is unsaved both follow the file.
    let renamed = site.text.replace("orchard", "meadow");
    std::fs::write(&site.path, &renamed).unwrap();
    for page in [&mut one, &mut other] {
        page.until("document.querySelector('#site').textContent === 'House at the meadow'");
    }
    edit(&mut one, "150 mm/h", "155 mm/h");
    one.until("document.querySelector('#saved').textContent === 'not saved'");
    other.until("document.querySelector('#saved').textContent === 'not saved'");
    let secret = desk.secret().to_owned();
    // The program is killed. It has complained of nothing, and the secret stands in no log.
    let told = desk.kill();
    assert_eq!(told, "");
    for page in [&mut one, &mut other] {
        page.until("document.querySelector('#notices').textContent.includes('does not answer')");
        assert!(text(page).contains("155 mm/h"));
        assert_eq!(page.evaluate("document.querySelector('#save').disabled"), true);
    }
    // Another run offers what was not saved.
    let again = Desk::start(&site.path);
    assert_ne!(again.secret(), secret);
    one.visit(&again.address, 1280);
    one.until("!document.querySelector('#choice').hidden");
    assert!(text(&mut one).contains("150 mm/h"));
    one.evaluate(
        "[...document.querySelectorAll('#choice button')].find(b => b.textContent === 'Take all edits back').click()",
    );
    one.until("document.querySelector('#choice').hidden");
    assert_eq!(text(&mut one), renamed.replace("150 mm/h", "155 mm/h"));
    assert_eq!(site.on_disk(), renamed);
}

/// Ctrl-C waits for nobody, not for a page that listens for news either, and loses nothing.
#[cfg(unix)]
#[test]
fn ctrl_c_ends_it_at_once_and_keeps_what_is_not_saved() {
    let Some(mut browser) = browser() else { return };
    let site = Site::of(RING);
    let desk = Desk::start(&site.path);
    open(&mut browser, &desk, 1280);
    edit(&mut browser, "150 mm/h", "155 mm/h");
    browser.until("document.querySelector('#saved').textContent === 'not saved'");
    let took = desk.interrupt();
    assert!(took < std::time::Duration::from_secs(2), "{took:?}");
    let kept = std::fs::read_to_string(site.unsaved()).unwrap();
    assert_eq!(kept, site.text.replace("150 mm/h", "155 mm/h"));
    assert_eq!(site.on_disk(), site.text);
    browser.until("document.querySelector('#notices').textContent.includes('does not answer')");
}

#[test]
fn a_site_is_open_on_one_desk_at_a_time() {
    let site = Site::of(RING);
    let path = site.path.to_str().unwrap();
    let desk = Desk::start(&site.path);
    let second = run(&["desk", path, "--no-open"]);
    assert_eq!((second.status, second.stdout.as_str()), (2, ""));
    let told = format!(
        "error: `{path}` is open on another desk: use its page, or end that program first\n"
    );
    assert_eq!(second.stderr, told);
    // However it ends, the next one may.
    desk.kill();
    let desk = Desk::start(&site.path);
    // Another site in the same folder has nothing to do with it.
    let other = site.path.with_file_name("other.yaml");
    std::fs::write(&other, &site.text).unwrap();
    let beside = Desk::start(&other);
    drop((desk, beside));
    // A site that nobody has written yet is one too.
    let folder = site.path.with_file_name("new");
    std::fs::create_dir(&folder).unwrap();
    let _desk = Desk::start_in(&folder);
    let ran = wetrun(&["desk", "--no-open"]).current_dir(&folder).output().unwrap();
    assert_eq!(ran.status.code(), Some(2));
    assert!(String::from_utf8(ran.stderr).unwrap().contains("open on another desk"));
}
