//! The steady state against closed forms and against reference systems solved elsewhere.
//!
//! "W1" to "W3b" are wet systems worked out with fluids 1.3.1 (Colebrook, roughness 0.0015 mm,
//! viscosity 1.30629e-6 m²/s) and scipy 1.17.1 (root finding). Their tanks take the level of the
//! lip itself with the exit loss inside K; here the tank end stands at the inlet plus the
//! critical energy, so each inlet is set that much lower than the lip.

#![allow(
    clippy::disallowed_methods,
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout
)]

mod support;

use approx::assert_abs_diff_eq as close;
use support::*;
use wetrun_solver::{FrictionLaw, TankState};
use wetrun_units::Temperature;

const G: f64 = 9.80665;

/// Specific energy at critical depth in a round bore by its definition, from a bisection on the
/// half angle: Q² T = g A³, E = y + A / 2T.
fn critical_energy(bore: f64, flow: f64) -> f64 {
    let section = |theta: f64| {
        let area = bore * bore / 8.0 * (theta - theta.sin());
        let top = bore * (theta / 2.0).sin();
        (area, top, bore / 2.0 * (1.0 - (theta / 2.0).cos()))
    };
    let (mut low, mut high) = (1e-9, 2.0 * std::f64::consts::PI - 1e-9);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        let (area, top, _) = section(middle);
        if flow * flow * top > G * area * area * area { low = middle } else { high = middle }
    }
    let (area, top, depth) = section(0.5 * (low + high));
    depth + area / (2.0 * top)
}

#[test]
fn w1_one_downspout_and_one_line() {
    // W1: 3 L/s, bore 0.100 m, 25 m, K 3.75: 0.0719074 m lost (Darcy-Weisbach).
    let q = 0.003;
    let network = Sketch::new()
        .downspout(downspout(5.0, 0.0, 1.0, q))
        .tank(tank(2.5))
        .line(D(0), T(0), 0.100, 25.0, 3.75)
        .network();
    let state = solve(&network, &scenario(FrictionLaw::DarcyWeisbach));
    let end = 2.5 + critical_energy(0.1, q);
    close!(state.downspouts[0].foot_head.to_m(), end + 0.0719074, epsilon = 2e-7);
    close!(state.lines[0].friction_loss.to_m(), 0.0440113, epsilon = 2e-7);
    close!(state.lines[0].fitting_loss.to_m(), 0.0278961, epsilon = 2e-7);
    close!(state.lines[0].reynolds, 29241.0, epsilon = 0.5);
    // Hazen-Williams: the source's 0.0393256 m is for the constant 0.849182; ours is 0.849.
    let state = solve(&network, &scenario(FrictionLaw::HazenWilliams));
    let friction = 0.0393256 * (0.849182_f64 / 0.849).powf(1.0 / 0.54);
    close!(state.lines[0].friction_loss.to_m(), friction, epsilon = 2e-7);
}

#[test]
fn w2_a_tree_of_four() {
    for (law, standing) in [
        (FrictionLaw::DarcyWeisbach, [2.63490, 2.62621, 2.63038, 2.59450]),
        (FrictionLaw::HazenWilliams, [2.62666, 2.61862, 2.62337, 2.59024]),
    ] {
        let lip = 2.5;
        let inlet = lip - critical_energy(0.10226, 0.0045);
        // The downspouts are so wide that the way down in them costs nothing to speak of.
        let network = Sketch::new()
            .downspout(downspout(5.0, 0.0, 1.0, 0.0012))
            .downspout(downspout(5.0, 0.0, 1.0, 0.0008))
            .downspout(downspout(5.0, 0.0, 1.0, 0.0015))
            .downspout(downspout(5.0, 0.0, 1.0, 0.0010))
            .point(0.0)
            .point(0.0)
            .point(0.0)
            .tank(tank(inlet))
            .line(D(0), P(0), 0.0779, 6.0, 2.25)
            .line(D(1), P(0), 0.0779, 4.0, 2.25)
            .line(P(0), P(1), 0.10226, 12.0, 0.3)
            .line(D(2), P(1), 0.0779, 5.0, 2.25)
            .line(P(1), P(2), 0.10226, 10.0, 0.3)
            .line(D(3), P(2), 0.0779, 3.0, 2.25)
            .line(P(2), T(0), 0.10226, 15.0, 2.5)
            .network();
        let state = solve(&network, &scenario(law));
        for (d, expected) in state.downspouts.iter().zip(standing) {
            // Printed to 1e-5 m; Hazen-Williams with 0.849182 differs by 4e-4 of the friction.
            let law_m = if law == FrictionLaw::HazenWilliams { 6e-5 } else { 6e-6 };
            close!(d.standing_level.to_m(), expected, epsilon = law_m);
        }
    }
}

fn two_tanks(inflow: f64) -> wetrun_network::Network {
    Sketch::new()
        .downspout(downspout(5.0, 0.0, 1.0, inflow))
        .tank(tank(2.55))
        .tank(tank(2.4))
        .line(D(0), T(0), 0.1, 20.0, 2.5)
        .line(D(0), T(1), 0.1, 35.0, 2.5)
        .network()
}

#[test]
fn the_higher_tank_stays_dry_until_the_lower_ones_loss_lifts_the_water_to_it() {
    let law = scenario(FrictionLaw::DarcyWeisbach);
    let state = solve(&two_tanks(0.002), &law);
    assert_eq!(state.lines[0].flow.to_m3_per_s(), 0.0);
    close!(state.lines[1].flow.to_m3_per_s(), 0.002, epsilon = 1e-12);
    // W3b: 2 L/s through 35 m of 0.1 m with K 2.5 (exit included) lose 0.03844 m.
    let head = 2.4 + critical_energy(0.1, 0.002) + 0.03844;
    close!(state.downspouts[0].foot_head.to_m(), head, epsilon = 6e-6);
    close!(state.lines[0].to_head.to_m(), state.downspouts[0].foot_head.to_m(), epsilon = 1e-12);
    // With both flowing, one head serves both ways.
    let state = solve(&two_tanks(0.005), &law);
    let [q1, q2] = [0, 1].map(|l| state.lines[l].flow.to_m3_per_s());
    assert!(q1 > 0.0 && q2 > q1);
    close!(q1 + q2, 0.005, epsilon = 1e-14);
    for (line, inlet) in [(0, 2.55), (1, 2.4)] {
        let this = &state.lines[line];
        let end = inlet + critical_energy(0.1, this.flow.to_m3_per_s());
        close!(this.to_head.to_m(), end, epsilon = 1e-9);
        let losses = this.friction_loss.to_m() + this.fitting_loss.to_m();
        close!(this.from_head.to_m() - this.to_head.to_m(), losses, epsilon = 1e-9);
    }
}

#[test]
fn two_parallel_lines_share_by_hazen_williams_in_closed_form() {
    // Equal heads: Q ∝ C D^2.63 L^-0.54.
    let network = Sketch::new()
        .downspout(downspout(9.0, 0.0, 1.0, 0.012))
        .point(0.0)
        .tank(tank(2.5))
        .line(D(0), P(0), 0.1, 30.0, 0.0)
        .line(D(0), P(0), 0.08, 20.0, 0.0)
        .line(P(0), T(0), 0.15, 10.0, 0.0)
        .network();
    let state = solve(&network, &scenario(FrictionLaw::HazenWilliams));
    let share = |d: f64, l: f64| d.powf(2.63) * l.powf(-0.54);
    let first = 0.012 * share(0.1, 30.0) / (share(0.1, 30.0) + share(0.08, 20.0));
    close!(state.lines[0].flow.to_m3_per_s(), first, epsilon = 1e-12);
    close!(state.lines[1].flow.to_m3_per_s(), 0.012 - first, epsilon = 1e-12);
}

#[test]
fn a_symmetric_ring_divides_evenly_and_its_cross_line_stands_still() {
    for law in [FrictionLaw::HazenWilliams, FrictionLaw::DarcyWeisbach] {
        let network = Sketch::new()
            .downspout(downspout(9.0, 0.0, 1.0, 0.008))
            .point(0.0)
            .point(0.0)
            .point(0.0)
            .tank(tank(2.5))
            .line(D(0), P(0), 0.1, 30.0, 1.0)
            .line(P(1), D(0), 0.1, 30.0, 1.0)
            .line(P(0), P(2), 0.1, 20.0, 1.0)
            .line(P(1), P(2), 0.1, 20.0, 1.0)
            .line(P(0), P(1), 0.1, 15.0, 0.0)
            .line(P(2), T(0), 0.15, 10.0, 0.0)
            .network();
        let state = solve(&network, &scenario(law));
        close!(state.lines[0].flow.to_m3_per_s(), 0.004, epsilon = 1e-11);
        close!(state.lines[1].flow.to_m3_per_s(), -0.004, epsilon = 1e-11);
        close!(state.lines[4].flow.to_m3_per_s(), 0.0, epsilon = 1e-6);
    }
}

#[test]
fn exactly_at_the_lip_nothing_spills() {
    let at = |lip: f64| {
        Sketch::new()
            .downspout(downspout(lip, 0.0, 0.1, 0.005))
            .tank(tank(2.0))
            .line(D(0), T(0), 0.1, 20.0, 1.0)
            .network()
    };
    let law = scenario(FrictionLaw::DarcyWeisbach);
    let lip = solve(&at(9.0), &law).downspouts[0].standing_level.to_m();
    let state = solve(&at(lip + 1e-9), &law);
    assert_eq!(state.downspouts[0].spilled.to_m3_per_s(), 0.0);
    let state = solve(&at(lip - 1e-3), &law);
    let d = &state.downspouts[0];
    close!(d.standing_level.to_m(), lip - 1e-3, epsilon = 1e-12);
    assert!(d.spilled.to_m3_per_s() > 0.0 && d.spilled.to_m3_per_s() < 1e-4);
    let rain = wetrun_solver::spill_rains(&at(lip), &law).unwrap().downspouts[0].unwrap();
    close!(rain.to_m_per_s(), 1.0, epsilon = 1e-3);
}

#[test]
fn a_low_gutter_is_a_fountain() {
    // The high roof's water lifts the line above the low lip: all that the low one lets out has
    // come down the high one.
    let network = Sketch::new()
        .downspout(downspout(6.0, 0.0, 0.1, 0.02))
        .downspout(downspout(2.6, 0.0, 0.1, 0.0005))
        .point(0.0)
        .tank(tank(2.5))
        .line(D(0), P(0), 0.1, 5.0, 0.0)
        .line(D(1), P(0), 0.1, 5.0, 0.0)
        .line(P(0), T(0), 0.1, 40.0, 3.0)
        .network();
    let state = solve(&network, &scenario(FrictionLaw::DarcyWeisbach));
    let low = &state.downspouts[1];
    assert!(low.admitted.to_m3_per_s() < -0.005, "{low:?}");
    close!(low.standing_level.to_m(), 2.6, epsilon = 1e-12);
    close!(low.spilled.to_m3_per_s(), 0.0005 - low.admitted.to_m3_per_s(), epsilon = 1e-15);
    assert!(low.foot_head.to_m() > 2.6);
    let out = state.lines[2].flow.to_m3_per_s();
    close!(0.02 + low.admitted.to_m3_per_s(), out, epsilon = 1e-11);
}

#[test]
fn a_full_tank_feeds_a_low_gutter_without_rain() {
    let mut high = tank(2.0);
    high.overflow = Some(overflow(3.0, None, None));
    let network = Sketch::new()
        .downspout(downspout(2.5, 0.0, 0.1, 0.0))
        .tank(high)
        .line(D(0), T(0), 0.1, 20.0, 0.5)
        .network();
    let mut storm = scenario(FrictionLaw::HazenWilliams);
    storm.tanks = TankState::Full;
    let state = solve(&network, &storm);
    let out = -state.downspouts[0].admitted.to_m3_per_s();
    assert!(out > 0.0);
    close!(state.lines[0].to_head.to_m(), 3.0, epsilon = 1e-9);
    // Head 0.5 m over 20 m of line, 2.5 m of downspout and K 0.5, all on one bore.
    let v = out / (std::f64::consts::PI * 0.0025);
    let slope = (v / (0.849 * 150.0 * 0.025_f64.powf(0.63))).powf(1.0 / 0.54);
    close!(slope * 22.5 + 0.5 * v * v / (2.0 * G), 0.5, epsilon = 1e-7);
    close!(state.tanks[0].inflow.to_m3_per_s(), -out, epsilon = 1e-12);
    close!(state.tanks[0].water_level.unwrap().to_m(), 3.0, epsilon = 1e-12);
    assert_eq!(
        wetrun_solver::spill_rains(&network, &storm).unwrap().downspouts[0].unwrap().to_m_per_s(),
        0.0
    );
}

#[test]
fn a_drizzle_stands_at_the_inlet() {
    let mut network = two_tanks(1e-9);
    let law = scenario(FrictionLaw::DarcyWeisbach);
    close!(solve(&network, &law).downspouts[0].standing_level.to_m(), 2.4, epsilon = 1e-4);
    network = two_tanks(0.0);
    close!(solve(&network, &law).downspouts[0].standing_level.to_m(), 2.4, epsilon = 1e-12);
}

#[test]
fn a_crest_breaks_the_full_pipe() {
    // A hump at 3.0 m on the way to an inlet at 2.0 m: upstream of it the head is the hump's
    // invert plus the critical energy, whatever happens below.
    let q = 0.003;
    let network = Sketch::new()
        .downspout(downspout(9.0, 0.0, 1.0, q))
        .tank(tank(2.0))
        .profiled(D(0), T(0), 0.1, 0.0, &[(0.0, 0.0), (10.0, 3.0), (20.0, 1.0), (25.0, 2.0)])
        .network();
    let state = solve(&network, &scenario(FrictionLaw::HazenWilliams));
    let v = q / (std::f64::consts::PI * 0.0025);
    let slope = (v / (0.849 * 150.0 * 0.025_f64.powf(0.63))).powf(1.0 / 0.54);
    let expected = 3.0 + critical_energy(0.1, q) + 10.0 * slope;
    close!(state.downspouts[0].foot_head.to_m(), expected, epsilon = 1e-9);
    assert!(state.lines[0].broken);
    close!(state.lines[0].friction_loss.to_m(), 15.0 * slope, epsilon = 1e-9);
}

#[test]
fn a_submerged_inlet_and_a_cascade_of_overflows() {
    // T1 overflows through 0.1 m into T2, which overflows through 0.15 m to the ground.
    let q = 0.006;
    let mut first = tank(2.0);
    first.overflow = Some(overflow(2.2, Some(0.1), Some(1)));
    let mut second = tank(2.5);
    second.overflow = Some(overflow(1.0, Some(0.15), None));
    let network = Sketch::new()
        .downspout(downspout(9.0, 0.0, 1.0, q))
        .tank(first)
        .tank(second)
        .line(D(0), T(0), 0.1, 10.0, 0.0)
        .network();
    let mut storm = scenario(FrictionLaw::HazenWilliams);
    storm.tanks = TankState::Full;
    let state = solve(&network, &storm);
    close!(state.tanks[0].overflow.to_m3_per_s(), q, epsilon = 1e-12);
    close!(state.tanks[1].overflow.to_m3_per_s(), q, epsilon = 1e-12);
    // The overflow stands at its level + Ec + k Vc²/2g; with y + 1.5 A/2T for k = 0.5
    // (check on the published overflow rows is in the laws' own tests).
    let v = q / (std::f64::consts::PI * 0.0025);
    let level = state.tanks[0].water_level.unwrap().to_m();
    assert!(level > 2.2 + critical_energy(0.1, q));
    close!(state.lines[0].to_head.to_m(), level + v * v / (2.0 * G), epsilon = 1e-9);
}

#[test]
fn warm_water_runs_easier_than_cold() {
    let network = two_tanks(0.004);
    let level = |celsius: f64| {
        let mut storm = scenario(FrictionLaw::DarcyWeisbach);
        storm.temperature = Temperature::celsius(celsius);
        solve(&network, &storm).downspouts[0].standing_level.to_m()
    };
    assert!(level(0.0) > level(10.0) && level(10.0) > level(40.0));
}
