//! A sum that keeps what rounding would lose of it.

use core::iter::Sum as Summed;

/// A running sum with the digits that its terms lost (A. Neumaier, 1974; from memory).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Sum {
    whole: f64,
    lost: f64,
}

impl Sum {
    pub(crate) fn add(&mut self, term: f64) {
        let whole = self.whole + term;
        self.lost += if self.whole.abs() >= term.abs() {
            (self.whole - whole) + term
        } else {
            (term - whole) + self.whole
        };
        self.whole = whole;
    }

    pub(crate) fn get(self) -> f64 {
        self.whole + self.lost
    }
}

impl Summed<f64> for Sum {
    fn sum<I: Iterator<Item = f64>>(terms: I) -> Self {
        let mut sum = Self::default();
        terms.for_each(|term| sum.add(term));
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::Sum;

    /// 1 + 10¹⁰⁰ + 1 − 10¹⁰⁰ is 2.
    #[test]
    fn nothing_is_lost() {
        let sum: Sum = [1.0, 1e100, 1.0, -1e100].into_iter().sum();
        assert!((sum.get() - 2.0).abs() < f64::EPSILON);
    }
}
