//! Random networks of every kind: a rain that holds comes to the steady state, and all rain is
//! accounted for in storms with gutters, spills, rims, cascades, crests and dry starts.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::disallowed_methods,
    clippy::print_stdout
)]

#[path = "../../solver/tests/support/mod.rs"]
mod support;

use core::f64::consts::FRAC_PI_4;
use std::ops::Range;
use support::random::{Dice, EVERYTHING, PLAIN_TREE, site};
use wetrun_motion::{GutterShape, GutterStore, Pace, Passed, Roof, Scene, TankStart, Watch, storm};
use wetrun_network::{DownspoutId, Network};
use wetrun_rain::Course;
use wetrun_solver::{Scenario, TankState, solve};
use wetrun_units::{Fraction, Intensity, Length, Time, Volume};

fn scene<'a>(network: &'a Network, scenario: &Scenario, lag_s: f64) -> Scene<'a> {
    let roofs = network.downspouts().iter().enumerate().map(|(place, downspout)| Roof {
        area: downspout.catchment,
        runoff: Fraction::ratio(1.0),
        wetting: Length::ZERO,
        lag: Time::s(lag_s),
        shares: vec![(DownspoutId::new(place), Fraction::ratio(1.0))],
    });
    let start = match scenario.tanks {
        TankState::Full => TankStart::Full,
        TankState::Empty => TankStart::Empty,
    };
    Scene {
        network,
        law: scenario.law,
        temperature: scenario.temperature,
        roofs: roofs.collect(),
        gutters: vec![None; network.downspouts().len()],
        tanks: vec![start; network.tanks().len()],
        watch: Watch::default(),
    }
}

fn course(rains: &[(f64, f64)]) -> Course {
    let rains: Vec<_> =
        rains.iter().map(|&(t, rain)| (Time::s(t), Intensity::m_per_s(rain))).collect();
    Course::new(&rains).unwrap()
}

/// So many seeds, and as many as that in a long run; `WETRUN_FIRST` begins further on.
fn seeds(default: u64, long: u64) -> Range<u64> {
    let first = std::env::var("WETRUN_FIRST").ok().and_then(|t| t.parse().ok()).unwrap_or(0);
    let count = std::env::var("WETRUN_CASES").ok().and_then(|t| t.parse().ok());
    let usual = if std::env::var_os("WETRUN_LONG").is_some() { long } else { default };
    first..first + count.unwrap_or(usual)
}

fn accounted(network: &Network, passed: &Passed) -> bool {
    let totals = &passed.totals;
    // Where a tank that stands full for ever gives water that no rain brought, or what stood too high
    // runs over lips, that is the measure; and where nothing moves the last digits of what is held are,
    // or some picolitres.
    let ways = [totals.spilled, totals.escaped, totals.overflowed, totals.over_rim];
    let moved: f64 = ways.iter().map(|way| way.to_m3().abs()).sum();
    let in_tanks = passed.tanks.iter().filter_map(|tank| tank.start).map(Volume::to_m3);
    let in_lines = network.lines().iter().map(|line| {
        let bore_m = line.pipe.inside.to_m();
        FRAC_PI_4 * bore_m * bore_m * line.length.to_m()
    });
    let held: f64 = in_tanks.chain(in_lines).sum();
    let told = 1e-14 + 1e-12 * moved + f64::EPSILON * held;
    totals.balance.to_m3().abs() <= 1e-9 * totals.rain.to_m3() + told
}

/// Three hours of a rain of 1 m/s on catchments as large as the demands end in the steady state.
#[test]
fn a_rain_that_holds_comes_to_the_steady_state() {
    let seconds = 3.0 * 3600.0;
    for seed in seeds(12, 2000) {
        let (network, scenario) = site(seed, PLAIN_TREE);
        let Ok(steady) = solve(&network, &scenario) else { continue };
        let pace =
            Pace { until: Some(Time::s(seconds)), moments: Some(Time::s(30.0)), ..Pace::default() };
        let rains = course(&[(0.0, 1.0), (seconds, 0.0)]);
        let passed = storm(&scene(&network, &scenario, 60.0), &rains, &pace);
        let passed = passed.unwrap_or_else(|error| panic!("{seed}: {error}"));
        assert!(accounted(&network, &passed), "{seed}: {:?}", passed.totals);
        let last = passed.moments.last().unwrap();
        for (level, state) in last.levels.iter().zip(&steady.downspouts) {
            let miss_m = (*level - state.standing_level).to_m();
            assert!(miss_m.abs() < 1e-3, "{seed}: {miss_m} m off");
        }
    }
}

/// A day without rain leaves every level as it was, to the last bit, and moves nothing.
#[test]
fn without_rain_nothing_moves_for_a_day() {
    let day = Time::s(86_400.0);
    let pace = Pace { until: Some(day), moments: Some(Time::s(3600.0)), ..Pace::default() };
    let mut runs = 0;
    for seed in seeds(40, 10_000) {
        let (network, scenario) = site(seed, EVERYTHING);
        // A tank that stands full for ever may feed a lower one.
        let still = Scenario { intensity: Intensity::ZERO, ..scenario };
        let rests = solve(&network, &still).is_ok_and(|steady| {
            steady.lines.iter().all(|line| line.flow.to_m3_per_s().abs() < 1e-9)
        });
        if !rests {
            continue;
        }
        let scene = scene(&network, &scenario, 60.0);
        let dry = course(&[(0.0, 0.0), (86_400.0, 0.0)]);
        let passed = storm(&scene, &dry, &pace);
        let passed = passed.unwrap_or_else(|error| panic!("{seed}: {error}"));
        let (first, last) = (passed.moments.first().unwrap(), passed.moments.last().unwrap());
        assert!(last.at == day, "{seed}: {:?}", last.at);
        assert_eq!(first.levels, last.levels, "{seed}");
        assert_eq!((&first.tanks, &first.heads), (&last.tanks, &last.heads), "{seed}");
        assert!(passed.lines.iter().all(|line| line.passed == Volume::ZERO), "{seed}");
        assert_eq!(passed.totals.stored, Volume::ZERO, "{seed}");
        runs += 1;
    }
    println!("{runs} days");
}

/// The same network with tanks that hold water, gutters and a rain that comes and goes.
fn stormy(seed: u64) -> (Network, Scenario, Vec<Option<GutterStore>>, Vec<TankStart>, Course) {
    let (network, mut scenario) = site(seed, EVERYTHING);
    let mut dice = Dice::cold(seed ^ 0x5eed);
    for _ in 0..8 {
        dice.next();
    }
    let mut parts = network.to_parts();
    let mut starts = Vec::new();
    for tank in &mut parts.tanks {
        let sized = tank.overflow.is_some() && dice.chance(0.7);
        if sized {
            let top = tank.overflow.as_ref().map_or(tank.inlet, |overflow| overflow.level);
            tank.floor = Some(top - Length::m(dice.between(0.5, 2.5)));
            tank.volume = Some(Volume::m3(10f64.powf(dice.between(-1.0, 1.0))));
        }
        let share = Fraction::ratio(dice.between(0.0, 1.0));
        starts.push(match dice.below(3) {
            0 if sized => TankStart::Share(share),
            1 => TankStart::Empty,
            _ => TankStart::Full,
        });
    }
    scenario.temperature = wetrun_units::Temperature::celsius(10.0);
    let gutters = parts.downspouts.iter().map(|downspout| {
        dice.chance(0.5).then(|| GutterStore {
            shape: dice.pick(&[
                GutterShape::HalfRound,
                GutterShape::Rectangular,
                GutterShape::Trapezoidal,
            ]),
            width: Length::m(0.125),
            bottom: Length::m(0.08),
            depth: (downspout.lip - downspout.outlet).max(Length::m(0.05)),
            length: Length::m(dice.between(1.0, 12.0)),
        })
    });
    let gutters = gutters.collect();
    let (mut at_s, mut rains) = (dice.between(0.0, 100.0), Vec::new());
    for _ in 0..1 + dice.below(3) {
        rains.push((at_s, 10f64.powf(dice.between(-2.0, 0.3))));
        at_s += dice.between(20.0, 200.0);
    }
    rains.push((at_s, 0.0));
    (Network::build(parts).unwrap(), scenario, gutters, starts, course(&rains))
}

#[test]
fn all_rain_is_accounted_for() {
    let (mut steps, mut runs, mut bad) = (0, 0, Vec::new());
    // In these, tanks that store nothing stand or draw at the level of one that stores.
    for seed in seeds(4, 10_000).chain([2110, 2784, 3288]) {
        let (network, scenario, gutters, tanks, rains) = stormy(seed);
        let scene = Scene {
            gutters,
            tanks,
            ..scene(&network, &scenario, [0.0, 10.0, 60.0][seed as usize % 3])
        };
        let pace = Pace { until: Some(Time::s(900.0)), ..Pace::default() };
        runs += 1;
        match storm(&scene, &rains, &pace) {
            Ok(passed) => {
                steps += passed.steps;
                if !accounted(&network, &passed) {
                    bad.push(format!("{seed}: {:?}", passed.totals));
                }
            }
            Err(error) => bad.push(format!("{seed}: {error}")),
        }
    }
    println!("{runs} storms, {} steps each", steps / runs.max(1));
    assert!(bad.is_empty(), "{} of {runs}: {bad:#?}", bad.len());
}
