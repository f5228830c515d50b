//! Results as text for people and as JSON for programs.

pub(crate) mod clock;
pub mod csv;
pub(crate) mod doubt;
pub mod json;
pub mod paper;
pub(crate) mod rain;
pub(crate) mod sheet;
pub(crate) mod show;
pub(crate) mod table;
pub mod text;
pub(crate) mod todo;
pub(crate) mod wrap;

use crate::solved::Solved;

/// The downspouts of two revisions by tag, each with its place in the one and in the other: those
/// of the first in its order, then those that only the second has.
pub(crate) fn pairs(
    before: &Solved,
    after: &Solved,
) -> Vec<(String, Option<usize>, Option<usize>)> {
    let place = |solved: &Solved, tag: &str| {
        solved.site.network.downspouts().iter().position(|d| d.tag == tag)
    };
    let old = before.site.network.downspouts().iter().enumerate();
    let old = old.map(|(i, d)| (d.tag.clone(), Some(i), place(after, &d.tag)));
    let new = after.site.network.downspouts().iter().enumerate();
    let new = new
        .filter(|(_, d)| place(before, &d.tag).is_none())
        .map(|(i, d)| (d.tag.clone(), None, Some(i)));
    old.chain(new).collect()
}
