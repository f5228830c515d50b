//! Fronts: for every head that could be allowed at a place, the least cost that allows it.

use super::law::SAME_M;
use std::cmp::Ordering;

/// One corner of a front: `cost` buys every head up to `allowed_m`, and no less does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Corner {
    pub(crate) allowed_m: f64,
    pub(crate) cost: f64,
}

/// Corners with head and cost both rising. Without a corner no head can be allowed.
#[derive(Clone, Debug, Default)]
pub(crate) struct Front {
    corners: Vec<Corner>,
}

impl Front {
    /// A front of the corners that no other beats.
    pub(crate) fn of(mut corners: Vec<Corner>) -> Self {
        corners.sort_unstable_by(|a, b| {
            b.allowed_m.total_cmp(&a.allowed_m).then(a.cost.total_cmp(&b.cost))
        });
        let mut cheapest = f64::INFINITY;
        corners.retain(|corner| {
            let better = corner.cost < cheapest;
            if better {
                cheapest = corner.cost;
            }
            better
        });
        corners.reverse();
        Self { corners }
    }

    /// Any head up to one, for nothing.
    pub(crate) fn below(allowed_m: f64) -> Self {
        Self { corners: vec![Corner { allowed_m, cost: 0.0 }] }
    }

    /// The corners, the lowest head first.
    pub(crate) fn corners(&self) -> &[Corner] {
        &self.corners
    }

    /// The least cost of all.
    pub(crate) fn cheapest(&self) -> Option<f64> {
        self.corners.first().map(|corner| corner.cost)
    }

    /// The highest head that can be allowed; minus infinity where none can.
    pub(crate) fn most_m(&self) -> f64 {
        self.corners.last().map_or(f64::NEG_INFINITY, |corner| corner.allowed_m)
    }

    /// The highest head that can be allowed for a cost.
    pub(crate) fn most_for_m(&self, cost: f64) -> f64 {
        let dearer = self.corners.partition_point(|corner| corner.cost <= cost);
        let last = dearer.checked_sub(1).map(|last| self.corners[last].allowed_m);
        last.unwrap_or(f64::NEG_INFINITY)
    }

    /// The front without what allows less than a head.
    pub(crate) fn allowing(mut self, head_m: f64) -> Self {
        let first = self.corners.partition_point(|c| c.allowed_m < head_m - SAME_M);
        self.corners.drain(..first);
        self
    }

    /// The least cost that allows a head, and the head it allows.
    pub(crate) fn at(&self, head_m: f64) -> Option<Corner> {
        let first = self.corners.partition_point(|c| c.allowed_m < head_m - SAME_M);
        self.corners.get(first).copied()
    }

    /// The front with its heads moved by `by_m`, at the extra `cost`.
    pub(crate) fn shifted(&self, by_m: f64, cost: f64) -> impl Iterator<Item = Corner> + '_ {
        let shift = move |c: &Corner| Corner { allowed_m: c.allowed_m + by_m, cost: c.cost + cost };
        self.corners.iter().map(shift)
    }

    /// The corner of the highest head alone.
    pub(crate) fn highest(mut self) -> Self {
        let from = self.corners.len().saturating_sub(1);
        self.corners.drain(..from);
        self
    }

    /// The cheaper of two fronts at every head.
    pub(crate) fn union(&self, other: &Self) -> Self {
        let (a, b) = (&self.corners, &other.corners);
        let mut out: Vec<Corner> = Vec::with_capacity(a.len() + b.len());
        let (mut i, mut j) = (a.len(), b.len());
        let mut cheapest = f64::INFINITY;
        while i > 0 || j > 0 {
            let from_a = match (i.checked_sub(1), j.checked_sub(1)) {
                (Some(x), Some(y)) => {
                    let order = (a[x].allowed_m.total_cmp(&b[y].allowed_m))
                        .then(b[y].cost.total_cmp(&a[x].cost));
                    order != Ordering::Less
                }
                (x, _) => x.is_some(),
            };
            let corner = if from_a {
                i -= 1;
                a[i]
            } else {
                j -= 1;
                b[j]
            };
            if corner.cost < cheapest {
                cheapest = corner.cost;
                out.push(corner);
            }
        }
        out.reverse();
        Self { corners: out }
    }

    /// What serving all of several places at one head costs. Of no places: nothing, at any head.
    pub(crate) fn sum(fronts: &[&Self]) -> Self {
        let mut next = vec![0_usize; fronts.len()];
        let mut steps: Vec<(f64, usize)> = Vec::new();
        for (index, front) in fronts.iter().enumerate() {
            if front.corners.is_empty() {
                return Self::default();
            }
            steps.extend(front.corners.iter().map(|corner| (corner.allowed_m, index)));
        }
        if fronts.is_empty() {
            return Self { corners: vec![Corner { allowed_m: f64::INFINITY, cost: 0.0 }] };
        }
        if let [one] = fronts {
            return (*one).clone();
        }
        steps.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut corners = Vec::with_capacity(steps.len());
        let mut at = 0;
        while let Some(&(head, _)) = steps.get(at) {
            // Summed anew at each step, in one order, so that rounding does not pile up.
            let cost = fronts.iter().zip(&next).map(|(f, &n)| f.corners[n].cost).sum();
            corners.push(Corner { allowed_m: head, cost });
            let mut spent = false;
            while let Some(&(_, index)) = steps.get(at).filter(|step| step.0 == head) {
                next[index] += 1;
                spent |= next[index] == fronts[index].corners.len();
                at += 1;
            }
            if spent {
                break;
            }
        }
        Self::of(corners)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn front(corners: &[(f64, f64)]) -> Front {
        Front::of(corners.iter().map(|&(allowed_m, cost)| Corner { allowed_m, cost }).collect())
    }

    #[test]
    fn corners_that_another_beats_are_dropped() {
        let front = front(&[(1.0, 5.0), (2.0, 4.0), (3.0, 9.0), (0.5, 4.0), (3.0, 8.0)]);
        let left: Vec<(f64, f64)> = front.corners().iter().map(|c| (c.allowed_m, c.cost)).collect();
        assert_eq!(left, [(2.0, 4.0), (3.0, 8.0)]);
        assert_eq!(front.at(2.0).unwrap().cost, 4.0);
        assert_eq!(front.at(2.1).unwrap().cost, 8.0);
        assert!(front.at(3.1).is_none());
    }

    #[test]
    fn a_sum_serves_all_at_every_head() {
        let (a, b) = (front(&[(1.0, 1.0), (3.0, 4.0)]), front(&[(2.0, 10.0), (5.0, 20.0)]));
        let sum = Front::sum(&[&a, &b]);
        for head in [0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0] {
            let wanted = a.at(head).unwrap().cost + b.at(head).unwrap().cost;
            assert_eq!(sum.at(head).unwrap().cost, wanted, "{head}");
        }
        assert!(sum.at(3.5).is_none());
        let either = a.union(&b);
        assert_eq!(either.at(2.5).unwrap().cost, 4.0);
        assert_eq!(either.at(4.0).unwrap().cost, 20.0);
    }
}
