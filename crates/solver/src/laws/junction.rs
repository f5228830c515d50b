//! What a wye or tee costs where two streams join, by the share that comes from the branch.

use wetrun_network::JunctionKind;

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
