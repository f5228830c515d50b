//! A rule of the checklist as a page, and the list of them all.

use super::entry;
use crate::outcome::Refusal;
use crate::render::table::TITLE;
use wetrun_checks::{Section, page_parts};
use wetrun_units::nearest;

/// The column where the words start.
const COLUMN: usize = 13;
/// The column where the sentences of the list start.
const LIST_COLUMN: usize = 26;

/// The page of the rule with this name.
///
/// # Errors
/// A refusal where there is no such rule.
pub fn page(name: &str) -> Result<String, Refusal> {
    let Some(rule) = wetrun_checks::rule(name) else {
        let names = wetrun_checks::rules().iter().map(|rule| rule.name);
        let near = nearest(name, names);
        let hint = near.map_or(String::new(), |near| format!("; the nearest is `{near}`"));
        let name = name.escape_debug();
        return Err(Refusal::because(format_args!("there is no rule `{name}`{hint}")));
    };
    let mut out = format!("{TITLE}{}{TITLE:#}  ({})\n\n", rule.name, rule.section.heading());
    for (name, words) in page_parts(rule) {
        out.push_str(&entry(name, COLUMN, &words));
    }
    Ok(out)
}

/// Every rule with what it checks, by section.
pub fn list() -> String {
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
