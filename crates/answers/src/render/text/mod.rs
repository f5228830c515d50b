//! The report of `wetrun check` for people: the verdict first, then what it rests on.

mod basis;
pub mod catalogue;
pub mod compare;
mod cuts;
pub mod doubt;
mod downspouts;
pub mod explain;
mod findings;
mod laws;
pub mod levels;
mod lines;
mod openings;
pub mod review;
mod route;
pub mod size;
pub mod storm;
mod tanks;
pub(crate) mod verdict;
pub mod year;

use super::show::Show;
use super::wrap::wrap;
use crate::solved::Solved;

/// The whole report.
pub fn check(solved: &Solved, both_units: bool) -> String {
    let show = Show { main: solved.site.units, both: both_units };
    let parts = [
        verdict::verdict(solved, show),
        downspouts::table(solved, show),
        openings::table(solved, show),
        route::table(solved, show),
        lines::table(solved, show),
        tanks::table(solved, show),
        laws::other_law(solved, show),
        findings::list(&crate::mends::checked(solved)),
        cuts::list(solved),
        basis::list(solved, show),
    ];
    let parts: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    parts.join("\n")
}

/// What decides, in one sentence without styles, as the first line of `check` has it.
pub fn sentence(solved: &Solved) -> String {
    let show = Show { main: solved.site.units, both: false };
    format!("{} {}{}", verdict::word(solved), verdict::cause(solved, show), verdict::others(solved))
}

/// A line of a list: a short name, then words that wrap beside it.
fn entry(name: &str, column: usize, words: &str) -> String {
    let gap = column.saturating_sub(super::wrap::width(name) + 2).max(2);
    let start = 2 + super::wrap::width(name) + gap;
    format!("  {name}{}{}\n", " ".repeat(gap), wrap(words, start, column))
}
