//! Each limit, with half a millimetre more or less, turns the verdict.

use crate::sites::{any, count};
use wetrun_design::levels::{Drawn, SetPoint, schedule};
use wetrun_units::{Length, UnitSystem};

fn passes(drawn: &Drawn, set_point: SetPoint, level: Length) -> bool {
    let moved = drawn.with(&[(set_point, level)]).expect("a limit makes a valid site");
    moved.state().expect("a state beside a limit is found").passes()
}

#[test]
fn half_a_millimetre_turns_the_verdict() {
    let (mut sites, mut limits, mut seed) = (0, 0, 0);
    let half = Length::m(0.0005);
    while sites < count(40, 200) {
        seed += 1;
        let Some(drawn) = any(seed) else { continue };
        let schedule =
            schedule(&drawn, &[], UnitSystem::Si).unwrap_or_else(|e| panic!("seed {seed}: {e}"));
        sites += 1;
        for one in &schedule.set_points {
            let name = format!("seed {seed} {:?}", one.set_point);
            if let Some(lowest) = one.lowest {
                limits += 1;
                assert!(lowest <= one.level, "{name}");
                if (one.level - lowest).to_m() > half.to_m() {
                    assert!(passes(&drawn, one.set_point, lowest + half), "{name} above lowest");
                }
                assert!(!passes(&drawn, one.set_point, lowest - half), "{name} below lowest");
            }
            if let Some(highest) = one.highest {
                limits += 1;
                assert!(highest >= one.level, "{name}");
                if (highest - one.level).to_m() > half.to_m() {
                    assert!(passes(&drawn, one.set_point, highest - half), "{name} below highest");
                }
                assert!(!passes(&drawn, one.set_point, highest + half), "{name} above highest");
            }
        }
    }
    assert!(limits as u64 > 4 * sites, "{limits} limits on {sites} sites");
}

/// Where no limit is given, five metres do no harm, or the site is not valid there.
#[test]
fn without_a_limit_five_metres_do_no_harm() {
    let (mut sites, mut seed) = (0, 1000);
    while sites < count(15, 100) {
        seed += 1;
        let Some(drawn) = any(seed) else { continue };
        sites += 1;
        for one in &schedule(&drawn, &[], UnitSystem::Si).unwrap().set_points {
            for (limit, sign) in [(one.lowest, -1.0), (one.highest, 1.0)] {
                if limit.is_some() {
                    continue;
                }
                for distance_m in [0.03, 0.7, 2.9, 5.0] {
                    let level = one.level + Length::m(sign * distance_m);
                    let Ok(moved) = drawn.with(&[(one.set_point, level)]) else { break };
                    let state = moved.state().unwrap();
                    assert!(state.passes(), "seed {seed} {:?} {sign} {distance_m}", one.set_point);
                }
            }
        }
    }
}
