//! Water at rest behind a crest and in a sag, by hand.

#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

mod support;

use std::f64::consts::PI;
use support::*;
use wetrun_network::{DownspoutId, LineId, Network, PointId};
use wetrun_solver::{FrictionLaw, Scenario, Steady, TankState, solve};
use wetrun_units::{Intensity, Length};

/// `D1 - P1 - P2 - T1` and `D2 - P2`, all 100 mm. The line from P1 to P2 climbs to 3.0 m on its way;
/// P2 is the lowest point, at 1.0 m; the inlet stands at 2.5 m, the overflow at 2.4 m.
fn over_a_crest() -> Sketch {
    let mut full = tank(2.5);
    full.overflow = Some(overflow(2.4, None, None));
    Sketch::new()
        .downspout(downspout(6.0, 2.0, 0.1, 0.001))
        .downspout(downspout(6.0, 1.5, 0.1, 0.001))
        .point(1.8)
        .point(1.0)
        .tank(full)
        .profiled(D(0), P(0), 0.1, 0.0, &[(0.0, 2.0), (5.0, 1.8)])
        .profiled(P(0), P(1), 0.1, 0.0, &[(0.0, 1.8), (4.0, 3.0), (10.0, 1.0)])
        .profiled(P(1), T(0), 0.1, 0.0, &[(0.0, 1.0), (8.0, 1.2), (9.3, 2.5)])
        .profiled(D(1), P(1), 0.1, 0.0, &[(0.0, 1.5), (6.0, 1.0)])
}

fn at_rest(sketch: Sketch) -> (Network, Steady) {
    let network = Network::build(sketch.parts).unwrap();
    let scenario = Scenario {
        tanks: TankState::Full,
        intensity: Intensity::ZERO,
        ..scenario(FrictionLaw::DarcyWeisbach)
    };
    let state = solve(&network, &scenario).unwrap();
    (network, state)
}

fn along(state: &Steady, line: usize) -> Vec<Option<f64>> {
    state.rest.along(LineId::new(line)).map(|level| level.map(Length::to_m)).collect()
}

#[test]
fn levels_behind_the_crest_and_behind_the_inlet() {
    let (_, state) = at_rest(over_a_crest());
    let downspout = |index| state.rest.downspout(DownspoutId::new(index)).map(Length::to_m);
    let point = |index| state.rest.point(PointId::new(index)).map(Length::to_m);
    assert_eq!([downspout(0), downspout(1)], [Some(3.0), Some(2.5)]);
    assert_eq!([point(0), point(1)], [Some(3.0), Some(2.5)]);
    // Over the falling part of L2 water stands at the inlet's level, not at the crest's.
    assert_eq!(along(&state, 1), [Some(3.0), Some(3.0), Some(2.5)]);
    assert_eq!(along(&state, 2), [Some(2.5), Some(2.5), Some(2.5)]);
}

/// L1 5 m full; L2 full over 4 m of its climb, and of its 6 m fall from 3.0 to 1.0 m what lies under
/// 2.5 m: 4.5 m; L3 9.3 m, L4 6 m full; the downspouts from 2.0 to 3.0 m and from 1.5 to 2.5 m.
#[test]
fn the_volume_that_stands() {
    let (network, state) = at_rest(over_a_crest());
    let area_m2 = PI / 4.0 * 0.01;
    let lengths_m: Vec<f64> = (0..4)
        .map(|line| {
            let water = state.rest.in_line(&network, LineId::new(line));
            water.iter().map(|w| w.volume.to_m3()).sum::<f64>() / area_m2
        })
        .collect();
    for (found, by_hand) in lengths_m.iter().zip([5.0, 8.5, 9.3, 6.0]) {
        assert!((found - by_hand).abs() < 1e-9, "{lengths_m:?}");
    }
    let all_m = state.rest.volume(&network).to_m3() / area_m2;
    assert!((all_m - (28.8 + 2.0)).abs() < 1e-9, "{all_m}");
}

/// A lip at 2.2 m at the second downspout lets the lower water out before the inlet does; the water
/// behind the crest stays.
#[test]
fn a_lip_below_the_inlet_holds_the_water_down() {
    let mut sketch = over_a_crest();
    sketch.parts.downspouts[1].outlet = Length::m(2.2);
    sketch.parts.downspouts[1].lip = Length::m(2.2);
    let full = sketch.parts.tanks[0].overflow.as_mut().unwrap();
    full.level = Length::m(2.0);
    let (_, state) = at_rest(sketch);
    assert_eq!(state.rest.point(PointId::new(1)).map(Length::to_m), Some(2.2));
    assert_eq!(state.rest.downspout(DownspoutId::new(0)).map(Length::to_m), Some(3.0));
    assert_eq!(along(&state, 2), [Some(2.2), Some(2.2), None]);
}

/// A line that falls all the way into an empty tank holds nothing.
#[test]
fn a_line_that_falls_stands_dry() {
    let sketch = Sketch::new().downspout(downspout(6.0, 3.0, 0.1, 0.001)).tank(tank(1.0)).profiled(
        D(0),
        T(0),
        0.1,
        0.0,
        &[(0.0, 3.0), (10.0, 2.0), (20.0, 1.0)],
    );
    let (network, state) = at_rest(sketch);
    assert_eq!(along(&state, 0), [None, None, None]);
    assert_eq!(state.rest.volume(&network).to_m3(), 0.0);
}
