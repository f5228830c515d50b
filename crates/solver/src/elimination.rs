//! Elimination from the leaves to the roots, where the unknowns are joined like the branches of a
//! tree: no fill, no ordering to search for, and no need of symmetry.

/// The order of elimination of a forest.
pub(crate) struct Elimination {
    /// Unknowns, each after those that it is eliminated into.
    pub(crate) order: Vec<usize>,
    /// For each unknown the pair by which it is eliminated, and whether it is the pair's second.
    pub(crate) parent: Vec<Option<(usize, bool)>>,
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
                for &pair in &at[here] {
                    let (a, b) = pairs[pair];
                    let other = if a == here { b } else { a };
                    if !std::mem::replace(&mut seen[other], true) {
                        parent[other] = Some((pair, other == b));
                        order.push(other);
                        joined += 1;
                    }
                }
            }
        }
        (joined == pairs.len()).then_some(Self { order, parent })
    }

    /// Solves for each right-hand side; `None` where a pivot is not positive. `off` holds the two
    /// entries `(a, b)` and `(b, a)` of each pair.
    pub(crate) fn solve(
        &self,
        pairs: &[(usize, usize)],
        mut diagonal: Vec<f64>,
        off: &[[f64; 2]],
        rights: &[&[f64]],
    ) -> Option<Vec<Vec<f64>>> {
        let mut solutions: Vec<Vec<f64>> = rights.iter().map(|right| right.to_vec()).collect();
        // The entry in the unknown's own row, that in its parent's, and the parent.
        let step = |unknown: usize| {
            self.parent[unknown].map(|(pair, second)| match (pairs[pair], off[pair], second) {
                ((a, _), [ab, ba], true) => (ba, ab, a),
                ((_, b), [ab, ba], false) => (ab, ba, b),
            })
        };
        for &unknown in self.order.iter().rev() {
            // No pivot, or none that is a number.
            if diagonal[unknown].is_nan() || diagonal[unknown] <= 0.0 {
                return None;
            }
            if let Some((own, above, parent)) = step(unknown) {
                let factor = above / diagonal[unknown];
                diagonal[parent] -= factor * own;
                for x in &mut solutions {
                    x[parent] -= factor * x[unknown];
                }
            }
        }
        for &unknown in &self.order {
            let above = step(unknown);
            for x in &mut solutions {
                let above = above.map_or(0.0, |(own, _, parent)| own * x[parent]);
                x[unknown] = (x[unknown] - above) / diagonal[unknown];
            }
        }
        Some(solutions)
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
        let diagonal = vec![2.5, 1.5, 1.75, 3.5, 2.0, 1.0, 4.0];
        let right = [1.0, -2.0, 0.5, 3.0, 0.0, 1.25, -0.5];
        let mut dense = DMatrix::from_diagonal(&DVector::from_vec(diagonal.clone()));
        for (&(a, b), [ab, ba]) in pairs.iter().zip(off) {
            (dense[(a, b)], dense[(b, a)]) = (ab, ba);
        }
        let expected = dense.lu().solve(&DVector::from_column_slice(&right)).unwrap();
        let tree = Elimination::new(7, &pairs).unwrap();
        let solved = tree.solve(&pairs, diagonal, &off, &[&right]).unwrap().remove(0);
        for (x, y) in solved.iter().zip(expected.iter()) {
            assert!((x - y).abs() < 1e-14, "{x} {y}");
        }
    }

    #[test]
    fn a_loop_is_none_and_neither_are_two_pairs_side_by_side() {
        assert!(Elimination::new(3, &[(0, 1), (1, 2), (2, 0)]).is_none());
        assert!(Elimination::new(2, &[(0, 1), (1, 0)]).is_none());
        assert!(Elimination::new(3, &[(2, 0)]).is_some());
    }
}
