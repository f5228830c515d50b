//! The nearest known name to a mistyped one.

/// Names longer than this are compared by their first characters only.
const LONGEST: usize = 32;

/// The candidate nearest to `word`, where one is near: at most a third of its letters (and
/// one, in short words) wrong, missing, added or swapped with their neighbour. Case counts as
/// half a slip; the first of equals wins.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let letters: Vec<char> = word.chars().take(LONGEST).collect();
    let allowed = 2 * (letters.len() / 3).max(1);
    candidates
        .into_iter()
        .filter(|candidate| *candidate != word)
        .filter(|candidate| {
            let length = candidate.chars().take(LONGEST).count();
            2 * length.abs_diff(letters.len()) <= allowed
        })
        .map(|candidate| (half_slips(&letters, candidate), candidate))
        .filter(|&(slips, candidate)| {
            // A slip that replaces all of a short word says nothing about it.
            slips <= allowed && slips < 2 * letters.len().min(candidate.chars().count()).max(1)
        })
        .min_by_key(|&(slips, _)| slips)
        .map(|(_, candidate)| candidate)
}

/// Twice the number of slips (optimal string alignment distance), a change of case being half.
fn half_slips(word: &[char], candidate: &str) -> usize {
    let other: Vec<char> = candidate.chars().take(LONGEST).collect();
    let width = other.len() + 1;
    let mut table = vec![0; (word.len() + 1) * width];
    for row in 0..=word.len() {
        for column in 0..width {
            let at = row * width + column;
            if row == 0 || column == 0 {
                table[at] = 2 * (row + column);
                continue;
            }
            let (a, b) = (word[row - 1], other[column - 1]);
            let change = match a == b {
                true => 0,
                false if a.eq_ignore_ascii_case(&b) => 1,
                false => 2,
            };
            let mut least =
                (table[at - width - 1] + change).min(table[at - width] + 2).min(table[at - 1] + 2);
            if row > 1 && column > 1 && a == other[column - 2] && word[row - 2] == b {
                least = least.min(table[at - 2 * width - 2] + 2);
            }
            table[at] = least;
        }
    }
    table[table.len() - 1]
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
    }
}
