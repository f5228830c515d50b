//! A linear system of one pattern: its order and fill worked out once, factored many times.
//!
//! No pivots are sought: the matrices of a network in motion have their weight on the diagonal.

use std::collections::BTreeSet;

/// A matrix whose pattern is symmetric; its values need not be.
#[derive(Clone, Debug)]
pub(crate) struct Sparse {
    /// Unknowns in the order of elimination, and the place of each in it.
    order: Vec<usize>,
    /// For each place the later places that it is joined to.
    later: Vec<Vec<usize>>,
    /// Where its entries stand: its own, the upper ones of those pairs, then the lower ones.
    first: Vec<usize>,
    /// For each place the slots that elimination lessens, in the order of its pairs of `later`: so far
    /// behind its own entries.
    targets: Vec<Vec<usize>>,
    /// For each unknown the columns of its row in their order, each with its slot.
    rows: Vec<Vec<(usize, usize)>>,
    values: Vec<f64>,
    work: Vec<f64>,
}

impl Sparse {
    /// A matrix of so many unknowns, joined by pairs.
    pub(crate) fn new(unknowns: usize, pairs: impl IntoIterator<Item = (usize, usize)>) -> Self {
        let mut joined: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); unknowns];
        for (a, b) in pairs {
            if a != b {
                joined[a].insert(b);
                joined[b].insert(a);
            }
        }
        let mut waiting: BTreeSet<(usize, usize)> =
            (0..unknowns).map(|n| (joined[n].len(), n)).collect();
        let mut order = Vec::with_capacity(unknowns);
        let mut place = vec![usize::MAX; unknowns];
        let mut neighbours: Vec<Vec<usize>> = Vec::with_capacity(unknowns);
        while let Some((_, n)) = waiting.pop_first() {
            place[n] = order.len();
            order.push(n);
            let around: Vec<usize> = joined[n].iter().copied().collect();
            for &a in &around {
                waiting.remove(&(joined[a].len(), a));
                joined[a].remove(&n);
                joined[a].extend(around.iter().copied().filter(|b| *b != a));
                waiting.insert((joined[a].len(), a));
            }
            neighbours.push(around);
        }
        let later: Vec<Vec<usize>> = neighbours
            .iter()
            .map(|around| {
                let mut places: Vec<usize> = around.iter().map(|n| place[*n]).collect();
                places.sort_unstable();
                places
            })
            .collect();
        let mut rows: Vec<Vec<(usize, usize)>> = vec![Vec::new(); unknowns];
        let mut first = Vec::with_capacity(unknowns);
        let mut next = 0;
        for (here, others) in later.iter().enumerate() {
            rows[order[here]].push((order[here], next));
            first.push(next);
            for (column, &other) in others.iter().enumerate() {
                rows[order[here]].push((order[other], next + 1 + column));
                rows[order[other]].push((order[here], next + 1 + others.len() + column));
            }
            next += 1 + 2 * others.len();
        }
        for row in &mut rows {
            row.sort_unstable();
        }
        let slot = |a: usize, b: usize| find(&rows[order[a]], order[b]).unwrap_or(usize::MAX);
        let targets = (later.iter().zip(&first))
            .map(|(others, first)| {
                let behind = first + 1 + 2 * others.len();
                let of_row = |&a: &usize| others.iter().map(move |&b| slot(a, b) - behind);
                others.iter().flat_map(of_row).collect()
            })
            .collect();
        Self {
            order,
            later,
            first,
            targets,
            rows,
            values: vec![0.0; next],
            work: vec![0.0; unknowns],
        }
    }

    /// The slot of an entry of the pattern.
    pub(crate) fn slot(&self, row: usize, column: usize) -> usize {
        find(&self.rows[row], column).unwrap_or(usize::MAX)
    }

    /// Sets every entry to zero.
    pub(crate) fn clear(&mut self) {
        self.values.fill(0.0);
    }

    /// Adds to the entry of a slot.
    pub(crate) fn add(&mut self, slot: usize, value: f64) {
        self.values[slot] += value;
    }

    /// Makes an unknown's row say that it does not change.
    pub(crate) fn hold(&mut self, unknown: usize) {
        for &(column, slot) in &self.rows[unknown] {
            self.values[slot] = if column == unknown { 1.0 } else { 0.0 };
        }
    }

    /// Factors what stands in it and solves for the right-hand side, which becomes the answer;
    /// false where a pivot is nothing. The entries are lost.
    pub(crate) fn solve(&mut self, right: &mut [f64]) -> bool {
        let values = &mut self.values;
        let x = &mut self.work;
        for (place, &unknown) in self.order.iter().enumerate() {
            x[place] = right[unknown];
        }
        for place in 0..self.order.len() {
            let others = &self.later[place];
            let (own, behind) = values[self.first[place]..].split_at_mut(1 + 2 * others.len());
            let pivot = own[0];
            if pivot.is_nan() || pivot.abs() < 1e-300 {
                return false;
            }
            let (upper, lower) = own[1..].split_at(others.len());
            let targets = self.targets[place].chunks_exact(others.len().max(1));
            for ((&other, lower), targets) in others.iter().zip(lower).zip(targets) {
                let factor = lower / pivot;
                if factor == 0.0 {
                    continue;
                }
                x[other] -= factor * x[place];
                for (&target, above) in targets.iter().zip(upper) {
                    behind[target] -= factor * above;
                }
            }
        }
        for place in (0..self.order.len()).rev() {
            let others = &self.later[place];
            let own = &values[self.first[place]..][..=others.len()];
            let less = |sum, (other, upper): (&usize, &f64)| sum - upper * x[*other];
            x[place] = others.iter().zip(&own[1..]).fold(x[place], less) / own[0];
        }
        for (place, &unknown) in self.order.iter().enumerate() {
            right[unknown] = x[place];
        }
        right.iter().all(|value| value.is_finite())
    }
}

/// The slot of a column in a row.
fn find(row: &[(usize, usize)], column: usize) -> Option<usize> {
    row.iter().find(|entry| entry.0 == column).map(|entry| entry.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The product of the matrix and a known answer, solved back.
    #[test]
    fn a_ring_with_branches_is_solved() {
        let pairs = [(0, 1), (1, 2), (2, 3), (3, 0), (2, 4), (4, 5), (1, 5), (6, 4)];
        let mut matrix = Sparse::new(7, pairs);
        let mut dense = [[0.0; 7]; 7];
        for (n, row) in dense.iter_mut().enumerate() {
            row[n] = 4.0 + n as f64;
        }
        for (k, (a, b)) in pairs.into_iter().enumerate() {
            dense[a][b] = -1.0 - 0.1 * k as f64;
            dense[b][a] = -0.5 + 0.05 * k as f64;
        }
        let answer: Vec<f64> = (0..7).map(|n| 1.5 - n as f64).collect();
        for (row, values) in dense.iter().enumerate() {
            for (column, value) in values.iter().enumerate().filter(|(_, v)| **v != 0.0) {
                let slot = matrix.slot(row, column);
                matrix.add(slot, *value);
            }
        }
        let mut right: Vec<f64> =
            dense.iter().map(|row| row.iter().zip(&answer).map(|(a, x)| a * x).sum()).collect();
        assert!(matrix.solve(&mut right));
        for (x, y) in right.iter().zip(&answer) {
            assert!((x - y).abs() < 1e-13, "{x} {y}");
        }
    }
}
