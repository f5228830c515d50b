//! A rule of the checklist as a page, and the list of them all.

use super::entry;
use crate::render::table::TITLE;
use wetrun_checks::{Rule, Section, page_parts};

/// The column where the words start.
const COLUMN: usize = 13;
/// The column where the sentences of the list start.
const LIST_COLUMN: usize = 26;

/// The page of a rule.
pub(crate) fn page(rule: &Rule) -> String {
    let mut out = format!("{TITLE}{}{TITLE:#}  ({})\n\n", rule.name, rule.section.heading());
    for (name, words) in page_parts(rule) {
        out.push_str(&entry(name, COLUMN, &words));
    }
    out
}

/// Every rule with what it checks, by section.
pub(crate) fn list() -> String {
    let mut out = String::new();
    for section in Section::ALL {
        out.push_str(&format!("{TITLE}{}{TITLE:#}\n", section.heading()));
        for rule in wetrun_checks::rules().iter().filter(|rule| rule.section == section) {
            out.push_str(&entry(rule.name, LIST_COLUMN, rule.checks));
        }
        out.push('\n');
    }
    out.truncate(out.trim_end().len());
    out.push('\n');
    out
}
