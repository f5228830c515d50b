//! Texts by lines, with whatever ends each line: a page knows one line end only.

use crate::diff::hunks;
use crate::merge::merged;

/// The lines of a text, each with its end; the last may have none.
fn split(text: &str) -> Vec<(&str, &str)> {
    let mut lines = Vec::new();
    let mut rest = text;
    while let Some(at) = rest.find(['\r', '\n']) {
        let end = if rest[at..].starts_with("\r\n") { 2 } else { 1 };
        lines.push((&rest[..at], &rest[at..at + end]));
        rest = &rest[at + end..];
    }
    lines.push((rest, ""));
    lines
}

/// The lines of a text without their ends.
pub(crate) fn bare(text: &str) -> Vec<&str> {
    split(text).into_iter().map(|(line, _)| line).collect()
}

/// The lines of a text with their ends; what follows the last end counts where there is something.
pub(crate) fn whole(text: &str) -> Vec<&str> {
    let mut at = 0;
    let mut lines = Vec::new();
    for (line, end) in split(text) {
        let length = line.len() + end.len();
        lines.extend(text.get(at..at + length).filter(|line| !line.is_empty()));
        at += length;
    }
    lines
}

/// What was typed into a page over `old`: lines that stayed keep their ends, new ones get those
/// that `old` has most.
pub(crate) fn typed(old: &str, typed: &str) -> String {
    let before = split(old);
    let plain = |ending: &str| before.iter().filter(|(_, end)| *end == ending).count();
    let usual = if plain("\r\n") > plain("\n") { "\r\n" } else { "\n" };
    let new = bare(typed);
    let old_lines: Vec<&str> = before.iter().map(|(line, _)| *line).collect();
    let mut ends: Vec<Option<&str>> = vec![None; new.len()];
    let (mut x, mut y) = (0, 0);
    let differ = hunks(&old_lines, &new);
    let done = crate::diff::Hunk { old: before.len(), old_count: 0, new: new.len(), new_count: 0 };
    for hunk in differ.into_iter().chain([done]) {
        while x < hunk.old {
            ends[y] = Some(before[x].1);
            (x, y) = (x + 1, y + 1);
        }
        (x, y) = (hunk.old + hunk.old_count, hunk.new + hunk.new_count);
    }
    let last = new.len() - 1;
    let mut text = String::with_capacity(typed.len() + 16);
    for (index, (line, end)) in new.iter().zip(ends).enumerate() {
        text.push_str(line);
        if index < last {
            text.push_str(end.filter(|end| !end.is_empty()).unwrap_or(usual));
        }
    }
    text
}

/// What was typed into a page over `base`, a text that is not `current` any more, laid over that; and
/// whether both changed the same lines: then those that were typed stand there.
pub(crate) fn laid_over(current: &str, base: &str, over: &str) -> (String, bool) {
    let (lines, met) = merged(&bare(base), &bare(over), &bare(current));
    (typed(current, &lines.join("\n")), met)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn line_ends_stay() {
        let old = "a: 1\r\nb: 2\r\nc: 3\r\n";
        assert_eq!(typed(old, "a: 1\nb: 4\nc: 3\n"), "a: 1\r\nb: 4\r\nc: 3\r\n");
        assert_eq!(typed(old, "a: 1\nx: 1\nb: 2\nc: 3\n"), "a: 1\r\nx: 1\r\nb: 2\r\nc: 3\r\n");
        let mixed = "a\r\nb\nc\rd";
        assert_eq!(typed(mixed, "a\nb\nc\nd"), mixed);
        assert_eq!(typed(mixed, "a\nb\nc\nd\n"), "a\r\nb\nc\rd\n");
        assert_eq!(typed("", "x\n"), "x\n");
        assert_eq!(typed("x\n", ""), "");
    }

    proptest! {
        /// What a page makes of a text and gives back untouched is that text.
        #[test]
        fn untouched_is_unchanged(text in "([ab]|\r\n|\n|\r){0,20}") {
            let page = text.replace("\r\n", "\n").replace('\r', "\n");
            prop_assert_eq!(typed(&text, &page), text);
        }
    }
}
