//! Every random network converges: trees, loops, several tanks, spills, fountains, crests,
//! cascades, wyes and tees, both laws, any temperature.

#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

mod support;

use support::random::{EVERYTHING, Kinds, PLAIN_TREE, site};
use support::{bush, residuals, scenario, tree};
use wetrun_network::Network;
use wetrun_solver::{FrictionLaw, NotSolved, Prepared, Scenario, Settings, Steady, TankState};
use wetrun_units::Intensity;

fn cases() -> u64 {
    std::env::var("WETRUN_RANDOM_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(300)
}

/// In the storm, in a drizzle and in a flood.
fn all_converge(name: &str, kinds: Kinds) {
    for rain in [1.0, 0.01, 10.0] {
        all_converge_in(&format!("{name}, {rain} of the storm"), kinds, rain);
    }
}

fn all_converge_in(name: &str, kinds: Kinds, rain: f64) {
    these_converge_in(name, kinds, rain, cases());
}

fn these_converge_in(name: &str, kinds: Kinds, rain: f64, seeds: u64) {
    let mut failed = Vec::new();
    let mut steps = 0_u64;
    let mut most = 0;
    let mut fallbacks = 0;
    for seed in 0..seeds {
        let (network, scenario) = site(seed, kinds);
        let intensity = Intensity::m_per_s(rain * scenario.intensity.to_m_per_s());
        let scenario = Scenario { intensity, ..scenario };
        let mut prepared = Prepared::new(&network, &scenario).unwrap();
        let solved = prepared.steady();
        fallbacks += u32::from(prepared.fallbacks() > 0);
        match solved {
            Ok(state) => {
                holds(&format!("{name} {seed}"), &network, &scenario, &state);
                steps += u64::from(state.residuals.iterations);
                most = most.max(state.residuals.iterations);
            }
            Err(error) => failed.push((seed, error.to_string())),
        }
    }
    println!(
        "{name}: {steps} steps for {seeds} networks, at most {most}, {fallbacks} by a fallback"
    );
    assert!(
        failed.is_empty(),
        "{name}: {} failed, first {:?}",
        failed.len(),
        &failed[..failed.len().min(5)]
    );
}

/// Continuity within 1e-9 of the total demand, or within the last digits of a flow that tanks feed
/// beside a drizzle ten million times smaller; every head equation within 1e-7 m.
fn holds(name: &str, network: &Network, scenario: &Scenario, state: &Steady) {
    let demand = state.downspouts.iter().map(|d| d.demand.to_m3_per_s()).sum::<f64>();
    // Without rain a trickle stands in.
    let demand = if demand > 0.0 { demand } else { 1e-4 };
    let largest = state.lines.iter().map(|l| l.flow.abs().to_m3_per_s()).fold(0.0, f64::max);
    let left = residuals::imbalance_m3_per_s(network, state);
    let most = (4.0 * f64::EPSILON * largest).max(1e-9 * demand);
    assert!(left <= most, "{name}: {left:e} m³/s are left over, {:?}", state.residuals);
    let off = residuals::head_error_m(network, scenario, state);
    assert!(off <= 1e-7, "{name}: a head is off by {off:e} m, {:?}", state.residuals);
}

#[test]
fn trees() {
    all_converge("trees", PLAIN_TREE);
    all_converge("trees that spill", Kinds { low_lips: true, ..PLAIN_TREE });
}

#[test]
fn loops_and_tanks() {
    all_converge("loops", Kinds { loops: true, tanks: 3, ..PLAIN_TREE });
    all_converge("loops that spill", Kinds { loops: true, tanks: 3, low_lips: true, ..PLAIN_TREE });
}

#[test]
fn full_tanks_and_cascades() {
    all_converge("tanks", Kinds { crests: false, junctions: false, ..EVERYTHING });
}

#[test]
fn crests() {
    all_converge("crests", Kinds { junctions: false, overflows: false, ..EVERYTHING });
}

/// What neither Newton's method nor the transient solves: the first is left to the search on the
/// heads, the second to a heavier rain that dies down.
#[test]
fn networks_that_need_a_fallback() {
    let crests = Kinds { junctions: false, overflows: false, ..EVERYTHING };
    for (kinds, seed) in [(EVERYTHING, 7), (crests, 34)] {
        let (network, storm) = site(seed, kinds);
        let intensity = Intensity::m_per_s(1e-4 * storm.intensity.to_m_per_s());
        let scenario = Scenario { intensity, ..storm };
        let mut prepared = Prepared::new(&network, &scenario).unwrap();
        let state = prepared.steady().unwrap();
        holds(&format!("{seed}"), &network, &scenario, &state);
        assert!(prepared.fallbacks() > 0, "{seed} needs none");
    }
}

/// The budget holds over all that a search tries, and what was taken is told either way.
#[test]
fn a_search_takes_no_more_steps_than_it_may() {
    let (network, scenario) = site(7, Kinds { most: 120, junctions: false, ..EVERYTHING });
    let solve = |steps| {
        let mut settings = Settings::default();
        settings.steps = steps;
        Prepared::with(&network, &scenario, settings).unwrap().steady()
    };
    let needs = solve(Settings::default().steps).unwrap().residuals.iterations;
    assert!(needs > 10, "{needs}");
    // A search that took no step counts as one.
    assert_eq!(solve(needs + 20).unwrap().residuals.iterations, needs);
    match solve(needs / 2).unwrap_err() {
        NotSolved::Unfinished { iterations, .. } => assert!(iterations <= needs / 2),
        other => panic!("{other}"),
    }
}

/// Wyes and tees at whose point an opening lets water out.
#[test]
fn junctions_that_leak() {
    let uncrested = Kinds { crests: false, overflows: false, ..EVERYTHING };
    for (kinds, seeds) in [(uncrested, [406, 450, 911, 982].as_slice()), (EVERYTHING, &[760])] {
        for &seed in seeds {
            let (network, scenario) = site(seed, kinds);
            let state = wetrun_solver::solve(&network, &scenario);
            assert!(state.is_ok_and(|state| state.residuals.iterations < 1000), "{seed}");
        }
    }
}

#[test]
fn junctions() {
    all_converge("junctions", Kinds { crests: false, overflows: false, ..EVERYTHING });
}

#[test]
fn everything_together() {
    all_converge("everything", EVERYTHING);
}

/// Up to 250 lines, a quarter of them over a crest: pools fill one after another.
#[test]
fn crests_by_the_dozen() {
    let kinds = Kinds { most: 120, junctions: false, ..EVERYTHING };
    for rain in [1.0, 0.01, 10.0] {
        these_converge_in(&format!("many crests, {rain} of the storm"), kinds, rain, cases() / 10);
    }
    // Networks in which the first fillings end too soon.
    let tree = Kinds { most: 150, low_lips: true, crests: true, ..PLAIN_TREE };
    for (seed, most) in [(233, 150), (21, 400)] {
        let (network, scenario) = site(seed, Kinds { most, ..tree });
        wetrun_solver::solve(&network, &scenario).unwrap();
    }
}

/// By the definition: a thousandth less rain and no water leaves here, a thousandth more and it does.
fn spill_rains_hold(name: &str, network: &Network, scenario: Scenario) -> Seen {
    let rains = wetrun_solver::spill_rains(network, &scenario).unwrap();
    let leaves = |factor: f64| -> Vec<bool> {
        let intensity = Intensity::m_per_s(factor * scenario.intensity.to_m_per_s());
        let state = wetrun_solver::solve(network, &Scenario { intensity, ..scenario }).unwrap();
        let downspouts = state.downspouts.iter().map(|d| d.spilled);
        let openings = state.openings.iter().map(|o| o.escapes);
        let rims = state.tanks.iter().map(|t| t.over_rim);
        downspouts.chain(openings).chain(rims).map(|out| out.to_m3_per_s() > 0.0).collect()
    };
    let (in_a_drizzle, in_a_flood) = (leaves(1e-4), leaves(10.0));
    let all = rains.downspouts.iter().chain(&rains.openings).chain(&rains.rims);
    for (place, rain) in all.enumerate() {
        match rain.map(|r| r.to_m_per_s() / scenario.intensity.to_m_per_s()) {
            Some(0.0) => assert!(in_a_drizzle[place], "{name} {place}"),
            Some(factor) => {
                assert!(!leaves(0.999 * factor)[place], "{name} {place} below {factor}");
                assert!(leaves(1.001 * factor)[place], "{name} {place} above {factor}");
            }
            None => assert!(!in_a_flood[place], "{name} {place}"),
        }
    }
    let some = |rains: &[Option<Intensity>]| {
        rains.iter().flatten().filter(|rain| rain.to_m_per_s() > 0.0).count()
    };
    Seen { openings: some(&rains.openings), rims: some(&rains.rims) }
}

/// How many spill rains of openings and rims were found above none.
#[derive(Debug, Default)]
struct Seen {
    openings: usize,
    rims: usize,
}

#[test]
fn spill_rains_are_where_the_steady_state_begins_to_spill() {
    let plain = Kinds { junctions: false, overflows: false, crests: false, ..EVERYTHING };
    let tanks = Kinds { overflows: true, low_lips: false, ..plain };
    for (name, kinds) in [("lips", plain), ("tanks", tanks)] {
        let mut seen = Seen::default();
        for seed in 0..cases() {
            let (network, scenario) = site(seed, kinds);
            let found = spill_rains_hold(&format!("{name} {seed}"), &network, scenario);
            seen.openings += found.openings;
            seen.rims += found.rims;
        }
        println!("{name}: {seen:?}");
        assert!(seen.openings > 50 && (name == "lips" || seen.rims > 20), "{name} {seen:?}");
    }
}

#[test]
fn spill_rains_of_many_downspouts_are_told_apart() {
    for lip_m in [2.05, 2.4] {
        let network = tree(600, lip_m);
        spill_rains_hold(
            &format!("lip at {lip_m} m"),
            &network,
            scenario(FrictionLaw::DarcyWeisbach),
        );
    }
}

/// The tank's level rises with all that it receives, and drowns the last line's end.
#[test]
fn spill_rains_of_a_tree_with_a_piped_overflow_are_told_apart() {
    let full = scenario(FrictionLaw::DarcyWeisbach);
    let full = Scenario { tanks: TankState::Full, ..full };
    for (lines, lip_m) in [(300, 2.05), (1_000, 2.4)] {
        spill_rains_hold(&format!("{lines} lines, lips from {lip_m} m"), &bush(lines, lip_m), full);
    }
}

/// A tank whose overflow ends in the water of one that may stand above its rim: what passes stops
/// there at once, and Newton's steps leap from one side to the other.
#[test]
fn an_overflow_that_stops_at_the_rim() {
    let kinds = Kinds { junctions: false, crests: false, low_lips: false, ..EVERYTHING };
    let (network, storm) = site(76, kinds);
    for rain in [1.2, 1.2568, 1.3] {
        let intensity = Intensity::m_per_s(rain * storm.intensity.to_m_per_s());
        wetrun_solver::solve(&network, &Scenario { intensity, ..storm }).unwrap();
    }
}

/// A thousand and more downspouts are told apart, those that spill from those that hold, in a few
/// dozen steps, whatever the height of their lips.
#[test]
fn thousands_of_downspouts_are_told_apart_in_few_steps() {
    for (lines, lip_m) in [(3_000, 2.05), (10_000, 2.05), (10_000, 2.5)] {
        let network = tree(lines, lip_m);
        let state = wetrun_solver::solve(&network, &scenario(FrictionLaw::DarcyWeisbach)).unwrap();
        let spilling = state.downspouts.iter().filter(|d| d.spilled.to_m3_per_s() > 0.0).count();
        assert!(spilling > 400 && spilling < state.downspouts.len(), "{lines} {lip_m} {spilling}");
        assert!(state.residuals.iterations <= 30, "{lines} {lip_m} {:?}", state.residuals);
    }
}

/// Rains of about 0.001 and 0.0001 mm/h, in which the depth over a crest is near the last digits of
/// a head. Thinner ones are counted with `WETRUN_LONG`.
#[test]
fn the_thinnest_drizzles() {
    let crests = Kinds { junctions: false, ..EVERYTHING };
    let loops = Kinds { crests: false, ..crests };
    let kinds = [("loops", loops), ("crests", crests)];
    for (name, kinds) in kinds {
        for rain in [1e-5, 1e-6] {
            these_converge_in(&format!("{name}, {rain:e} of the storm"), kinds, rain, 40);
        }
    }
    if std::env::var_os("WETRUN_LONG").is_none() {
        return;
    }
    for (name, kinds) in kinds.into_iter().chain([("everything", EVERYTHING)]) {
        for rain in [1e-7, 1e-9, 1e-12] {
            let unsolved = (0..cases()).filter(|&seed| {
                let (network, storm) = site(seed, kinds);
                let intensity = Intensity::m_per_s(rain * storm.intensity.to_m_per_s());
                wetrun_solver::solve(&network, &Scenario { intensity, ..storm }).is_err()
            });
            println!("{name}, {rain:e} of the storm: {} unsolved", unsolved.count());
        }
    }
}
