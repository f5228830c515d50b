//! What differs between two texts, line by line.

/// Lines that differ: of the old from `old` on `old_count`, in their place of the new from `new` on
/// `new_count`; lines are counted from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Hunk {
    pub(crate) old: usize,
    pub(crate) old_count: usize,
    pub(crate) new: usize,
    pub(crate) new_count: usize,
}

/// More differences than this are told as one: nobody chooses among thousands.
const MOST: usize = 1500;

/// The shortest list of differences, by the greedy search over furthest reaching paths (E. W. Myers,
/// "An O(ND) difference algorithm and its variations", Algorithmica 1, 1986).
pub(crate) fn hunks(old: &[&str], new: &[&str]) -> Vec<Hunk> {
    let head = old.iter().zip(new).take_while(|(a, b)| a == b).count();
    let (old_rest, new_rest) = (&old[head..], &new[head..]);
    let ends = old_rest.iter().rev().zip(new_rest.iter().rev());
    let tail = ends.take_while(|(a, b)| a == b).count();
    let (a, b) = (&old_rest[..old_rest.len() - tail], &new_rest[..new_rest.len() - tail]);
    if a.is_empty() && b.is_empty() {
        return Vec::new();
    }
    let whole = Hunk { old: head, old_count: a.len(), new: head, new_count: b.len() };
    let Some(kept) = common(a, b) else { return vec![whole] };
    let mut hunks = Vec::new();
    let (mut x, mut y) = (0, 0);
    for (at_x, at_y) in kept.into_iter().chain([(a.len(), b.len())]) {
        if at_x > x || at_y > y {
            let (old, new) = (head + x, head + y);
            hunks.push(Hunk { old, old_count: at_x - x, new, new_count: at_y - y });
        }
        (x, y) = (at_x + 1, at_y + 1);
    }
    hunks
}

/// The lines that both keep, as pairs of places; `None` where too much differs.
fn common(a: &[&str], b: &[&str]) -> Option<Vec<(usize, usize)>> {
    let (n, m) = (a.len(), b.len());
    let most = (n + m).min(MOST);
    // The furthest place in `a` on each diagonal, shifted so that none is below 0.
    let mut furthest = vec![0_usize; 2 * most + 3];
    let mut trace: Vec<Vec<usize>> = Vec::new();
    for d in 0..=most {
        trace.push(furthest[most + 1 - d..=most + 1 + d].to_vec());
        for step in 0..=d {
            // Diagonal k = 2 * step - d, at the place k + most + 1.
            let place = most + 1 + 2 * step - d;
            let down = step == 0 || (step < d && furthest[place - 1] < furthest[place + 1]);
            let mut x = if down { furthest[place + 1] } else { furthest[place - 1] + 1 };
            let Some(mut y) = (x + most + 1).checked_sub(place) else { continue };
            while x < n && y < m && a[x] == b[y] {
                (x, y) = (x + 1, y + 1);
            }
            furthest[place] = x;
            if x >= n && y >= m {
                return Some(back(&trace, n, m));
            }
        }
    }
    None
}

/// The way back from the end, as the lines that were kept.
fn back(trace: &[Vec<usize>], n: usize, m: usize) -> Vec<(usize, usize)> {
    let mut kept = Vec::new();
    let (mut x, mut y) = (n, m);
    for d in (1..trace.len()).rev() {
        let row = &trace[d];
        // The row of `d` holds the diagonals from -d to d as they stood before that round.
        let diagonal = |x: usize, y: usize| x + d - y;
        let k = diagonal(x, y);
        let at = |k: usize| row.get(k).copied().unwrap_or(0);
        let down = k == 0 || (k < 2 * d && at(k - 1) < at(k + 1));
        let before = if down { k + 1 } else { k - 1 };
        let before_x = at(before);
        let before_y = before_x + d - before;
        let start = if down { (before_x, before_y + 1) } else { (before_x + 1, before_y) };
        while x > start.0 && y > start.1 {
            (x, y) = (x - 1, y - 1);
            kept.push((x, y));
        }
        (x, y) = (before_x, before_y);
    }
    while x > 0 && y > 0 {
        (x, y) = (x - 1, y - 1);
        kept.push((x, y));
    }
    kept.reverse();
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The new text from the old one and the differences.
    fn applied<'t>(old: &[&'t str], new: &[&'t str], hunks: &[Hunk]) -> Vec<&'t str> {
        let mut out = Vec::new();
        let mut at = 0;
        for hunk in hunks {
            out.extend(&old[at..hunk.old]);
            out.extend(&new[hunk.new..hunk.new + hunk.new_count]);
            at = hunk.old + hunk.old_count;
        }
        out.extend(&old[at..]);
        out
    }

    /// The longest common subsequence by the plain table.
    fn longest(a: &[&str], b: &[&str]) -> usize {
        let mut table = vec![vec![0; b.len() + 1]; a.len() + 1];
        for (i, x) in a.iter().enumerate() {
            for (j, y) in b.iter().enumerate() {
                table[i + 1][j + 1] =
                    if x == y { table[i][j] + 1 } else { table[i][j + 1].max(table[i + 1][j]) };
            }
        }
        table[a.len()][b.len()]
    }

    proptest! {
        #[test]
        fn the_differences_are_all_and_the_fewest(
            a in "[abcd]{0,14}",
            b in "[abcd]{0,14}",
        ) {
            let lines = |text: &str| text.chars().map(String::from).collect::<Vec<_>>();
            let (a, b) = (lines(&a), lines(&b));
            let a: Vec<&str> = a.iter().map(String::as_str).collect();
            let b: Vec<&str> = b.iter().map(String::as_str).collect();
            let found = hunks(&a, &b);
            prop_assert_eq!(applied(&a, &b, &found), b.clone());
            let gone: usize = found.iter().map(|h| h.old_count).sum();
            prop_assert_eq!(a.len() - gone, longest(&a, &b));
        }
    }

    #[test]
    fn two_texts_with_nothing_in_common_are_one_difference() {
        let old: Vec<String> = (0..2000).map(|n| format!("a{n}")).collect();
        let new: Vec<String> = (0..2000).map(|n| format!("b{n}")).collect();
        let old: Vec<&str> = old.iter().map(String::as_str).collect();
        let new: Vec<&str> = new.iter().map(String::as_str).collect();
        assert_eq!(hunks(&old, &new).len(), 1);
    }
}
