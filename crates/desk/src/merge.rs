//! Two changes of one text, laid over each other line by line.

use crate::diff::{Hunk, hunks};
use std::ops::Range;

/// Both changes of `base`, to `mine` and to `theirs`, and whether they met: where both changed the
/// same lines, and not alike, those of `mine` stand alone.
pub(crate) fn merged<'t>(
    base: &[&'t str],
    mine: &[&'t str],
    theirs: &[&'t str],
) -> (Vec<&'t str>, bool) {
    let (mine_changed, theirs_changed) = (hunks(base, mine), hunks(base, theirs));
    let (mut ours, mut others) = (mine_changed.as_slice(), theirs_changed.as_slice());
    let mut lines = Vec::with_capacity(mine.len());
    let (mut at, mut met) = (0, false);
    while let Some(mut place) = first(ours, others) {
        let (mut own, mut other) = (0, 0);
        // What meets what is already there widens it.
        loop {
            let next = |all: &[Hunk], from: usize| {
                all.get(from).map(range).filter(|more| meet(&place, more))
            };
            if let Some(more) = next(ours, own) {
                (place, own) = (widened(&place, &more), own + 1);
            } else if let Some(more) = next(others, other) {
                (place, other) = (widened(&place, &more), other + 1);
            } else {
                break;
            }
        }
        lines.extend_from_slice(&base[at..place.start]);
        let own_lines = changed(&ours[..own], &place, mine);
        let other_lines = changed(&others[..other], &place, theirs);
        match (own_lines, other_lines) {
            (Some(own), Some(other)) => {
                met |= own != other;
                lines.extend_from_slice(own);
            }
            (Some(lone), None) | (None, Some(lone)) => lines.extend_from_slice(lone),
            (None, None) => {}
        }
        at = place.end;
        (ours, others) = (&ours[own..], &others[other..]);
    }
    lines.extend_from_slice(&base[at..]);
    (lines, met)
}

/// The lines of the base that a difference is about.
fn range(hunk: &Hunk) -> Range<usize> {
    hunk.old..hunk.old + hunk.old_count
}

/// Where the next difference of either begins.
fn first(ours: &[Hunk], others: &[Hunk]) -> Option<Range<usize>> {
    let heads = [ours.first(), others.first()].into_iter().flatten().map(range);
    heads.min_by_key(|place| (place.start, place.end))
}

/// Whether two places share a line, or are the same one between two lines.
fn meet(a: &Range<usize>, b: &Range<usize>) -> bool {
    a == b || (a.start < b.end && b.start < a.end)
}

fn widened(a: &Range<usize>, b: &Range<usize>) -> Range<usize> {
    a.start.min(b.start)..a.end.max(b.end)
}

/// What stands at a place of the base in a text that differs there; `None` where it does not.
fn changed<'l, 't>(
    differ: &[Hunk],
    place: &Range<usize>,
    text: &'l [&'t str],
) -> Option<&'l [&'t str]> {
    let (first, last) = (differ.first()?, differ.last()?);
    let start = first.new - (first.old - place.start);
    let end = last.new + last.new_count + (place.end - last.old - last.old_count);
    text.get(start..end)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn lines(text: &str) -> Vec<&str> {
        text.split_whitespace().collect()
    }

    #[test]
    fn changes_apart_are_both_there_and_mine_stand_where_they_meet() {
        for (base, mine, theirs, both, met) in [
            ("a b c d", "a B c d", "a b c D", "a B c D", false),
            ("a b c d", "a B c d", "a b C d", "a B C d", false),
            ("a b c", "a B c", "a X c", "a B c", true),
            ("a b c", "a B c", "a B c", "a B c", false),
            ("a b c", "a x b c", "a y b c", "a x b c", true),
            ("a b c", "a x b c", "a B c", "a x B c", false),
            ("a b c", "a b x c", "a B c", "a B x c", false),
            ("a b c d", "a X d", "a b C d", "a X d", true),
            ("a b", "", "a b c", "c", false),
            ("", "x", "", "x", false),
        ] {
            let (text, clash) = merged(&lines(base), &lines(mine), &lines(theirs));
            assert_eq!((text.join(" ").as_str(), clash), (both, met), "{base}: {mine}, {theirs}");
        }
    }

    /// A text of so many lines, each of its own, of which some are changed, taken out or added to.
    fn changed_by(who: &str, lines: usize, mut dice: u64) -> Vec<String> {
        let mut text = Vec::new();
        for line in 0..lines {
            // The multiplier and the increment of a published generator (D. E. Knuth, MMIX).
            dice = dice
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            match dice >> 59 {
                0 => text.push(format!("{who} {line}")),
                1 => {}
                2 => text.extend([format!("{line}"), format!("{who} adds at {line}")]),
                _ => text.push(format!("{line}")),
            }
        }
        text
    }

    /// What git merges without a conflict is merged alike; what meets here is a conflict there too.
    #[test]
    fn as_git_merges_files() {
        let folder = std::env::temp_dir().join(format!("wetrun-merge-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let (mut clean, mut clashes) = (0, 0);
        for seed in 0..60 {
            let texts = [("base", None), ("mine", Some(seed)), ("theirs", Some(seed + 1000))];
            let texts = texts.map(|(who, dice)| match dice {
                None => (0..24).map(|line| line.to_string()).collect(),
                Some(dice) => changed_by(who, 24, dice),
            });
            let files = ["base", "mine", "theirs"].map(|name| folder.join(name));
            for (file, text) in files.iter().zip(&texts) {
                std::fs::write(file, text.join("\n") + "\n").unwrap();
            }
            let [base, mine, theirs] = &files;
            let mut git = std::process::Command::new("git");
            git.args(["merge-file", "-p"]).args([mine, base, theirs]);
            let told = git.output().unwrap();
            let [base, mine, theirs] =
                texts.each_ref().map(|text| text.iter().map(String::as_str).collect::<Vec<_>>());
            let (text, met) = merged(&base, &mine, &theirs);
            if told.status.success() {
                assert!(!met, "{seed}");
                assert_eq!(
                    text.join("\n") + "\n",
                    String::from_utf8(told.stdout).unwrap(),
                    "{seed}"
                );
                clean += 1;
            }
            clashes += usize::from(met);
        }
        std::fs::remove_dir_all(&folder).unwrap();
        assert!(clean >= 5 && clashes >= 5, "{clean} merged, {clashes} met");
    }

    proptest! {
        /// Who changed nothing is in nobody's way; and what both did is no clash.
        #[test]
        fn one_change_alone_is_that_change(a in "[abc]{0,10}", b in "[abc]{0,10}") {
            let split = |text: &str| text.chars().map(String::from).collect::<Vec<_>>();
            let (a, b) = (split(&a), split(&b));
            let a: Vec<&str> = a.iter().map(String::as_str).collect();
            let b: Vec<&str> = b.iter().map(String::as_str).collect();
            prop_assert_eq!(merged(&a, &b, &a), (b.clone(), false));
            prop_assert_eq!(merged(&a, &a, &b), (b.clone(), false));
            prop_assert_eq!(merged(&a, &b, &b), (b.clone(), false));
        }

        /// Without a clash it does not matter whose change is laid over whose, but for what was put
        /// in at one place.
        #[test]
        fn without_a_clash_both_are_there(
            base in "[abc]{0,8}",
            mine in "[abcx]{0,8}",
            theirs in "[abcy]{0,8}",
        ) {
            let split = |text: &str| text.chars().map(String::from).collect::<Vec<_>>();
            let (base, mine, theirs) = (split(&base), split(&mine), split(&theirs));
            let base: Vec<&str> = base.iter().map(String::as_str).collect();
            let mine: Vec<&str> = mine.iter().map(String::as_str).collect();
            let theirs: Vec<&str> = theirs.iter().map(String::as_str).collect();
            let (one, met) = merged(&base, &mine, &theirs);
            let (other, met_too) = merged(&base, &theirs, &mine);
            prop_assert_eq!(met, met_too);
            if !met {
                prop_assert_eq!(&one, &other);
                let count = |text: &[&str], what: &str| text.iter().filter(|l| **l == what).count();
                prop_assert_eq!(count(&one, "x"), count(&mine, "x"));
                prop_assert_eq!(count(&one, "y"), count(&theirs, "y"));
            }
        }
    }
}
