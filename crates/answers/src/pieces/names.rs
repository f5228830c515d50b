//! Tags: which section has one, and the next that is free.

use wetrun_site::Outline;

/// Sections whose tags are all different.
const ONE_SPACE: [&str; 4] = ["downspouts", "points", "lines", "tanks"];

/// Which of the sections whose tags are all different has a tag.
pub fn sort_of(outline: &Outline, tag: &str) -> Option<&'static str> {
    ONE_SPACE.into_iter().find(|section| outline.names(&[section]).contains(&tag))
}

/// Whether a tag is taken in a section, or in one that shares its tags.
pub(super) fn is_taken(outline: &Outline, section: &str, tag: &str) -> bool {
    let shared = ONE_SPACE.contains(&section).then(|| sort_of(outline, tag)).flatten();
    shared.is_some() || outline.names(&[section]).contains(&tag)
}

/// A free tag for a section: that of its last item with the next number, else `letter` and one;
/// none of `but`.
pub fn fresh_tag(outline: &Outline, section: &str, letter: &str, but: &[&str]) -> String {
    let names = outline.names(&[section]);
    let like = names.iter().rev().find(|name| stem(name).len() < name.len());
    fresh_tag_like(outline, section, like.map_or(letter, |name| name), but)
}

/// A free tag that goes on from another: its letters with the next number that none of them has.
pub fn fresh_tag_like(outline: &Outline, section: &str, like: &str, but: &[&str]) -> String {
    let stem = stem(like);
    let number = |name: &&str| name.strip_prefix(stem)?.parse::<u32>().ok();
    let last = outline.names(&[section]).iter().filter_map(number).max().unwrap_or(0);
    let free = |tag: &String| !is_taken(outline, section, tag) && !but.contains(&tag.as_str());
    (last.saturating_add(1)..)
        .map(|number| format!("{stem}{number}"))
        .find(free)
        .unwrap_or_default()
}

/// A tag without the number at its end.
fn stem(tag: &str) -> &str {
    tag.trim_end_matches(|c: char| c.is_ascii_digit())
}
