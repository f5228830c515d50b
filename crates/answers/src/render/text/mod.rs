//! The report of `wetrun check` for people: the verdict first, then what it rests on.

mod basis;
pub mod catalogue;
pub mod compare;
mod cuts;
pub mod doubt;
mod downspouts;
pub mod explain;
mod findings;
pub mod flush;
mod laws;
pub mod levels;
mod lines;
mod openings;
pub mod rain;
pub mod review;
mod route;
pub mod size;
pub mod storm;
mod tanks;
pub(crate) mod verdict;
pub mod year;

use super::show::Show;
pub use super::table::Rows;
use super::wrap::wrap;
use crate::solved::{Settled, Solved};
use wetrun_solver::SpillRains;

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

/// Words broken into lines of 80 columns, those after the first behind an indent.
pub fn wrapped(words: &str, indent: usize) -> String {
    wrap(words, indent, indent)
}

/// The first lines of `check` in parts.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Headline {
    /// HOLDS or FAILS.
    pub word: &'static str,
    /// What decides; without the rains at which water leaves, where these are not known yet.
    pub cause: String,
    /// The site and its storm.
    pub under: String,
}

/// The first lines of `check` on a settled site, with what its spill rains add once these are known.
pub fn headline(settled: &Settled, rains: Option<&SpillRains>) -> Headline {
    let show = Show { main: settled.site.units, both: false };
    let told = verdict::Told { settled, rains };
    Headline {
        word: verdict::word(settled),
        cause: format!("{}{}", verdict::cause(told, show), verdict::others(settled)),
        under: verdict::under(settled, show),
    }
}

/// The tables of downspouts, openings and tanks of `check`, as a page shows them.
pub fn tables(settled: &Settled, rains: Option<&SpillRains>) -> Vec<Rows> {
    let show = Show { main: settled.site.units, both: false };
    let told = verdict::Told { settled, rains };
    let network = &settled.site.network;
    let downspouts = network.downspouts().iter().map(|d| d.tag.as_str());
    let openings = network.openings().map(|(id, _)| network.point(id).tag.as_str());
    let tanks = network.tanks().iter().map(|t| t.tag.as_str());
    let tables = [
        downspouts::build(told, show).rows(downspouts),
        openings::build(told, show).rows(openings),
        tanks::build(settled, show).rows(tanks),
    ];
    tables.into_iter().filter(|table| !table.rows.is_empty()).collect()
}

/// A line of a list: a short name, then words that wrap beside it.
fn entry(name: &str, column: usize, words: &str) -> String {
    let gap = column.saturating_sub(super::wrap::width(name) + 2).max(2);
    let start = 2 + super::wrap::width(name) + gap;
    format!("  {name}{}{}\n", " ".repeat(gap), wrap(words, start, column))
}
