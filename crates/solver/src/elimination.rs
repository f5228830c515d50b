//! Elimination from the leaves to the roots, where the unknowns are joined like the branches of a
//! tree: no fill, no ordering to search for, and no need of symmetry.

use std::ops::Range;

/// The order of elimination of a forest.
pub(crate) struct Elimination {
    /// Unknowns, each after those that it is eliminated into.
    pub(crate) order: Vec<usize>,
    /// For each unknown the pair by which it is eliminated, and whether it is the pair's second.
    pub(crate) parent: Vec<Option<(usize, bool)>>,
    /// For each unknown where in the order those stand that are eliminated into it.
    children: Vec<Range<usize>>,
}

/// What a solution leaves behind, so that where one unknown's equation changes only what answers to
/// that is worked out anew.
pub(crate) struct Kept {
    pivots: Vec<f64>,
    /// The right-hand side with all eliminated into it that is.
    right: Vec<f64>,
}

/// What is so much smaller than the change where it began is no change.
const FADED: f64 = 1e-12;

/// A matrix: its diagonal, and the entries `(a, b)` and `(b, a)` of each pair.
#[derive(Clone, Copy)]
pub(crate) struct Entries<'a> {
    pub(crate) pairs: &'a [(usize, usize)],
    pub(crate) diagonal: &'a [f64],
    pub(crate) off: &'a [[f64; 2]],
    /// Added to every diagonal entry.
    pub(crate) damping: f64,
}

impl Entries<'_> {
    fn diagonal(&self, unknown: usize) -> f64 {
        self.diagonal[unknown] + self.damping
    }
}

impl Elimination {
    /// Orders unknowns that are joined by `pairs`; `None` where these close a loop.
    pub(crate) fn new(unknowns: usize, pairs: &[(usize, usize)]) -> Option<Self> {
        let mut at: Vec<Vec<usize>> = vec![Vec::new(); unknowns];
        for (pair, &(a, b)) in pairs.iter().enumerate() {
            at[a].push(pair);
            at[b].push(pair);
        }
        let mut parent = vec![None; unknowns];
        let mut children = vec![0..0; unknowns];
        let mut seen = vec![false; unknowns];
        let mut order = Vec::with_capacity(unknowns);
        let mut joined = 0;
        for root in 0..unknowns {
            if std::mem::replace(&mut seen[root], true) {
                continue;
            }
            let mut next = order.len();
            order.push(root);
            while let Some(&here) = order.get(next) {
                next += 1;
                let first = order.len();
                for &pair in &at[here] {
                    let (a, b) = pairs[pair];
                    let other = if a == here { b } else { a };
                    if !std::mem::replace(&mut seen[other], true) {
                        parent[other] = Some((pair, other == b));
                        order.push(other);
                        joined += 1;
                    }
                }
                children[here] = first..order.len();
            }
        }
        (joined == pairs.len()).then_some(Self { order, parent, children })
    }

    /// Solves for each right-hand side; `None` where a pivot is not positive.
    pub(crate) fn solve(&self, of: Entries, rights: &[&[f64]]) -> Option<Vec<Vec<f64>>> {
        let mut solutions: Vec<Vec<f64>> = rights.iter().map(|right| right.to_vec()).collect();
        let pivots = self.eliminate(of, &mut solutions)?;
        self.substitute(of, &pivots, &mut solutions);
        Some(solutions)
    }

    /// The same for one right-hand side, with what [`Self::solve_again`] goes on from.
    pub(crate) fn solve_kept(&self, of: Entries, right: &[f64]) -> Option<(Vec<f64>, Kept)> {
        let mut solution = [right.to_vec()];
        let pivots = self.eliminate(of, &mut solution)?;
        let kept = Kept { pivots, right: solution[0].clone() };
        self.substitute(of, &kept.pivots, &mut solution);
        let [solution] = solution;
        Some((solution, kept))
    }

    /// Solves again after the diagonal entry and the right-hand side of one unknown have changed, as far
    /// as that makes a difference. Gives the unknowns whose solution has changed.
    pub(crate) fn solve_again(
        &self,
        of: Entries,
        right: &[f64],
        changed: usize,
        kept: &mut Kept,
        solution: &mut [f64],
    ) -> Option<Vec<usize>> {
        let mut least = 0.0;
        let mut top = changed;
        let mut next = Some(changed);
        let mut way = Vec::new();
        while let Some(here) = next {
            let mut pivot = of.diagonal(here);
            let mut sum = right[here];
            for &child in self.order[self.children[here].clone()].iter().rev() {
                if let Some((own, above, _)) = self.step(of, child) {
                    let factor = above / kept.pivots[child];
                    pivot -= factor * own;
                    sum -= factor * kept.right[child];
                }
            }
            if pivot <= 0.0 {
                return None;
            }
            let by_pivot = solution[here] * (pivot - kept.pivots[here]);
            let change = (by_pivot.abs() + (sum - kept.right[here]).abs()) / pivot;
            if !change.is_finite() {
                return None;
            }
            if here == changed {
                least = FADED * change;
            }
            (kept.pivots[here], kept.right[here]) = (pivot, sum);
            top = here;
            way.push(here);
            if change <= least {
                break;
            }
            next = self.step(of, here).map(|(_, _, parent)| parent);
        }
        // Then downwards, along the way up in any case.
        let mut found = Vec::new();
        let mut below = vec![top];
        while let Some(here) = below.pop() {
            let on_the_way = way.last() == Some(&here);
            if on_the_way {
                way.pop();
            }
            let above = self.step(of, here).map_or(0.0, |(own, _, parent)| own * solution[parent]);
            let x = (kept.right[here] - above) / kept.pivots[here];
            if (x - solution[here]).abs() > least {
                solution[here] = x;
                found.push(here);
                below.extend(&self.order[self.children[here].clone()]);
            } else if let Some(&child) = way.last().filter(|_| on_the_way) {
                below.push(child);
            }
        }
        Some(found)
    }

    /// Eliminates all unknowns from right-hand sides; gives the pivots.
    fn eliminate(&self, of: Entries, rights: &mut [Vec<f64>]) -> Option<Vec<f64>> {
        let mut pivots: Vec<f64> = (0..of.diagonal.len()).map(|u| of.diagonal(u)).collect();
        for &unknown in self.order.iter().rev() {
            // No pivot, or none that is a number.
            if pivots[unknown].is_nan() || pivots[unknown] <= 0.0 {
                return None;
            }
            if let Some((own, above, parent)) = self.step(of, unknown) {
                let factor = above / pivots[unknown];
                pivots[parent] -= factor * own;
                for x in rights.iter_mut() {
                    x[parent] -= factor * x[unknown];
                }
            }
        }
        Some(pivots)
    }

    /// Turns right-hand sides from which all unknowns are eliminated into the solutions.
    fn substitute(&self, of: Entries, pivots: &[f64], rights: &mut [Vec<f64>]) {
        for &unknown in &self.order {
            let above = self.step(of, unknown);
            for x in rights.iter_mut() {
                let above = above.map_or(0.0, |(own, _, parent)| own * x[parent]);
                x[unknown] = (x[unknown] - above) / pivots[unknown];
            }
        }
    }

    /// The entry in the unknown's own row, that in its parent's, and the parent.
    fn step(&self, of: Entries, unknown: usize) -> Option<(f64, f64, usize)> {
        self.parent[unknown].map(|(pair, second)| match (of.pairs[pair], of.off[pair], second) {
            ((a, _), [ab, ba], true) => (ba, ab, a),
            ((_, b), [ab, ba], false) => (ab, ba, b),
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use nalgebra::{DMatrix, DVector};

    /// Against a dense factorisation of a general library.
    #[test]
    fn a_tree_is_solved_as_a_dense_matrix_is() {
        // Two trees, neither with its pairs in any order, and not symmetric.
        let pairs = [(3, 1), (0, 3), (3, 4), (4, 2), (6, 5)];
        let off = [[-1.0, -0.5], [0.0, -2.0], [-0.3, -0.3], [-1.5, 0.0], [-0.7, -0.9]];
        let diagonal = [2.5, 1.5, 1.75, 3.5, 2.0, 1.0, 4.0];
        let right = [1.0, -2.0, 0.5, 3.0, 0.0, 1.25, -0.5];
        let mut dense = DMatrix::from_diagonal(&DVector::from_column_slice(&diagonal));
        for (&(a, b), [ab, ba]) in pairs.iter().zip(off) {
            (dense[(a, b)], dense[(b, a)]) = (ab, ba);
        }
        let expected = dense.lu().solve(&DVector::from_column_slice(&right)).unwrap();
        let tree = Elimination::new(7, &pairs).unwrap();
        let of = Entries { pairs: &pairs, diagonal: &diagonal, off: &off, damping: 0.0 };
        let solved = tree.solve(of, &[&right]).unwrap().remove(0);
        for (x, y) in solved.iter().zip(expected.iter()) {
            assert!((x - y).abs() < 1e-14, "{x} {y}");
        }
    }

    #[test]
    fn solving_again_is_solving_anew() {
        let pairs = [(0, 1), (1, 2), (1, 3), (3, 4), (3, 5), (5, 6), (8, 7)];
        let off = [
            [-1.0, -0.5],
            [-0.7, -0.9],
            [0.0, -2.0],
            [-0.3, 0.0],
            [-1.5; 2],
            [-1.0; 2],
            [-0.2, -0.1],
        ];
        let mut diagonal = [2.5, 4.5, 1.75, 5.5, 2.0, 3.0, 4.0, 1.0, 1.0];
        let mut right = [1.0, -2.0, 0.5, 3.0, 0.0, 1.25, -0.5, 0.0, 1.0];
        let tree = Elimination::new(9, &pairs).unwrap();
        let of = Entries { pairs: &pairs, diagonal: &diagonal, off: &off, damping: 1e-3 };
        let (mut x, mut kept) = tree.solve_kept(of, &right).unwrap();
        for changed in [6, 0, 4, 2, 8, 3, 3] {
            let before = x.clone();
            diagonal[changed] += 1.0;
            right[changed] = 0.25;
            let of = Entries { pairs: &pairs, diagonal: &diagonal, off: &off, damping: 1e-3 };
            let found = tree.solve_again(of, &right, changed, &mut kept, &mut x).unwrap();
            let anew = tree.solve(of, &[&right]).unwrap().remove(0);
            for (unknown, (now, anew)) in x.iter().zip(anew).enumerate() {
                assert!((now - anew).abs() < 1e-11, "{changed} {unknown}: {now} {anew}");
                assert_eq!(
                    found.contains(&unknown),
                    *now != before[unknown],
                    "{changed} {unknown}"
                );
            }
        }
    }

    #[test]
    fn a_loop_is_none_and_neither_are_two_pairs_side_by_side() {
        assert!(Elimination::new(3, &[(0, 1), (1, 2), (2, 0)]).is_none());
        assert!(Elimination::new(2, &[(0, 1), (1, 0)]).is_none());
        assert!(Elimination::new(3, &[(2, 0)]).is_some());
    }
}
