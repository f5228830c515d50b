//! The one tolerance: no combination within it fails, and the worst one fails just outside it.

use crate::sites::{any, count};
use crate::support::random::Dice;
use wetrun_design::levels::{Drawn, SetPoint, schedule};
use wetrun_units::{Length, UnitSystem};

/// Openings do harm low, all else high.
fn worst_low(set_point: &SetPoint) -> bool {
    matches!(set_point, SetPoint::Opening(_) | SetPoint::Vent(_) | SetPoint::Cap(_))
}

fn with(drawn: &Drawn, moves_m: &[(SetPoint, f64)]) -> Option<bool> {
    let moves: Vec<_> =
        moves_m.iter().map(|(s, move_m)| (*s, drawn.level(*s) + Length::m(*move_m))).collect();
    Some(drawn.with(&moves).ok()?.state().ok()?.passes())
}

#[test]
fn no_combination_within_the_tolerance_fails() {
    let (mut sites, mut unsolved, mut seed) = (0_u64, 0_u64, 5000);
    while sites < count(30, 200) {
        seed += 1;
        let Some(drawn) = any(seed) else { continue };
        let Ok(schedule) = schedule(&drawn, &[], UnitSystem::Si) else {
            unsolved += 1;
            continue;
        };
        let Some(tolerance) = schedule.tolerance_all else { continue };
        sites += 1;
        let t_m = tolerance.to_m();
        let set_points = drawn.set_points();
        let mut dice = Dice::cold(seed);
        for round in 0..count(60, 1000) {
            // Corners and inner points in turn.
            let moves: Vec<(SetPoint, f64)> = set_points
                .iter()
                .map(|s| {
                    let part = dice.between(-1.0, 1.0);
                    (*s, t_m * if round % 2 == 0 { part.signum() } else { part })
                })
                .collect();
            let odd: Vec<_> = (moves.iter()).filter(|(s, m)| worst_low(s) != (*m < 0.0)).collect();
            assert_ne!(
                with(&drawn, &moves),
                Some(false),
                "seed {seed} round {round}, ± {t_m}; not as in the usual corner: {odd:?}"
            );
        }
    }
    assert!(unsolved * 50 <= sites, "no steady state beside {unsolved} of {sites}");
}

/// Half a millimetre outside, some corner fails: one with openings low and all else high, but
/// for single levels on their other side (a low foot makes its own downspout longer).
#[test]
fn the_worst_corner_fails_just_outside() {
    let (mut sites, mut unsolved, mut failed, mut seed) = (0_u64, 0_u64, 0_u64, 9000);
    while sites < count(30, 200) {
        seed += 1;
        let Some(drawn) = any(seed) else { continue };
        let Ok(schedule) = schedule(&drawn, &[], UnitSystem::Si) else {
            unsolved += 1;
            continue;
        };
        let Some(tolerance) = schedule.tolerance_all else { continue };
        sites += 1;
        let t_m = tolerance.to_m() + 0.0005;
        let set_points = drawn.set_points();
        let corner = |flipped: Option<usize>| -> Vec<(SetPoint, f64)> {
            let side = |(index, s): (usize, &SetPoint)| {
                let low = worst_low(s) != (flipped == Some(index));
                (*s, if low { -t_m } else { t_m })
            };
            set_points.iter().enumerate().map(side).collect()
        };
        let mut corners = (0..set_points.len()).map(Some).chain([None]);
        failed += u64::from(corners.any(|flipped| with(&drawn, &corner(flipped)) == Some(false)));
    }
    // Where tanks feed lines the corner may differ in more than one level from the usual one.
    assert!(failed * 20 >= sites * 19, "{failed} of {sites}");
    assert!(unsolved * 50 <= sites, "no steady state beside {unsolved} of {sites}");
}
