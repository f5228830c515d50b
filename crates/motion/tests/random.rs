//! Random networks of every kind: a rain that holds comes to the steady state, and all rain is
//! accounted for in storms with spills, rims, cascades, crests and dry starts.
#![allow(clippy::unwrap_used, clippy::disallowed_methods, clippy::print_stdout)]

#[path = "../../solver/tests/support/mod.rs"]
mod support;

use support::random::{Dice, EVERYTHING, Kinds, PLAIN_TREE, site};
use wetrun_motion::{Pace, Passed, Roof, Scene, TankStart, storm};
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
    }
}

fn course(rains: &[(f64, f64)]) -> Course {
    let rains: Vec<_> =
        rains.iter().map(|&(t, rain)| (Time::s(t), Intensity::m_per_s(rain))).collect();
    Course::new(&rains).unwrap()
}

fn cases(default: u64, long: u64) -> std::ops::Range<u64> {
    let first = std::env::var("WETRUN_FIRST").ok().and_then(|t| t.parse().ok()).unwrap_or(0);
    let count = std::env::var("WETRUN_RANDOM_CASES").ok().and_then(|t| t.parse().ok());
    let usual = if std::env::var_os("WETRUN_LONG").is_some() { long } else { default };
    first..first + count.unwrap_or(usual)
}

struct Held {
    passed: Passed,
    miss_m: f64,
}

/// Three hours of a rain of 1 m/s on catchments as large as the demands.
fn held(network: &Network, scenario: &Scenario) -> Result<Option<Held>, String> {
    let Ok(steady) = solve(network, scenario) else { return Ok(None) };
    let scene = scene(network, scenario, 60.0);
    let hours = 3.0 * 3600.0;
    let pace =
        Pace { until: Some(Time::s(hours)), moments: Some(Time::s(30.0)), ..Pace::default() };
    let passed = storm(&scene, &course(&[(0.0, 1.0), (hours, 0.0)]), &pace)
        .map_err(|error| error.to_string())?;
    let last = passed.moments.last().unwrap();
    let mut miss_m = 0.0_f64;
    for (level, state) in last.levels.iter().zip(&steady.downspouts) {
        miss_m = miss_m.max((*level - state.standing_level).to_m().abs());
    }
    Ok(Some(Held { passed, miss_m }))
}

fn accounted(passed: &Passed) -> bool {
    passed.totals.balance.to_m3().abs() <= 1e-9 * passed.totals.rain.to_m3() + 1e-12
}

fn holds(kinds: Kinds, cases: std::ops::Range<u64>) {
    let (mut far, mut failed, mut open, mut steps, mut all) = (0, 0, 0, 0_u64, 0);
    for seed in cases {
        let (network, scenario) = site(seed, kinds);
        let start = std::time::Instant::now();
        match held(&network, &scenario) {
            Ok(None) => {}
            Ok(Some(held)) => {
                all += 1;
                steps += u64::from(held.passed.steps);
                if held.miss_m > 1e-3 {
                    far += 1;
                    println!("{seed}: {:.4} m off, {} steps", held.miss_m, held.passed.steps);
                }
                if !accounted(&held.passed) {
                    open += 1;
                    let totals = held.passed.totals;
                    println!(
                        "{seed}: balance {:.2e} of {:.2e}",
                        totals.balance.to_m3(),
                        totals.rain.to_m3()
                    );
                }
            }
            Err(error) => {
                failed += 1;
                println!("{seed}: {error}");
            }
        }
        let took = start.elapsed();
        if took.as_secs_f64() > 2.0 {
            println!("{seed}: {took:?}");
        }
    }
    println!(
        "{all} runs: {far} far, {failed} failed, {open} open, {} steps each",
        steps / all.max(1)
    );
}

#[test]
fn trees() {
    holds(PLAIN_TREE, cases(10, 2000));
}

#[test]
fn everything() {
    holds(EVERYTHING, cases(10, 2000));
}

#[allow(dead_code)]
fn unused(_: &mut Dice, _: Volume) {}
