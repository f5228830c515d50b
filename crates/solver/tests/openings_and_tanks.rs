//! Vents, loose caps, rims and overflows that end in another tank's water, by hand.

#![allow(clippy::disallowed_methods, clippy::expect_used, clippy::unwrap_used, clippy::panic)]

mod support;

use approx::assert_abs_diff_eq as close;
use std::f64::consts::PI;
use support::*;
use wetrun_network::{Downspout, Network, Opening, OpeningKind, Overflow, PointId, Tank};
use wetrun_solver::{FrictionLaw, Scenario, Steady, TankState};
use wetrun_units::{Intensity, Length};

const G: f64 = 9.80665;

/// Hazen-Williams as the contract writes it, C 150: head lost per metre.
fn slope(flow: f64, bore: f64) -> f64 {
    let speed = flow / (PI / 4.0 * bore * bore);
    (speed / (0.849 * 150.0 * (bore / 4.0).powf(0.63))).powf(1.0 / 0.54)
}

fn velocity_head(flow: f64, bore: f64) -> f64 {
    let speed = flow / (PI / 4.0 * bore * bore);
    speed * speed / (2.0 * G)
}

/// Critical depth and Vc²/2g in a round bore from Q² T = g A³, by bisection on the wetted angle.
fn critical(flow: f64, bore: f64) -> (f64, f64) {
    let section = |angle: f64| {
        let area = bore * bore / 8.0 * (angle - angle.sin());
        (area, bore * (angle / 2.0).sin(), bore / 2.0 * (1.0 - (angle / 2.0).cos()))
    };
    let (mut low, mut high) = (1e-9, 2.0 * PI - 1e-9);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        let (area, top, _) = section(middle);
        if flow * flow * top > G * area * area * area { low = middle } else { high = middle }
    }
    let (area, top, depth) = section(0.5 * (low + high));
    (depth, area / (2.0 * top))
}

/// Specific energy at critical depth.
fn energy(flow: f64, bore: f64) -> f64 {
    let (depth, speed_head) = critical(flow, bore);
    depth + speed_head
}

/// Height of the water over a free overflow, entrance loss 0.5.
fn free_overflow(flow: f64, bore: f64) -> f64 {
    let (depth, speed_head) = critical(flow, bore);
    depth + 1.5 * speed_head
}

fn full() -> Scenario {
    Scenario { tanks: TankState::Full, ..scenario(FrictionLaw::HazenWilliams) }
}

fn rain(storm: Scenario, intensity: f64) -> Scenario {
    Scenario { intensity: Intensity::m_per_s(intensity), ..storm }
}

/// One downspout, one point with an opening, one tank with its inlet at 2 m.
fn with_opening(kind: OpeningKind, level_m: f64, demand: f64) -> Network {
    let mut sketch = Sketch::new()
        .downspout(downspout(9.0, 0.0, 0.1, demand))
        .point(0.0)
        .tank(tank(2.0))
        .line(D(0), P(0), 0.1, 5.0, 0.0)
        .line(P(0), T(0), 0.1, 30.0, 0.0);
    sketch.parts.points[0].opening = Some(Opening { kind, level: Length::m(level_m) });
    sketch.network()
}

#[test]
fn what_stands_above_a_vent_comes_out_of_it() {
    // 5 L/s to the tank need this head at the point; what more comes leaves by the vent.
    let kept = 0.005;
    let level = 2.0 + energy(kept, 0.1) + 30.0 * slope(kept, 0.1);
    for (kind, more) in [(OpeningKind::Vent, 0.001), (OpeningKind::Cap, 0.004)] {
        let network = with_opening(kind, level, kept + more);
        let state = solve(&network, &scenario(FrictionLaw::HazenWilliams));
        let opening = state.openings[0];
        close!(opening.escapes.to_m3_per_s(), more, epsilon = 1e-9);
        assert_eq!(opening.headroom, Length::ZERO);
        close!(state.points[0].head.to_m(), level, epsilon = 1e-9);
        close!(state.lines[0].flow.to_m3_per_s(), kept + more, epsilon = 1e-12);
        close!(state.tanks[0].inflow.to_m3_per_s(), kept, epsilon = 1e-9);
        // It begins at the rain that brings 5 L/s.
        let rains =
            wetrun_solver::spill_rains(&network, &scenario(FrictionLaw::HazenWilliams)).unwrap();
        let begins = rains.openings[0].unwrap().to_m_per_s();
        close!(begins, kept / (kept + more), epsilon = 1e-3 * begins);
        assert_eq!(rains.rims, [None]);
    }
}

#[test]
fn an_opening_above_the_grade_line_changes_nothing() {
    let demand = 0.005;
    let head = 2.0 + energy(demand, 0.1) + 30.0 * slope(demand, 0.1);
    let network = with_opening(OpeningKind::Vent, head + 0.25, demand);
    let state = solve(&network, &scenario(FrictionLaw::HazenWilliams));
    assert_eq!(state.openings[0].escapes.to_m3_per_s(), 0.0);
    close!(state.openings[0].headroom.to_m(), 0.25, epsilon = 1e-9);
    close!(state.tanks[0].inflow.to_m3_per_s(), demand, epsilon = 1e-15);
}

#[test]
fn an_opening_below_the_inlet_runs_in_any_rain_and_holds_the_water_down_between_storms() {
    let network = with_opening(OpeningKind::Cap, 1.5, 0.002);
    let storm = scenario(FrictionLaw::HazenWilliams);
    let state = solve(&network, &storm);
    close!(state.openings[0].escapes.to_m3_per_s(), 0.002, epsilon = 1e-15);
    close!(state.rest.point(PointId::new(0)).unwrap().to_m(), 1.5, epsilon = 1e-12);
    let rains = wetrun_solver::spill_rains(&network, &storm).unwrap();
    assert_eq!(rains.openings[0].unwrap().to_m_per_s(), 0.0);
    let open = solve(&with_opening(OpeningKind::Cap, 2.5, 0.002), &storm);
    close!(open.rest.point(PointId::new(0)).unwrap().to_m(), 2.0, epsilon = 1e-12);
}

#[test]
fn a_full_tank_feeds_an_open_cap_without_rain() {
    // Half a metre of head over 30 m of 0.1 m pipe.
    let mut network = with_opening(OpeningKind::Cap, 2.5, 0.0).to_parts();
    network.tanks[0].overflow = Some(overflow(3.0, None, None));
    let network = Network::build(network).unwrap();
    let state = solve(&network, &full());
    let out = state.openings[0].escapes.to_m3_per_s();
    close!(30.0 * slope(out, 0.1), 0.5, epsilon = 1e-7);
    close!(state.tanks[0].inflow.to_m3_per_s(), -out, epsilon = 1e-13);
}

fn overflowing(level_m: f64, bore: Option<f64>, to: Option<usize>, rim_m: Option<f64>) -> Tank {
    Tank { overflow: Some(overflow(level_m, bore, to)), rim: rim_m.map(Length::m), ..tank(1.0) }
}

/// A downspout of its own runs into each of these tanks, or none where it brings nothing.
fn tanks(tanks: &[(Tank, f64)]) -> Network {
    let mut sketch = Sketch::new();
    for (tank, demand) in tanks {
        sketch = sketch.downspout(downspout(20.0, 0.0, 0.2, *demand)).tank(tank.clone());
    }
    for index in 0..tanks.len() {
        sketch = sketch.line(D(index), T(index), 0.2, 5.0, 0.0);
    }
    sketch.network()
}

fn levels(state: &Steady) -> Vec<f64> {
    state.tanks.iter().map(|t| t.water_level.unwrap().to_m()).collect()
}

#[test]
fn an_overflow_ends_in_the_water_of_the_tank_it_runs_to() {
    let q = 0.006;
    // The second stands at 2.5 m, half a metre over the first one's overflow.
    let network = tanks(&[
        (overflowing(2.0, Some(0.1), Some(1), None), q),
        (overflowing(2.5, None, None, None), 0.0),
    ]);
    let state = solve(&network, &full());
    close!(levels(&state)[0], 2.5 + 1.5 * velocity_head(q, 0.1), epsilon = 1e-9);
    close!(levels(&state)[1], 2.5, epsilon = 1e-12);
    // Without a pipe it stands at the same level; with a low tank behind it, it ends free.
    let without = tanks(&[
        (overflowing(2.0, None, Some(1), None), q),
        (overflowing(2.5, None, None, None), 0.0),
    ]);
    close!(levels(&solve(&without, &full()))[0], 2.5, epsilon = 1e-12);
    let low = tanks(&[
        (overflowing(2.0, Some(0.1), Some(1), None), q),
        (overflowing(1.9, None, None, None), 0.0),
    ]);
    close!(levels(&solve(&low, &full()))[0], 2.0 + free_overflow(q, 0.1), epsilon = 1e-9);
    // An empty tank overflows nowhere.
    let empty = solve(&network, &scenario(FrictionLaw::HazenWilliams));
    assert!(empty.tanks.iter().all(|t| t.water_level.is_none() && t.overflow.to_m3_per_s() == 0.0));
}

#[test]
fn what_a_rim_does_not_hold_runs_over_it() {
    let (kept, over) = (0.006, 0.002);
    // To the ground: 6 L/s need just this height.
    let rim = 2.0 + free_overflow(kept, 0.1);
    let free = tanks(&[(overflowing(2.0, Some(0.1), None, Some(rim)), kept + over)]);
    // Into water at 2.5 m: 6 L/s need just this.
    let rim = 2.5 + 1.5 * velocity_head(kept, 0.1);
    let drowned = tanks(&[
        (overflowing(2.0, Some(0.1), Some(1), Some(rim)), kept + over),
        (overflowing(2.5, None, None, None), 0.001),
    ]);
    for network in [&free, &drowned] {
        let state = solve(network, &full());
        let first = &state.tanks[0];
        close!(first.overflow.to_m3_per_s(), kept, epsilon = 1e-8);
        close!(first.over_rim.to_m3_per_s(), over, epsilon = 1e-8);
        close!(first.inflow.to_m3_per_s(), kept + over, epsilon = 1e-14);
        close!(levels(&state)[0], network.tanks()[0].rim.unwrap().to_m(), epsilon = 1e-12);
        // The next tank receives what the overflow passes, and no more.
        if let Some(second) = state.tanks.get(1) {
            close!(second.inflow.to_m3_per_s(), kept + 0.001, epsilon = 1e-8);
        }
        let rains = wetrun_solver::spill_rains(network, &full()).unwrap();
        let begins = rains.rims[0].unwrap().to_m_per_s();
        close!(begins, kept / (kept + over), epsilon = 1e-3 * begins);
    }
}

#[test]
fn a_rim_and_the_water_beyond_it_answer_to_each_other() {
    // The second tank lets 4 L/s go when it stands at 3 m, the first one's rim. The first has an
    // overflow without a pipe: both stand at 3 m, and all beyond 4 L/s runs over.
    let kept = 0.004;
    let network = tanks(&[
        (overflowing(2.5, None, Some(1), Some(3.0)), 0.009),
        (overflowing(3.0 - free_overflow(kept, 0.08), Some(0.08), None, None), 0.0),
    ]);
    let state = solve(&network, &full());
    close!(state.tanks[0].overflow.to_m3_per_s(), kept, epsilon = 1e-7);
    close!(state.tanks[0].over_rim.to_m3_per_s(), 0.009 - kept, epsilon = 1e-7);
    close!(levels(&state)[0], 3.0, epsilon = 1e-7);
    close!(levels(&state)[1], 3.0, epsilon = 1e-7);
    // With a pipe: the levels differ by what it takes.
    let beyond = 3.0 - 1.5 * velocity_head(kept, 0.1);
    let network = tanks(&[
        (overflowing(2.5, Some(0.1), Some(1), Some(3.0)), 0.009),
        (overflowing(beyond - free_overflow(kept, 0.08), Some(0.08), None, None), 0.0),
    ]);
    let state = solve(&network, &full());
    close!(state.tanks[0].overflow.to_m3_per_s(), kept, epsilon = 1e-8);
    close!(levels(&state)[1], beyond, epsilon = 1e-7);
}

#[test]
fn a_cascade_at_rest_stands_at_least_at_the_level_it_runs_to() {
    for (last, expected) in [(2.1, [2.3, 2.3, 2.1]), (2.6, [2.6, 2.6, 2.6]), (1.0, [2.3, 2.3, 2.0])]
    {
        let cascade = [
            (overflowing(2.0, Some(0.1), Some(1), None), 0.003),
            (overflowing(2.3, None, Some(2), None), 0.0),
            (overflowing(f64::max(last, 2.0), Some(0.1), None, None), 0.0),
        ];
        let network = tanks(&cascade);
        let rest = solve(&network, &rain(full(), 0.0));
        for (found, expected) in levels(&rest).iter().zip(expected) {
            close!(*found, expected, epsilon = 1e-12);
        }
        assert!(rest.tanks.iter().all(|t| t.overflow.to_m3_per_s() == 0.0));
    }
    // A point before the first tank rests at that level.
    let mut sketch = Sketch::new().downspout(downspout(9.0, 0.0, 0.1, 0.001)).point(0.0);
    sketch =
        sketch.tank(overflowing(2.0, None, Some(1), None)).tank(overflowing(2.4, None, None, None));
    let network = sketch.line(D(0), P(0), 0.1, 1.0, 0.0).line(P(0), T(0), 0.1, 1.0, 0.0).network();
    let state = solve(&network, &full());
    close!(state.rest.point(PointId::new(0)).unwrap().to_m(), 2.4, epsilon = 1e-12);
}

#[test]
fn two_tanks_into_one() {
    let [first, second, third] = [0.003, 0.005, 0.002];
    let network = tanks(&[
        (overflowing(2.0, Some(0.1), Some(2), None), first),
        (overflowing(3.0, Some(0.1), Some(2), None), second),
        (overflowing(2.1, Some(0.15), None, None), third),
    ]);
    let state = solve(&network, &full());
    let last = 2.1 + free_overflow(first + second + third, 0.15);
    close!(levels(&state)[2], last, epsilon = 1e-9);
    close!(levels(&state)[0], last + 1.5 * velocity_head(first, 0.1), epsilon = 1e-9);
    close!(levels(&state)[1], 3.0 + free_overflow(second, 0.1), epsilon = 1e-9);
    close!(state.tanks[2].inflow.to_m3_per_s(), first + second + third, epsilon = 1e-14);
}

#[test]
fn a_tank_without_overflow_is_solved_as_before() {
    let network = tanks(&[
        (overflowing(2.0, Some(0.1), Some(1), None), 0.003),
        (Tank { rim: Some(Length::m(1.2)), ..tank(1.0) }, 0.001),
    ]);
    let state = solve(&network, &full());
    close!(
        state.tanks[0].water_level.unwrap().to_m(),
        2.0 + free_overflow(0.003, 0.1),
        epsilon = 1e-9
    );
    assert_eq!(state.tanks[1].water_level, None);
    assert_eq!(state.tanks[1].over_rim.to_m3_per_s(), 0.0);
    close!(state.tanks[1].inflow.to_m3_per_s(), 0.004, epsilon = 1e-14);
}

/// A clogged overflow (k of a million) lets nearly nothing pass whatever the tank's level: the level is
/// that of the open leaf head by which the rain leaves, as still water gives it.
#[test]
fn a_clogged_overflow_leaves_its_tank_to_the_lines() {
    for demand in [1e-5, 1e-4, 5e-4, 2e-3] {
        let open =
            Downspout { leaf_head: Some(Length::m(2.408)), ..downspout(2.614, -0.4, 0.1, demand) };
        let mut clogged = tank(2.0);
        clogged.overflow = Some(Overflow { k: 1e6, ..overflow(1.818, Some(0.1), Some(1)) });
        let mut next = tank(1.5);
        next.overflow = Some(overflow(1.431, Some(0.1), None));
        let network = Sketch::new()
            .downspout(downspout(3.5, -0.4, 0.125, demand))
            .downspout(downspout(3.6, -0.4, 0.125, demand))
            .downspout(downspout(3.7, -0.4, 0.125, demand))
            .downspout(open)
            .point(-0.5)
            .point(-0.6)
            .point(-0.7)
            .tank(clogged)
            .tank(next)
            .line(D(0), P(0), 0.125, 1.7, 0.0)
            .line(P(0), P(1), 0.125, 6.5, 0.0)
            .line(D(1), P(1), 0.11, 4.5, 0.0)
            .line(P(1), P(2), 0.2, 14.4, 0.0)
            .line(D(2), P(2), 0.11, 7.9, 0.0)
            .line(D(3), P(2), 0.1, 1.7, 0.0)
            .line(P(2), T(0), 0.1, 7.9, 0.0)
            .network();
        let state = wetrun_solver::solve(&network, &full()).unwrap();
        let spilled = state.downspouts[3].spilled.to_m3_per_s();
        close!(spilled, 4.0 * demand, epsilon = 1e-6 * demand);
        let at_point = state.points[2].head.to_m();
        close!(state.tanks[0].water_level.unwrap().to_m(), at_point, epsilon = 1e-6);
        assert!(at_point > 2.408 - 1e-6, "{at_point}");
    }
}
