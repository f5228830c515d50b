//! The derivatives that the network's solver relies on against differences, and the far ends.
#![allow(clippy::disallowed_methods)]

use wetrun_network::JunctionKind;

use super::critical::{energy, flow_at_energy, overflow_flow, overflow_head};
use super::friction::{Friction, LAMINAR_TO, TURBULENT_FROM};
use super::junction::{branch_k, run_k};
use crate::scenario::FrictionLaw;

const LAWS: [FrictionLaw; 2] = [FrictionLaw::DarcyWeisbach, FrictionLaw::HazenWilliams];
const VISCOSITY_M2_PER_S: f64 = 1.30629e-6;

/// Central difference with a step relative to `x`.
fn difference(f: impl Fn(f64) -> f64, x: f64, step: f64) -> f64 {
    let h = step * x;
    (f(x + h) - f(x - h)) / (2.0 * h)
}

/// `count` points from `from` to `to`, evenly spaced in the logarithm.
fn spread(from: f64, to: f64, count: u16) -> impl Iterator<Item = f64> {
    let ratio = (to / from).ln();
    (0..count).map(move |i| from * (ratio * f64::from(i) / f64::from(count - 1)).exp())
}

fn off(found: f64, wanted: f64) -> f64 {
    (found / wanted - 1.0).abs()
}

#[test]
fn slope_of_the_head_line_has_the_derivative_it_states() {
    let mut worst = 0.0_f64;
    for law in LAWS {
        for roughness_m in [0.0, 1.5e-6, 1e-4, 5e-3] {
            let friction = Friction::new(law, 0.1, roughness_m, 150.0, VISCOSITY_M2_PER_S);
            for flow in spread(1e-7, 10.0, 3000) {
                let reynolds = friction.reynolds(flow);
                // The second derivative jumps where the laws meet; a difference must not straddle it.
                if off(reynolds, LAMINAR_TO) < 1e-4 || off(reynolds, TURBULENT_FROM) < 1e-4 {
                    continue;
                }
                let (_, derivative) = friction.slope(flow);
                worst = worst.max(off(difference(|q| friction.slope(q).0, flow, 1e-5), derivative));
            }
        }
    }
    assert!(worst < 1e-9, "{worst:e}");
}

#[test]
fn slope_and_its_derivative_are_continuous_where_the_laws_meet() {
    for roughness_m in [0.0, 1.5e-6, 1e-4, 5e-3] {
        let friction =
            Friction::new(FrictionLaw::DarcyWeisbach, 0.1, roughness_m, 150.0, VISCOSITY_M2_PER_S);
        for reynolds in [LAMINAR_TO, TURBULENT_FROM] {
            let flow = reynolds / friction.reynolds(1.0);
            let (below, d_below) = friction.slope(flow * (1.0 - 1e-12));
            let (above, d_above) = friction.slope(flow * (1.0 + 1e-12));
            assert!(off(below, above) < 1e-11, "{reynolds} {below} {above}");
            assert!(off(d_below, d_above) < 1e-10, "{reynolds} {d_below} {d_above}");
        }
    }
}

#[test]
fn slope_never_falls_as_the_flow_grows() {
    for law in LAWS {
        for roughness_m in [0.0, 1.5e-6, 1e-3, 5e-3, 0.05, 1.0] {
            let friction = Friction::new(law, 0.1, roughness_m, 150.0, VISCOSITY_M2_PER_S);
            let mut last = 0.0;
            for flow in spread(1e-12, 1e6, 20_000) {
                let (slope, derivative) = friction.slope(flow);
                assert!(slope > last && derivative > 0.0, "{law:?} {roughness_m} {flow:e}");
                last = slope;
            }
        }
    }
}

#[test]
fn critical_energy_and_overflow_have_the_derivatives_they_state() {
    let mut worst = 0.0_f64;
    for bore_m in [0.05, 0.1, 0.3] {
        for flow in spread(1e-9, 1.0, 600) {
            let stated = energy(bore_m, flow).d_energy_d_flow;
            worst = worst.max(off(difference(|q| energy(bore_m, q).energy_m, flow, 1e-5), stated));
            for k in [0.0, 0.5, 3.0] {
                let (head_m, stated) = overflow_head(bore_m, k, flow);
                let by_steps = difference(|q| overflow_head(bore_m, k, q).0, flow, 1e-5);
                worst = worst.max(off(by_steps, stated));
                let (back, inverse) = overflow_flow(bore_m, k, head_m);
                worst = worst.max(off(inverse * stated, 1.0)).max(off(back, flow));
            }
        }
    }
    assert!(worst < 1e-8, "{worst:e}");
}

#[test]
fn critical_flow_comes_back_from_its_energy() {
    let mut worst = 0.0_f64;
    for bore_m in [0.01, 0.1, 1.0] {
        for flow in spread(1e-90, 1e6, 4000) {
            let (back, _) = flow_at_energy(bore_m, energy(bore_m, flow).energy_m);
            worst = worst.max(off(back, flow));
        }
    }
    assert!(worst < 1e-13, "{worst:e}");
}

#[test]
fn combining_losses_have_the_derivatives_they_state() {
    for kind in [JunctionKind::Wye, JunctionKind::Tee] {
        for beta2 in [0.25, 0.35, 0.5625, 1.0] {
            for i in 1..400 {
                let q = f64::from(i) / 400.0;
                if (q - 0.4).abs() < 1e-5 || (q - 0.41).abs() < 1e-5 {
                    continue;
                }
                for law in [branch_k, run_k] {
                    let stated = law(kind, beta2, q).1;
                    let by_steps = difference(|x| law(kind, beta2, x).0, q, 1e-6);
                    assert!((by_steps - stated).abs() < 1e-7, "{kind:?} {beta2} {q}");
                }
            }
        }
    }
}

#[test]
fn nothing_is_lost_at_the_far_ends() {
    for law in LAWS {
        for roughness_m in [0.0, 1.5e-6, 0.1] {
            let friction = Friction::new(law, 0.1, roughness_m, 150.0, VISCOSITY_M2_PER_S);
            for flow in [0.0, 1e-300, 1e-30, 1.0, 1e6] {
                let (slope, derivative) = friction.slope(flow);
                assert!(slope.is_finite() && derivative.is_finite(), "{law:?} {flow:e}");
                assert!(slope >= 0.0 && derivative >= 0.0, "{law:?} {flow:e}");
            }
            assert_eq!(friction.slope(0.0).0, 0.0);
        }
    }
    for bore_m in [0.01, 0.1, 2.0] {
        let still = energy(bore_m, 0.0);
        assert_eq!((still.depth_m, still.energy_m, still.speed_m_per_s), (0.0, 0.0, 0.0));
        assert_eq!(still.d_energy_d_flow, f64::INFINITY);
        for flow in [5e-324, 1e-300, 1e-30, 1.0, 1e6] {
            let flowing = energy(bore_m, flow);
            assert!(flowing.energy_m > 0.0 && flowing.energy_m.is_finite(), "{flow:e}");
            assert!(flowing.depth_m > 0.0 && flowing.depth_m <= bore_m, "{flow:e}");
            assert!(flowing.d_energy_d_flow > 0.0 && !flowing.speed_m_per_s.is_nan(), "{flow:e}");
            let (head_m, derivative) = overflow_head(bore_m, 0.5, flow);
            assert!(head_m > 0.0 && derivative > 0.0, "{flow:e}");
        }
        for head_m in [-1.0, 0.0, 1e-300, 1e-99, 1.0, 1e12] {
            let (flow, derivative) = overflow_flow(bore_m, 0.5, head_m);
            assert!(flow >= 0.0 && flow.is_finite() && derivative >= 0.0, "{head_m:e}");
            assert!(derivative.is_finite(), "{head_m:e}");
        }
    }
}
