//! Exact bounds on a chance of which `k` cases were seen in `n`.

/// What both bounds together leave out: a twentieth, half on either side.
const LEFT_OUT: f64 = 0.05;

/// The bounds between which a chance lies at 95 % when `k` of `n` independent cases were seen.
///
/// Clopper and Pearson, *Biometrika* 26 (1934): below the lower one `k` or more, above the upper one
/// `k` or fewer would be seen in less than one fortieth of all runs. From a Latin design they are on
/// the cautious side.
pub(crate) fn bounds(k: usize, n: usize) -> (f64, f64) {
    let (seen, all) = (k as f64, n as f64);
    let half = 0.5 * LEFT_OUT;
    let low = if k == 0 { 0.0 } else { where_beta_is(seen, all - seen + 1.0, half) };
    let high = if k >= n { 1.0 } else { where_beta_is(seen + 1.0, all - seen, 1.0 - half) };
    (low, high)
}

/// Where the distribution of the beta law reaches a chance.
fn where_beta_is(a: f64, b: f64, chance: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if beta(a, b, middle) < chance { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// The distribution of the beta law: the regularised incomplete beta function, by its continued
/// fraction (Abramowitz and Stegun, *Handbook of mathematical functions*, 26.5.8).
fn beta(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 || x >= 1.0 {
        return if x <= 0.0 { 0.0 } else { 1.0 };
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - beta_below_its_mean(b, a, 1.0 - x);
    }
    beta_below_its_mean(a, b, x)
}

fn beta_below_its_mean(a: f64, b: f64, x: f64) -> f64 {
    let log_front = libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b)
        + a * libm::log(x)
        + b * libm::log1p(-x);
    libm::exp(log_front) * fraction(a, b, x) / a
}

/// The continued fraction by Lentz's way: numerators and denominators as they grow.
fn fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let guarded = |value: f64| if value.abs() < TINY { TINY } else { value };
    let mut c = 1.0;
    let mut d = 1.0 / guarded(1.0 - (a + b) * x / (a + 1.0));
    let mut value = d;
    for step in 1..10_000 {
        let m = f64::from(step);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / guarded(1.0 + even * d);
        c = guarded(1.0 + even / c);
        value *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / guarded(1.0 + odd * d);
        c = guarded(1.0 + odd / c);
        value *= d * c;
        if (d * c - 1.0).abs() < 1e-15 {
            break;
        }
    }
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    /// None seen in n: the upper bound solves (1 − p)ⁿ = 0.025; all seen: the mirror.
    #[test]
    fn the_ends_have_a_closed_form() {
        for n in [1_usize, 10, 300, 4096, 100_000] {
            let high = -libm::expm1(libm::log(0.025) / n as f64);
            let (low, found) = bounds(0, n);
            assert!(low == 0.0 && (found - high).abs() < 1e-9 * high, "{n}: {found} {high}");
            let (mirrored, one) = bounds(n, n);
            assert!(one == 1.0 && (mirrored - (1.0 - high)).abs() < 1e-9, "{n}");
        }
    }

    /// At each bound the tail of the binomial law, summed term by term, is 0.025.
    #[test]
    fn the_tails_are_those_of_the_sum() {
        let tail = |n: usize, p: f64, which: &dyn Fn(usize) -> bool| -> f64 {
            let log_term = |k: usize| {
                libm::lgamma(n as f64 + 1.0)
                    - libm::lgamma(k as f64 + 1.0)
                    - libm::lgamma((n - k) as f64 + 1.0)
                    + k as f64 * libm::log(p)
                    + (n - k) as f64 * libm::log1p(-p)
            };
            (0..=n).filter(|k| which(*k)).map(|k| libm::exp(log_term(k))).sum()
        };
        for (k, n) in [(1, 10), (5, 10), (3, 200), (23, 4096), (4000, 4096)] {
            let (low, high) = bounds(k, n);
            let (above, below) =
                (tail(n, low, &|seen| seen >= k), tail(n, high, &|seen| seen <= k));
            assert!((above - 0.025).abs() < 1e-9 && (below - 0.025).abs() < 1e-9, "{k} of {n}");
            assert!(low < k as f64 / n as f64 && high > k as f64 / n as f64);
        }
        // A table of the authors' intervals: 5 of 10 is 0.187 to 0.813 (from memory).
        let (low, high) = bounds(5, 10);
        assert!((low - 0.1871).abs() < 5e-5 && (high - 0.8129).abs() < 5e-5, "{low} {high}");
    }
}
