//! A Latin design: each input meets every one of `n` equal parts of its law once.

use crate::random::Stream;

/// One input's column of the design: for each sample a number between 0 and 1, one in each n-th,
/// in random order and at a random place in its n-th.
///
/// McKay, Beckman and Conover, *Technometrics* 21 (1979): the mean of anything that is a sum of
/// what single inputs do is known far better than from independent draws, that of anything else no
/// worse (but for a share of 1/(n − 1)).
pub(crate) fn column(seed: u64, name: &str, n: usize) -> Vec<f64> {
    let mut stream = Stream::named(seed, name);
    let mut places: Vec<usize> = (0..n).collect();
    for last in (1..n).rev() {
        let other = stream.below(last as u64 + 1) as usize;
        places.swap(last, other);
    }
    places.iter().map(|&place| (place as f64 + stream.unit()) / n as f64).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_part_is_met_once() {
        for n in [1, 7, 500] {
            let mut met = vec![0; n];
            for unit in column(5, "rain", n) {
                assert!(unit > 0.0 && unit < 1.0);
                met[(unit * n as f64) as usize] += 1;
            }
            assert!(met.iter().all(|times| *times == 1));
        }
    }

    /// Columns of two inputs are not alike: their correlation is of the size of 1/√n.
    #[test]
    fn columns_are_independent() {
        let n = 4000;
        let (a, b) = (column(1, "rain", n), column(1, "runoff", n));
        let covariance: f64 = a.iter().zip(&b).map(|(a, b)| (a - 0.5) * (b - 0.5)).sum::<f64>();
        assert!((12.0 * covariance / n as f64).abs() < 4.0 / (n as f64).sqrt());
    }
}
