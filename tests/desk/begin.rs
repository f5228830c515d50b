//! A new site, begun on the page from the questions of `wetrun new`.

use super::running::{Desk, click, rested, text, words};
use crate::browser::browser;
use crate::support::run;

#[test]
fn a_new_site_from_its_questions() {
    let Some(mut browser) = browser() else { return };
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("site.yaml");
    let desk = Desk::start_in(folder.path());
    browser.visit(&desk.address, 1280);
    browser.until("document.querySelector('#begin .field')");
    assert_eq!(words(&mut browser, "#word"), "NEW SITE");
    // An answer that is none is told, and nothing is begun.
    let fill = |key: &str, value: &str| {
        format!(
            "(() => {{ const control = document.querySelector('[data-at=\"begin {key}\"]').control; \
             control.value = '{value}'; control.dispatchEvent(new Event('change')); }})()"
        )
    };
    let shows = |key: &str, value: &str| {
        format!("document.querySelector('[data-at=\"begin {key}\"]').control.value === '{value}'")
    };
    browser.evaluate(&fill("downspouts", "none"));
    browser.until(&shows("downspouts", "none"));
    click(&mut browser, "[data-do=begin]");
    browser.until("document.querySelector('#begin-fault').textContent.startsWith('downspouts')");
    browser.evaluate(&fill("downspouts", "3"));
    browser.until(&shows("downspouts", "3"));
    browser.evaluate(&fill("name", "Boiler house"));
    browser.until(&shows("name", "Boiler house"));
    assert!(!file.exists());
    click(&mut browser, "[data-do=begin]");
    browser.until("!document.querySelector('main').hidden");
    rested(&mut browser);
    assert_eq!(words(&mut browser, "#site"), "Boiler house");
    // The draft is that of the command, byte for byte; it is written by Save alone.
    let told = run(&["new", "--name", "Boiler house", "--downspouts", "3"]);
    assert_eq!(text(&mut browser), told.stdout);
    assert!(!file.exists());
    click(&mut browser, "#save");
    browser.until("document.querySelector('#saved').textContent === 'saved'");
    assert_eq!(std::fs::read_to_string(&file).unwrap(), told.stdout);
    assert_eq!(browser.complaints(), [""; 0]);
    // Another one does not write over it.
    let again = crate::support::wetrun(&["desk", "--no-open"]).current_dir(folder.path()).output();
    let again = again.unwrap();
    assert_eq!(again.status.code(), Some(2));
    assert!(String::from_utf8(again.stderr).unwrap().contains("is there already"));
}
