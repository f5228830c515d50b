//! The standard normal law.

use std::f64::consts::{FRAC_1_SQRT_2, TAU};

/// The chance of a standard normal number below `z`.
///
/// # Equation
/// `Φ(z) = erfc(−z/√2) / 2`.
pub(crate) fn below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

/// The number below which a standard normal one lies with this chance, between 0 and 1.
///
/// Started from Hastings' approximation (Abramowitz and Stegun, *Handbook of mathematical
/// functions*, 26.2.23, good to 4.5e-4), then Halley's steps on [`below`].
pub(crate) fn quantile(chance: f64) -> f64 {
    // The lower half keeps its digits; the upper is its mirror.
    let upper = chance > 0.5;
    let tail = if upper { 1.0 - chance } else { chance };
    if tail <= 0.0 {
        return if upper { f64::INFINITY } else { f64::NEG_INFINITY };
    }
    let t = libm::sqrt(-2.0 * libm::log(tail));
    let over = 2.515517 + t * (0.802853 + t * 0.010328);
    let under = 1.0 + t * (1.432788 + t * (0.189269 + t * 0.001308));
    let mut z = over / under - t;
    for _ in 0..3 {
        let density = libm::exp(-0.5 * z * z) / libm::sqrt(TAU);
        let miss = (below(z) - tail) / density;
        z -= miss / (1.0 + 0.5 * z * miss);
    }
    if upper { -z } else { z }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Percentage points of the normal law, as every table of it has them to six places.
    #[test]
    fn quantiles_are_those_of_the_tables() {
        for (chance, z) in [
            (0.5, 0.0),
            (0.9, 1.281_552),
            (0.95, 1.644_854),
            (0.975, 1.959_964),
            (0.99, 2.326_348),
            (0.999, 3.090_232),
            (0.025, -1.959_964),
        ] {
            assert!((quantile(chance) - z).abs() < 6e-7, "{chance}: {}", quantile(chance));
        }
        // One in a billion lies beyond 5.997807 (a table of tail areas).
        assert!((quantile(1e-9) + 5.997_807).abs() < 1e-6);
    }

    #[test]
    fn a_quantile_has_the_chance_it_was_asked_for() {
        for z in [-7.0, -3.0, -1.0, -1e-3, 0.0, 0.3, 2.0, 4.0] {
            let back = quantile(below(z));
            assert!((back - z).abs() < 1e-9, "{z}: {back}");
        }
    }
}
