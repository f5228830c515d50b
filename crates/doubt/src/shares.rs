//! What the variance of a result is owed to: for each input what it alone explains, and what would
//! be left if it alone were not known.
//!
//! *First order* is read from the samples themselves: the result is fitted by a sum of polynomials,
//! one of each input, and the variance of an input's polynomial, less what a fit of mere noise would
//! have, is its share. *Total* adds what the input does together with others: at some of the samples
//! it alone is drawn anew, and half the mean square of that part of the change which its polynomial
//! does not tell comes on top (Jansen, *Computer Physics Communications* 117 (1999)), measured by what
//! the whole fit leaves open there and everywhere. So both draw on one set of samples and about as
//! many solves again, whatever the number of inputs, and where nothing acts together the total has no
//! noise of its own.

use crate::latin;
use crate::law::Law;
use crate::parallel;

/// An input's shares of the variance.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Share {
    pub(crate) first: f64,
    pub(crate) total: f64,
}

/// An input as the samples draw it.
pub(crate) struct Column<'a> {
    pub(crate) name: &'a str,
    pub(crate) law: Law,
}

/// Polynomials of no higher degree.
const MOST_DEGREE: usize = 10;
/// So many samples for every coefficient, at the least.
const SAMPLES_A_COEFFICIENT: usize = 10;
const MOST_SWEEPS: usize = 30;
/// Samples at which an input is drawn anew.
const REDRAWN: std::ops::RangeInclusive<usize> = 16..=1024;

/// The shares of each input. `samples` are standard normal numbers, sample by sample, `results` what
/// came of them, and `run` gives it for others; `None` where there is no result.
pub(crate) fn shares(
    inputs: &[Column<'_>],
    samples: &[Vec<f64>],
    results: &[f64],
    run: impl Fn(&[f64]) -> Option<f64> + Sync,
    (seed, threads): (u64, usize),
) -> Vec<Share> {
    let n = results.len();
    let mean = results.iter().sum::<f64>() / n.max(1) as f64;
    let variance = results.iter().map(|y| (y - mean) * (y - mean)).sum::<f64>() / n.max(1) as f64;
    if n < 4 || inputs.is_empty() || variance <= f64::EPSILON * mean * mean {
        return vec![Share::default(); inputs.len()];
    }
    let fits = fit(inputs, samples, results, mean);
    let again = (n / inputs.len()).clamp(*REDRAWN.start(), *REDRAWN.end()).min(n);
    let redrawn: Vec<Vec<f64>> = inputs
        .iter()
        .map(|input| latin::column(seed, &format!("{} again", input.name), again))
        .collect();
    // One task for each input and sample, so that threads share them evenly.
    let beyond = parallel::each(inputs.len() * again, threads, |task| {
        let (input, sample) = (task / again, task % again);
        let law = inputs[input].law;
        let mut moved = samples[sample].clone();
        moved[input] = law.drawn(redrawn[input][sample]);
        let by = run(&moved)? - results[sample];
        let fit = &fits.of[input];
        let alone = fit.at(law.value(moved[input])) - fit.at(law.value(samples[sample][input]));
        Some((fits.left[sample], by - alone))
    });
    let open = dot(&fits.left, &fits.left);
    let each = fits.of.iter().zip(beyond.chunks(again)).map(|(fit, beyond)| {
        let found = || beyond.iter().flatten();
        let by: f64 = found().map(|(_, by)| 0.5 * by * by).sum();
        let here = found().map(|(left, by)| 0.5 * (left * left + (left + by) * (left + by)));
        let here: f64 = here.sum();
        let together = if here > 0.0 { open * by / here } else { 0.0 };
        let explained: f64 = fit.coefficients.iter().map(|c| c * c).sum();
        let noise = fit.coefficients.len() as f64 * fits.noise;
        let first = ((explained - noise) / variance).clamp(0.0, 1.0);
        Share { first, total: ((explained + together) / variance).min(1.0).max(first) }
    });
    each.collect()
}

/// One polynomial for each input, and the variance that a coefficient of mere noise would have.
struct Fits {
    of: Vec<Polynomial>,
    noise: f64,
    /// What they leave open of each result.
    left: Vec<f64>,
}

/// A polynomial of one input, by polynomials that are orthogonal over the samples.
struct Polynomial {
    /// Of degree 1 and up.
    coefficients: Vec<f64>,
    /// How each of them follows from the lower ones: row by row, with the divisor at its end.
    recurrence: Vec<Vec<f64>>,
}

impl Polynomial {
    fn at(&self, x: f64) -> f64 {
        let mut values = vec![1.0];
        for row in &self.recurrence {
            let mut next = x * values.last().copied().unwrap_or(1.0);
            for (value, by) in values.iter().zip(row) {
                next -= by * value;
            }
            values.push(next / row.last().copied().unwrap_or(1.0));
        }
        self.coefficients.iter().zip(&values[1..]).map(|(c, value)| c * value).sum()
    }
}

fn fit(inputs: &[Column<'_>], samples: &[Vec<f64>], results: &[f64], mean: f64) -> Fits {
    let n = results.len();
    let degree = (n / (SAMPLES_A_COEFFICIENT * inputs.len())).clamp(1, MOST_DEGREE);
    let bases: Vec<Basis> = (0..inputs.len())
        .map(|i| Basis::new(samples.iter().map(|z| inputs[i].law.value(z[i])).collect(), degree))
        .collect();
    let mut left: Vec<f64> = results.iter().map(|y| y - mean).collect();
    let mut coefficients: Vec<Vec<f64>> =
        bases.iter().map(|b| vec![0.0; b.columns.len()]).collect();
    let scale = dot(&left, &left).sqrt();
    // All inputs are fitted at once, by turns: what one explains is no noise to the others. With too
    // few samples for that each is fitted by itself.
    let together = 3 * inputs.len() * degree < n;
    if together {
        for _ in 0..MOST_SWEEPS {
            let mut moved: f64 = 0.0;
            for (basis, coefficients) in bases.iter().zip(&mut coefficients) {
                for (column, coefficient) in basis.columns.iter().zip(coefficients) {
                    let by = dot(&left, column);
                    *coefficient += by;
                    left.iter_mut().zip(column).for_each(|(left, value)| *left -= by * value);
                    moved = moved.max(by.abs());
                }
            }
            if moved <= 1e-9 * scale {
                break;
            }
        }
    } else {
        for (basis, coefficients) in bases.iter().zip(&mut coefficients) {
            for (column, coefficient) in basis.columns.iter().zip(coefficients) {
                *coefficient = dot(&left, column);
            }
        }
        // What each one leaves open holds what the others explain: all that is not told is open.
    }
    let used = if together { coefficients.iter().map(Vec::len).sum::<usize>() + 1 } else { 1 };
    let noise = dot(&left, &left) / n.saturating_sub(used).max(1) as f64;
    let of = bases.into_iter().zip(coefficients);
    let of =
        of.map(|(basis, coefficients)| Polynomial { coefficients, recurrence: basis.recurrence });
    Fits { of: of.collect(), noise, left }
}

/// The mean of a product over the samples.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>() / a.len().max(1) as f64
}

/// Polynomials of an input that are orthogonal over its samples, each of mean square 1.
struct Basis {
    columns: Vec<Vec<f64>>,
    recurrence: Vec<Vec<f64>>,
}

impl Basis {
    /// By Arnoldi's way: each is the last one times the input, less what the lower ones know of it.
    fn new(values: Vec<f64>, degree: usize) -> Self {
        let mut columns = vec![vec![1.0; values.len()]];
        let mut recurrence = Vec::with_capacity(degree);
        for _ in 0..degree {
            let last = columns.last().map_or(&[][..], |last| last);
            let mut next: Vec<f64> = last.iter().zip(&values).map(|(a, b)| a * b).collect();
            let before = dot(&next, &next).sqrt();
            let mut row = vec![0.0; columns.len()];
            for _ in 0..2 {
                for (column, by) in columns.iter().zip(&mut row) {
                    let part = dot(&next, column);
                    *by += part;
                    next.iter_mut().zip(column).for_each(|(next, value)| *next -= part * value);
                }
            }
            let size = dot(&next, &next).sqrt();
            if size <= 1e-8 * before {
                break; // as many polynomials as there are different values
            }
            next.iter_mut().for_each(|value| *value /= size);
            row.push(size);
            recurrence.push(row);
            columns.push(next);
        }
        columns.remove(0);
        Self { columns, recurrence }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn sampled(inputs: &[Column<'_>], n: usize, seed: u64) -> Vec<Vec<f64>> {
        let columns: Vec<Vec<f64>> =
            inputs.iter().map(|i| latin::column(seed, i.name, n)).collect();
        let of = |j: usize| inputs.iter().zip(&columns).map(|(i, c)| i.law.drawn(c[j])).collect();
        (0..n).map(of).collect()
    }

    fn of(inputs: &[Column<'_>], seed: u64, f: impl Fn(&[f64]) -> f64 + Sync) -> Vec<Share> {
        let samples = sampled(inputs, 4096, seed);
        let results: Vec<f64> = samples.iter().map(|z| f(z)).collect();
        shares(inputs, &samples, &results, |z| Some(f(z)), (seed, 2))
    }

    /// Ishigami's function, `sin x1 + 7 sin² x2 + 0.1 x3⁴ sin x1` on (−π, π)³, whose shares have a
    /// closed form (Saltelli and others, *Sensitivity analysis*, 2000; worked out again here).
    #[test]
    fn ishigamis_shares() {
        let (a, b) = (7.0, 0.1);
        let fourth = |x: f64| x * x * x * x;
        let first_1 = 1.0 + b * fourth(PI) / 5.0;
        let first_1 = 0.5 * first_1 * first_1;
        let first_2 = a * a / 8.0;
        let both = b * b * fourth(PI) * fourth(PI) * (1.0 / 18.0 - 1.0 / 50.0);
        let all = first_1 + first_2 + both;
        let known = [
            (first_1 / all, (first_1 + both) / all),
            (first_2 / all, first_2 / all),
            (0.0, both / all),
        ];
        let inputs = ["x1", "x2", "x3"].map(|name| Column { name, law: Law::Even });
        for seed in 1..=5 {
            let found = of(&inputs, seed, |z| {
                let x: Vec<f64> = z.iter().map(|z| PI * Law::Even.value(*z)).collect();
                let (s1, s2) = (libm::sin(x[0]), libm::sin(x[1]));
                s1 + a * s2 * s2 + b * fourth(x[2]) * s1
            });
            for (share, (first, total)) in found.iter().zip(known) {
                assert!((share.first - first).abs() < 0.02, "{seed}: {found:?} {known:?}");
                assert!((share.total - total).abs() < 0.03, "{seed}: {found:?} {known:?}");
            }
        }
    }

    /// A sum of inputs of different laws: shares are those of the variances, first and total alike,
    /// and to far less than one in the root of the samples.
    #[test]
    fn a_sum_has_the_shares_of_its_parts() {
        let inputs = [
            Column { name: "normal", law: Law::Normal },
            Column { name: "even", law: Law::Even },
            Column { name: "filling", law: Law::Filling },
            Column { name: "nothing", law: Law::Normal },
        ];
        let found = of(&inputs, 3, |z| {
            2.0 * z[0] + 3.0 * Law::Even.value(z[1]) - 4.0 * Law::Filling.value(z[2])
        });
        // A normal law cut at three: 1 − 2·3 φ(3)/(2Φ(3) − 1), φ(3) = 0.004431848, Φ(3) = 0.998650102.
        let cut = 1.0 - 6.0 * 0.004_431_848 / (2.0 * 0.998_650_102 - 1.0);
        let parts = [4.0 * cut, 9.0 / 3.0, 16.0 / 12.0, 0.0];
        let all: f64 = parts.iter().sum();
        for (share, part) in found.iter().zip(parts) {
            assert!((share.first - part / all).abs() < 0.01, "{found:?}");
            assert!((share.total - share.first).abs() < 1e-3, "{found:?}");
        }
        assert!(found[3].total < 1e-3);
    }

    /// A product of two: nothing by itself, all of it together. By hand the redrawn half mean square
    /// has a standard deviation of 1.34/√1024 of itself, 0.042: three of them.
    #[test]
    fn a_product_is_owed_to_both_together() {
        let inputs = ["a", "b"].map(|name| Column { name, law: Law::Even });
        let found = of(&inputs, 9, |z| Law::Even.value(z[0]) * Law::Even.value(z[1]));
        for share in found {
            assert!(share.first < 0.01 && (share.total - 1.0).abs() < 0.126, "{share:?}");
        }
    }
}
