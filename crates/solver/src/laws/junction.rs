//! What a wye or tee costs where two streams join, by the share that comes from the branch.

use wetrun_network::JunctionKind;
use wetrun_units::{Fraction, Length};

use super::Caution;

/// Loss coefficient of the branch where two streams join.
///
/// # Equation
/// `K = C [1 + (q/β²)² − 2(1 − q)² − (F/β²) q²]` on the velocity head of the combined stream;
/// `β` = branch bore ÷ combined bore, `F` = 1.41 (wye, 45°) or 0 (tee, 90°); `C` = 1 where
/// β² ≤ 0.35, else 0.9(1 − q) up to q = 0.4 and 0.55 beyond. The source's step of `C` from 0.54
/// to 0.55 at 0.4 is a ramp to 0.41 here, so that the loss has no jump.
/// # Arguments
/// * `kind`: wye or tee.
/// * `branch_bore`, `combined_bore`: above 0.
/// * `share`: `q`, the branch's part of the combined flow.
/// # Returns
/// The coefficient. It is *negative* at a small share: the faster run drags the branch along.
/// # Valid for
/// Shares of 0 to 1 ([`range`]); outside, that of the nearer end. Other published relations
/// differ by about ±0.2.
/// # Source
/// Crane Co., *Technical Paper 410*, combining tees and wyes, by way of the documentation of the
/// library `fluids`. The bracket is momentum theory (`F` = 2 cos θ, rounded), `C` is measured.
/// # Example
/// Equal bores, a quarter from a 90° branch (example 7-35 of the source): −0.042.
/// ```
/// # use wetrun_network::JunctionKind;
/// # use wetrun_solver::laws::junction;
/// # use wetrun_units::{Fraction, Length};
/// let bore = Length::m(0.10226);
/// let k = junction::branch_coefficient(JunctionKind::Tee, bore, bore, Fraction::ratio(0.25));
/// assert!((k - -0.0421875).abs() < 1e-9);
/// ```
pub fn branch_coefficient(
    kind: JunctionKind,
    branch_bore: Length,
    combined_bore: Length,
    share: Fraction,
) -> f64 {
    branch_k(kind, beta2(branch_bore, combined_bore), share.to_ratio()).0
}

/// Loss coefficient of the straight run where two streams join.
///
/// # Equation
/// Tee: `K = 1.55 q − q²`. Wye: `K = 1 − (1 − q)² − (F/β²) q²`. On the velocity head of the
/// combined stream, the letters as in [`branch_coefficient`].
/// # Arguments
/// As [`branch_coefficient`].
/// # Returns
/// The coefficient. A wye's is negative at a large share from a small branch.
/// # Valid for
/// As [`branch_coefficient`].
/// # Source
/// As [`branch_coefficient`].
/// # Example
/// A quarter from a 90° branch (example 7-35 of the source): 0.325.
/// ```
/// # use wetrun_network::JunctionKind;
/// # use wetrun_solver::laws::junction;
/// # use wetrun_units::{Fraction, Length};
/// let bore = Length::m(0.10226);
/// let k = junction::run_coefficient(JunctionKind::Tee, bore, bore, Fraction::ratio(0.25));
/// assert!((k - 0.325).abs() < 1e-12);
/// ```
pub fn run_coefficient(
    kind: JunctionKind,
    branch_bore: Length,
    combined_bore: Length,
    share: Fraction,
) -> f64 {
    run_k(kind, beta2(branch_bore, combined_bore), share.to_ratio()).0
}

/// Says when a share is none that a combining flow has.
pub fn range(share: Fraction) -> Option<Caution> {
    let share = share.to_ratio();
    (!(0.0..=1.0).contains(&share)).then_some(Caution::BranchShare { share })
}

fn beta2(branch_bore: Length, combined_bore: Length) -> f64 {
    let beta = branch_bore.to_m() / combined_bore.to_m();
    beta * beta
}

/// Loss coefficient of the branch on the combined velocity head, and its derivative by the
/// branch's share `q`. `beta2` is the square of branch bore ÷ combined bore. Outside 0..1 the
/// share is taken as its nearer end.
pub(crate) fn branch_k(kind: JunctionKind, beta2: f64, q: f64) -> (f64, f64) {
    let (q, inside) = held(q);
    let f = angle_factor(kind) / beta2;
    let bracket = 1.0 + q * q / (beta2 * beta2) - 2.0 * (1.0 - q) * (1.0 - q) - f * q * q;
    let d_bracket = 2.0 * q / (beta2 * beta2) + 4.0 * (1.0 - q) - 2.0 * f * q;
    let (c, d_c) = if beta2 <= 0.35 { (1.0, 0.0) } else { empirical_factor(q) };
    (c * bracket, inside * (d_c * bracket + c * d_bracket))
}

/// Loss coefficient of the run on the combined velocity head, and its derivative by `q`.
pub(crate) fn run_k(kind: JunctionKind, beta2: f64, q: f64) -> (f64, f64) {
    let (q, inside) = held(q);
    match kind {
        JunctionKind::Tee => (1.55 * q - q * q, inside * (1.55 - 2.0 * q)),
        JunctionKind::Wye => {
            let f = angle_factor(kind) / beta2;
            let k = 1.0 - (1.0 - q) * (1.0 - q) - f * q * q;
            (k, inside * (2.0 * (1.0 - q) - 2.0 * f * q))
        }
    }
}

/// The share held to 0..1, and 1 inside that range, 0 outside it.
fn held(q: f64) -> (f64, f64) {
    if (0.0..=1.0).contains(&q) { (q, 1.0) } else { (q.clamp(0.0, 1.0), 0.0) }
}

/// Twice the cosine of the branch's angle, rounded as the source rounds it.
fn angle_factor(kind: JunctionKind) -> f64 {
    match kind {
        JunctionKind::Wye => 1.41,
        JunctionKind::Tee => 0.0,
    }
}

/// The source's factor C for large branches, and its derivative. The source steps from 0.54 to
/// 0.55 at a share of 0.4; here the step is a ramp from 0.40 to 0.41, so that a solver meets no
/// jump.
fn empirical_factor(q: f64) -> (f64, f64) {
    if q <= 0.40 {
        (0.9 * (1.0 - q), -0.9)
    } else if q < 0.41 {
        (0.54 + (q - 0.40), 1.0)
    } else {
        (0.55, 0.0)
    }
}
