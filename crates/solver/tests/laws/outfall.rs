//! Critical flow in a round bore, and the overflow.

use wetrun_solver::laws::outfall;
use wetrun_units::{Flow, Length};

use crate::printed::{G_RATIO, agrees};

/// A flow worked with g = 9.81 in the section where ours has the same Q²/g.
fn with_their_gravity(flow: f64) -> Flow {
    Flow::m3_per_s(flow * G_RATIO.sqrt())
}

/// O1 to O12. Derived (`scipy.optimize.brentq` on Q² T = g A³).
#[test]
fn critical_depth_speed_and_energy() {
    for (row, bore_m, flow, depth_m, filled, speed, energy_m) in [
        ("O1", 0.05, 0.0005, "0.0270260", "0.540520", "0.461707", "0.0378911"),
        ("O2", 0.075, 0.002, "0.0492280", "0.656373", "0.650623", "0.0708035"),
        ("O3", 0.10, 0.001, "0.0314492", "0.314492", "0.472726", "0.0428390"),
        ("O4", 0.10, 0.003, "0.0557445", "0.557445", "0.666641", "0.0783954"),
        ("O5", 0.10, 0.005, "0.0725607", "0.725607", "0.819138", "0.106760"),
        ("O6", 0.10, 0.008, "0.0892131", "0.892131", "1.08149", "0.148827"),
        ("O7", 0.10, 0.010, "0.0947266", "0.947266", "1.29953", "0.180801"),
        ("O8", 0.15, 0.005, "0.0642755", "0.428504", "0.691318", "0.0886344"),
        ("O9", 0.15, 0.010, "0.0923539", "0.615693", "0.876010", "0.131467"),
        ("O10", 0.15, 0.020, "0.129110", "0.860735", "1.23616", "0.206994"),
        ("O11", 0.20, 0.020, "0.121479", "0.607394", "1.00148", "0.172598"),
        ("O12", 0.30, 0.050, "0.173188", "0.577292", "1.18283", "0.244497"),
    ] {
        let (bore, flow) = (Length::m(bore_m), with_their_gravity(flow));
        let depth = outfall::critical_depth(flow, bore).to_m();
        agrees(row, depth, depth_m);
        agrees(row, depth / bore_m, filled);
        let found = outfall::critical_speed(flow, bore).to_m_per_s();
        agrees(row, found / G_RATIO.sqrt(), speed);
        agrees(row, outfall::critical_energy(flow, bore).to_m(), energy_m);
    }
}

/// The curve that all round bores share: Q/√(g D⁵), y/D and E/D. Derived.
#[test]
fn universal_curve() {
    for (filled, flow, energy) in [
        ("0.1", 0.010_668_8, "0.134063"),
        ("0.2", 0.041_807_7, "0.269890"),
        ("0.3", 0.092_147_1, "0.408110"),
        ("0.4", 0.160_530, "0.549710"),
        ("0.5", 0.246_088, "0.696350"),
        ("0.6", 0.348_672, "0.851087"),
        ("0.7", 0.470_048, "1.02036"),
        ("0.8", 0.618_064, "1.22098"),
        ("0.9", 0.829_357, "1.52044"),
        ("0.95", 1.02483, "1.83407"),
    ] {
        let one = Length::m(1.0);
        let flow = Flow::m3_per_s(flow * 9.80665_f64.sqrt());
        let wanted: f64 = filled.parse().expect("a number");
        let depth = outfall::critical_depth(flow, one).to_m();
        // The flow is printed with six digits, and so is all that follows from it.
        assert!((depth / wanted - 1.0).abs() < 5e-6, "y/D {filled}: {depth}");
        let wanted: f64 = energy.parse().expect("a number");
        let found = outfall::critical_energy(flow, one).to_m();
        assert!((found / wanted - 1.0).abs() < 5e-6, "E/D at {filled}: {found}");
    }
}

/// Level overflow pipes with an entrance loss of 0.5, heights in m, flows in L/s at g = 9.81.
/// Derived. A 100 mm overflow needs 0.10 m for 3.6 L/s.
#[test]
fn overflow() {
    for (bore_m, head_m, l_per_s) in [
        (0.10, 0.03, "0.401552"),
        (0.10, 0.05, "1.05694"),
        (0.10, 0.075, "2.20403"),
        (0.10, 0.10, "3.58912"),
        (0.09, 0.03, "0.377685"),
        (0.09, 0.05, "0.986789"),
        (0.09, 0.075, "2.03353"),
        (0.09, 0.10, "3.26064"),
        (0.15, 0.05, "1.35441"),
        (0.15, 0.10, "4.92792"),
        (0.15, 0.15, "9.89044"),
    ] {
        let (bore, head) = (Length::m(bore_m), Length::m(head_m));
        let flow = outfall::overflow_flow(head, bore, 0.5);
        let row = format!("overflow {bore_m} m, {head_m} m");
        agrees(&row, flow.to_m3_per_s() * 1e3 / G_RATIO.sqrt(), l_per_s);
        let back_m = outfall::overflow_head(flow, bore, 0.5).to_m();
        assert!((back_m / head_m - 1.0).abs() < 1e-13, "{row}: {back_m}");
    }
}

/// As the pipe runs full the energy tends to bore + V²/2g, from below: critical energy is the
/// least there is.
#[test]
fn running_full() {
    let bore = Length::m(0.1);
    let mut last = f64::INFINITY;
    for flow in [0.01, 0.02, 0.05, 0.1, 0.2] {
        let full_speed = flow / (std::f64::consts::FRAC_PI_4 * 0.01);
        let full_m = 0.1 + full_speed * full_speed / (2.0 * 9.80665);
        let short = 1.0 - outfall::critical_energy(Flow::m3_per_s(flow), bore).to_m() / full_m;
        assert!(short >= 0.0 && short < 0.1 * last, "{flow}: {short:e}");
        last = short;
    }
    assert!(last < 1e-9, "{last:e}");
}
