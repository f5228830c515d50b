//! Combining losses of a tee and a wye.

use wetrun_network::JunctionKind::{self, Tee, Wye};
use wetrun_solver::laws::{Caution, head_loss, junction};
use wetrun_units::{Flow, Fraction, Length};

use crate::printed::agrees;

fn coefficients(kind: JunctionKind, beta: f64, share: f64) -> (f64, f64) {
    let (branch, combined) = (Length::m(0.1 * beta), Length::m(0.1));
    let share = Fraction::ratio(share);
    (
        junction::branch_coefficient(kind, branch, combined, share),
        junction::run_coefficient(kind, branch, combined, share),
    )
}

/// The table of §3.3, branch and run. Library (`K_branch_converging_Crane`,
/// `K_run_converging_Crane`). The row at 0.41 is the far end of our ramp.
#[test]
fn crane() {
    for (kind, beta, share, branch, run) in [
        (Tee, 1.0, 0.1, "-0.494100", "0.145000"),
        (Tee, 1.0, 0.2, "-0.172800", "0.270000"),
        (Tee, 1.0, 0.3, "0.0693000", "0.375000"),
        (Tee, 1.0, 0.4, "0.237600", "0.460000"),
        (Tee, 1.0, 0.41, "0.259545", "0.467400"),
        (Tee, 1.0, 0.5, "0.412500", "0.525000"),
        (Tee, 1.0, 0.7, "0.720500", "0.595000"),
        (Tee, 1.0, 1.0, "1.10000", "0.550000"),
        (Wye, 1.0, 0.1, "-0.505521", "0.175900"),
        (Wye, 1.0, 0.3, "-0.0106470", "0.383100"),
        (Wye, 1.0, 0.5, "0.218625", "0.397500"),
        (Wye, 1.0, 0.7, "0.340505", "0.219100"),
        (Wye, 1.0, 0.9, "0.356345", "-0.152100"),
        (Wye, 1.0, 1.0, "0.324500", "-0.410000"),
        (Tee, 0.75, 0.2, "-0.110578", "0.27"),
        (Tee, 0.75, 0.5, "0.709568", "0.525"),
        (Tee, 0.75, 0.8, "1.61849", "0.6"),
        (Wye, 0.75, 0.2, "-0.182770", "0.259733"),
        (Wye, 0.75, 0.5, "0.364901", "0.123333"),
        (Wye, 0.75, 0.8, "0.736147", "-0.644267"),
        (Tee, 0.5, 0.2, "0.36", "0.27"),
        (Tee, 0.5, 0.5, "4.5", "0.525"),
        (Tee, 0.5, 0.8, "11.16", "0.6"),
        (Wye, 0.5, 0.2, "0.1344", "0.1344"),
        (Wye, 0.5, 0.5, "3.09", "-0.66"),
        (Wye, 0.5, 0.8, "7.5504", "-2.6496"),
    ] {
        let row = format!("{kind:?} β {beta} q {share}");
        let found = coefficients(kind, beta, share);
        agrees(&row, found.0, branch);
        agrees(&row, found.1, run);
    }
}

/// Crane, *Technical Paper 410*, example 7-35 (read in the library's documentation): 4 in
/// schedule 40, 300 gal/min straight and 100 from a 90° branch. The book prints −0.0422 and 0.325,
/// −0.0666 ft and 0.513 ft.
#[test]
fn published_tee() {
    let (branch, run) = coefficients(Tee, 1.0, 0.25);
    agrees("7-35 branch", branch, "-0.0422");
    agrees("7-35 run", run, "0.325");
    let flow = Flow::m3_per_s(400.0 * 3.785_411_784e-3 / 60.0);
    let speed = head_loss::full_speed(flow, Length::m(4.026 * 0.0254));
    agrees("7-35 speed", speed.to_m_per_s() / 0.3048, "10.08");
    agrees("7-35 branch", head_loss::fitting(branch, speed).to_m() / 0.3048, "-0.0666");
    agrees("7-35 run", head_loss::fitting(run, speed).to_m() / 0.3048, "0.513");
}

/// A junction gives no power to the water: q K_b + (1 − q) K_r is above 0 though one K may be
/// below (thermodynamics; four values derived).
#[test]
fn junctions_take_power() {
    let lost = |kind, beta, q| {
        let (branch, run) = coefficients(kind, beta, q);
        q * branch + (1.0 - q) * run
    };
    agrees("power, tee 0.1", lost(Tee, 1.0, 0.1), "0.08109");
    agrees("power, wye 0.1", lost(Wye, 1.0, 0.1), "0.10776");
    agrees("power, wye 0.9", lost(Wye, 1.0, 0.9), "0.30550");
    agrees("power, wye 0.8", lost(Wye, 0.5, 0.8), "5.5104");
    for kind in [Tee, Wye] {
        for beta in [0.3, 0.4, 0.5, 0.59, 0.6, 0.7, 0.75, 0.8, 0.9, 1.0] {
            for i in 1..=1000 {
                let q = f64::from(i) / 1000.0;
                let power = lost(kind, beta, q);
                assert!(power > 0.0, "{kind:?} β {beta} q {q}: {power}");
            }
        }
    }
}

/// The source's factor steps by 0.01 at q = 0.4 (0.54 to 0.55); ours has no jump anywhere.
#[test]
fn no_jump() {
    for kind in [Tee, Wye] {
        for beta in [0.5, 0.75, 1.0] {
            let mut last = coefficients(kind, beta, 0.0);
            for i in 1..=100_000 {
                let next = coefficients(kind, beta, f64::from(i) / 100_000.0);
                assert!((next.0 - last.0).abs() < 1e-3 && (next.1 - last.1).abs() < 1e-3);
                last = next;
            }
        }
    }
}

/// Whatever flows, and whatever part of it leaves by an opening at the point, the heads follow the
/// flows without a jump: along straight ways between any two flows, through every turn of a stream.
#[test]
fn no_jump_where_streams_turn_or_leave() {
    let flows = [-2.0, -1.0, -0.25, 0.0, 0.25, 1.0, 2.0];
    let mut states = Vec::new();
    for branch in flows {
        for one in flows {
            for escapes in [0.0, 0.5, 2.0] {
                states.push([branch, one, escapes - branch - one]);
            }
        }
    }
    let bores = [0.1, 0.15, 0.075].map(Length::m);
    for kind in [Tee, Wye] {
        let heads = |from: &[f64; 3], to: &[f64; 3], share: f64| {
            let at = |leg: usize| 1e-2 * (from[leg] + share * (to[leg] - from[leg]));
            junction::offsets(kind, bores, [0, 1, 2].map(|leg| Flow::m3_per_s(at(leg))))
        };
        for from in states.iter().step_by(5) {
            for to in states.iter().step_by(3) {
                let steps = 1000;
                // A head of some 30 m changes by less in a step; a stream that turns would jump by more.
                let most_m = 0.1;
                let mut last = heads(from, to, 0.0);
                for step in 1..=steps {
                    let next = heads(from, to, f64::from(step) / f64::from(steps));
                    for (next, last) in next.iter().zip(&last) {
                        let jump = (*next - *last).abs().to_m();
                        assert!(jump <= most_m, "{kind:?} {from:?} {to:?} {step}: {jump} m");
                    }
                    last = next;
                }
            }
        }
    }
}

#[test]
fn range() {
    assert_eq!(junction::range(Fraction::ratio(0.0)), None);
    assert_eq!(junction::range(Fraction::ratio(1.0)), None);
    let over = junction::range(Fraction::ratio(1.25));
    assert_eq!(over, Some(Caution::BranchShare { share: 1.25 }));
    assert_eq!(coefficients(Tee, 1.0, 1.25), coefficients(Tee, 1.0, 1.0));
}
