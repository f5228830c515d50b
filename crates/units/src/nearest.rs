//! The nearest known name to a mistyped one.

use strsim::osa_distance;

/// Names longer than this are compared by their first characters only.
const LONGEST: usize = 32;

/// The candidate nearest to `word`, where one is near: at most a third of its letters (and
/// one, in short words) wrong, missing, added or swapped with their neighbour. Case decides
/// between equals, then the order.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word_start = start(word);
    let lower = word_start.to_lowercase();
    let letters = lower.chars().count();
    let allowed = (letters / 3).max(1);
    candidates
        .into_iter()
        .filter(|candidate| *candidate != word)
        .map(|candidate| (start(candidate), candidate))
        .filter(|(other, _)| other.chars().count().abs_diff(letters) <= allowed)
        .map(|(other, candidate)| (osa_distance(&lower, &other.to_lowercase()), other, candidate))
        .filter(|(slips, other, _)| {
            // A slip that replaces all of a short word says nothing about it.
            *slips <= allowed && *slips < letters.min(other.chars().count()).max(1)
        })
        .min_by_key(|(slips, other, _)| (*slips, osa_distance(&word_start, other)))
        .map(|(_, _, candidate)| candidate)
}

fn start(text: &str) -> String {
    text.chars().take(LONGEST).collect()
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn near_names_are_found_and_far_ones_are_not() {
        let keys = ["outlet", "lip", "foot", "pipe", "leaf_head"];
        assert_eq!(nearest("outlat", keys), Some("outlet"));
        assert_eq!(nearest("fooot", keys), Some("foot"));
        assert_eq!(nearest("Pipe", keys), Some("pipe"));
        assert_eq!(nearest("pips", keys), Some("pipe"));
        assert_eq!(nearest("leafhead", keys), Some("leaf_head"));
        assert_eq!(nearest("diameter", keys), None);
        assert_eq!(nearest("", keys), None);
        assert_eq!(nearest("x", ["y"]), None);
        assert_eq!(nearest("L4", ["L1", "D1"]), Some("L1"));
        assert_eq!(nearest("LEAFHEAD", keys), Some("leaf_head"));
        assert_eq!(nearest("Fot", ["FOOT", "Foot", "foot"]), Some("Foot"));
    }
}
