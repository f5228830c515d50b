//! Numbers far out of any sense: no panic, an end in bounded time, and a right answer where there is one.

#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

mod support;

use std::time::Instant;
use support::random::{EVERYTHING, site};
use support::*;
use wetrun_network::{Junction, JunctionKind, LineId, Network, limits};
use wetrun_solver::{FrictionLaw, Scenario, TankState};
use wetrun_units::{Intensity, Length};

fn times(storm: Scenario, factor: f64) -> Scenario {
    Scenario { intensity: Intensity::m_per_s(factor * storm.intensity.to_m_per_s()), ..storm }
}

/// What a downspout takes at its lip does not hang on how much more rain there is.
#[test]
fn a_rain_beyond_sense_is_solved_or_refused_soon() {
    let network = Sketch::new()
        .downspout(downspout(6.0, 0.0, 0.1, 0.01))
        .downspout(downspout(5.0, 0.0, 0.08, 0.01))
        .point(0.0)
        .tank(tank(2.0))
        .line(D(0), P(0), 0.1, 10.0, 1.0)
        .line(D(1), P(0), 0.1, 10.0, 1.0)
        .line(P(0), T(0), 0.1, 20.0, 1.0)
        .network();
    for law in [FrictionLaw::HazenWilliams, FrictionLaw::DarcyWeisbach] {
        let storm = scenario(law);
        let flood = solve(&network, &times(storm, 1e3));
        for factor in [1e6, 1e12, 1e100, 1e300] {
            let state = solve(&network, &times(storm, factor));
            for (d, e) in state.downspouts.iter().zip(&flood.downspouts) {
                let off = d.admitted.to_m3_per_s() - e.admitted.to_m3_per_s();
                assert!(off.abs() < 1e-9, "{factor:e}: {d:?} {e:?}");
            }
        }
    }
    let start = Instant::now();
    for seed in 0..10 {
        let (network, storm) = site(seed, EVERYTHING);
        for factor in [1e6, 1e30, 1e300] {
            let _ended = wetrun_solver::solve(&network, &times(storm, factor));
        }
    }
    println!("random networks in rains beyond sense: {:?}", start.elapsed());
}

/// All numbers that a network admits, at their ends.
#[test]
fn nothing_panics_at_the_ends_of_what_is_admitted() {
    let seeds = if std::env::var_os("WETRUN_LONG").is_some() { 20 } else { 6 };
    let mut unsolved = 0;
    for seed in 0..seeds {
        let (network, storm) = site(seed, EVERYTHING);
        let mut dice = random::Dice::cold(seed);
        let mut parts = network.to_parts();
        for line in &mut parts.lines {
            if dice.chance(0.3) {
                line.pipe.inside = dice.pick(&[*limits::BORE.start(), *limits::BORE.end()]);
            }
            if dice.chance(0.3) {
                let length = dice.pick(&[*limits::LENGTH.start(), *limits::LENGTH.end()]);
                let stretch = length.to_m() / line.length.to_m();
                line.length = length;
                for station in &mut line.profile {
                    station.at = station.at * stretch;
                }
                if let Some(last) = line.profile.last_mut() {
                    last.at = length; // to its last digit
                }
            }
        }
        let far = dice.pick(&[1.0, 1e3, 1e4]);
        for downspout in parts.downspouts.iter_mut().filter(|_| dice.chance(0.2)) {
            downspout.outlet = downspout.outlet + Length::m(far);
            downspout.lip = downspout.lip + Length::m(far);
        }
        let network = Network::build(parts).unwrap();
        for factor in [1e-12, 1.0, 1e3] {
            unsolved += usize::from(wetrun_solver::solve(&network, &times(storm, factor)).is_err());
        }
    }
    println!("{unsolved} of {} unsolved", 3 * seeds);
}

/// A tank that hardly lets anything go by an overflow of 1 mm fills until the gutters spill.
#[test]
fn an_overflow_of_a_millimetre() {
    let mut full = tank(2.0);
    full.overflow = Some(overflow(2.2, Some(0.001), None));
    let mut sketch = Sketch::new()
        .downspout(downspout(6.0, 0.0, 0.1, 0.004))
        .downspout(downspout(5.0, 0.0, 0.08, 0.006))
        .point(0.0)
        .tank(full)
        .line(D(0), P(0), 0.1, 10.0, 1.0)
        .line(D(1), P(0), 0.1, 10.0, 1.0)
        .line(P(0), T(0), 0.1, 20.0, 1.0);
    for fitting in [None, Some(JunctionKind::Wye), Some(JunctionKind::Tee)] {
        let junction = |kind| Junction { kind, branch: LineId::new(1), added_k: 0.0 };
        sketch.parts.points[0].fitting = fitting.map(junction);
        let network = Network::build(sketch.parts.clone()).unwrap();
        for law in [FrictionLaw::HazenWilliams, FrictionLaw::DarcyWeisbach] {
            let storm = Scenario { tanks: TankState::Full, ..scenario(law) };
            let start = Instant::now();
            let state = solve(&network, &storm);
            println!("{fitting:?} {law:?}: {:?} {:?}", start.elapsed(), state.residuals);
            // The tank stands as high as the water before it, and lets so little go that the pipe runs
            // full: depth + 1.5 V²/2g.
            let level = state.tanks[0].water_level.unwrap().to_m();
            assert!((level - state.points[0].head.to_m()).abs() < 1e-4 && level > 5.0, "{level}");
            let speed = state.tanks[0].overflow.to_m3_per_s() / (std::f64::consts::PI / 4.0 * 1e-6);
            let height = 0.001 + 1.5 * speed * speed / (2.0 * 9.80665);
            assert!((level - 2.2 - height).abs() < 1e-5, "{level} {height}");
            assert!(start.elapsed().as_secs_f64() < 2.0, "{:?}", start.elapsed());
        }
    }
}
