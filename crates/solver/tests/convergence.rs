//! Every random network converges: trees, loops, several tanks, spills, fountains, crests,
//! cascades, wyes and tees, both laws, any temperature.

#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

mod support;

use support::random::{EVERYTHING, Kinds, PLAIN_TREE, site};
use support::{bush, residuals, scenario, tree};
use wetrun_network::Network;
use wetrun_solver::{FrictionLaw, NotSolved, Prepared, Scenario, Settings, Steady, TankState};
use wetrun_units::Intensity;

const TANKS: Kinds = Kinds { crests: false, junctions: false, ..EVERYTHING };
const MANY_CRESTS: Kinds = Kinds { most: 120, junctions: false, ..EVERYTHING };

fn cases() -> u64 {
    std::env::var("WETRUN_RANDOM_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(300)
}

/// In the storm, in a drizzle, in next to none and in a flood.
const RAINS: [f64; 4] = [1.0, 0.01, 1e-4, 10.0];
/// So many failures of a family are told one by one.
const TOLD: usize = 40;

fn all_converge(name: &str, kinds: Kinds) {
    these_converge(name, kinds, &RAINS, cases());
}

/// Every failure of a family is told, with its seed and rain, not just the first.
fn these_converge(name: &str, kinds: Kinds, rains: &[f64], seeds: u64) {
    let mut failed = Vec::new();
    for &rain in rains {
        let mut steps = 0_u64;
        let mut most = 0;
        let mut fallbacks = 0;
        for seed in 0..seeds {
            let (network, scenario) = site_in(seed, kinds, rain);
            let mut prepared = Prepared::new(&network, &scenario).unwrap();
            let solved = prepared.steady();
            fallbacks += u32::from(prepared.fallbacks() > 0);
            match solved {
                Ok(state) => {
                    holds(&format!("{name} {seed} {rain}"), &network, &scenario, &state);
                    steps += u64::from(state.residuals.iterations);
                    most = most.max(state.residuals.iterations);
                }
                Err(error) => failed.push(format!("seed {seed}, rain {rain}: {error}")),
            }
        }
        println!(
            "{name}, {rain:e} of the storm: {steps} steps for {seeds} networks, at most {most}, \
             {fallbacks} by a fallback"
        );
    }
    let told = failed[..failed.len().min(TOLD)].join("\n");
    assert!(failed.is_empty(), "{name}: {} failed\n{told}", failed.len());
}

fn site_in(seed: u64, kinds: Kinds, rain: f64) -> (Network, Scenario) {
    let (network, storm) = site(seed, kinds);
    let intensity = Intensity::m_per_s(rain * storm.intensity.to_m_per_s());
    (network, Scenario { intensity, ..storm })
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
    all_converge("tanks", TANKS);
}

#[test]
fn crests() {
    all_converge("crests", Kinds { junctions: false, overflows: false, ..EVERYTHING });
}

/// What neither Newton's method nor the transient solves: the first is left to the search on the
/// heads, the second, where two starts of two such searches each lead nowhere, to a heavier rain that
/// dies down.
#[test]
fn networks_that_need_a_fallback() {
    assert!(these_solve(EVERYTHING, &[(913, 1e-4)]) > 0);
    assert!(these_solve(TANKS, &[(14614, 1e-4)]) > 4);
}

/// Each of these solves; gives how many fallbacks they took.
fn these_solve(kinds: Kinds, cases: &[(u64, f64)]) -> u32 {
    let mut fallbacks = 0;
    for &(seed, rain) in cases {
        let (network, scenario) = site_in(seed, kinds, rain);
        let mut prepared = Prepared::new(&network, &scenario).unwrap();
        let state = prepared.steady().unwrap_or_else(|error| panic!("{seed} {rain}: {error}"));
        holds(&format!("{seed} {rain}"), &network, &scenario, &state);
        fallbacks += prepared.fallbacks();
    }
    fallbacks
}

/// A tank at its rim lets through its overflow what the water beyond leaves it: that water's level rules
/// there, however much the tank receives.
#[test]
fn overflows_against_water_near_the_rim() {
    let of_tanks = [(14714, 1.0), (21131, 1.0), (33635, 1.0), (33635, 10.0), (36775, 10.0)];
    let others =
        [(3511, 1.0), (4827, 1.0), (23506, 1.0), (24139, 1.0), (37741, 1.0), (29775, 10.0)];
    assert_eq!(these_solve(TANKS, &of_tanks), 0);
    assert_eq!(these_solve(EVERYTHING, &others), 0);
    assert_eq!(these_solve(MANY_CRESTS, &[(168, 10.0)]), 0);
}

/// The same where all of a small flow passes a tenth of a millimetre below the rim and none at it: the
/// tangent leads past the rim, and steps go round.
#[test]
fn an_overflow_that_shuts_within_a_tenth_of_a_millimetre() {
    assert_eq!(these_solve(TANKS, &[(23715, 10.0)]), 0);
}

/// What tanks feed leaves by an opening, many times the drizzle around it.
#[test]
fn openings_that_let_out_far_more_than_the_rain() {
    assert_eq!(these_solve(EVERYTHING, &[(31650, 0.01), (34110, 0.01), (17708, 1e-4)]), 0);
}

/// A pool that takes up a ten-thousandth of the rain fills to its crest before Newton's steps begin.
#[test]
fn pools_that_a_trickle_fills() {
    assert_eq!(these_solve(MANY_CRESTS, &[515, 1411, 3442, 3939].map(|seed| (seed, 1.0))), 0);
    let in_a_flood = [180, 1135, 1350, 1829, 2925].map(|seed| (seed, 10.0));
    assert_eq!(these_solve(MANY_CRESTS, &in_a_flood), 0);
}

/// A time step that throws a head metres below every invert leaves a pool that would take hundreds to
/// fill: the next transient lifts it.
#[test]
fn heads_thrown_below_the_pipes() {
    assert_eq!(these_solve(MANY_CRESTS, &[(3421, 1.0), (2556, 10.0)]), 0);
}

/// A full tank that falls to its overflow and gives to a line: a last digit of its level is no other.
#[test]
fn a_tank_at_its_overflow() {
    assert_eq!(these_solve(MANY_CRESTS, &[(1060, 1.0), (393, 10.0)]), 0);
}

/// A drizzle beside what tanks feed, grown from a thousandth of it, is lost in the last digits.
#[test]
fn a_drizzle_beside_what_tanks_feed() {
    let large = Kinds { most: 150, ..EVERYTHING };
    assert_eq!(these_solve(large, &[(8, 1e-4), (28, 1e-4), (43, 1e-4)]), 0);
}

/// Pools that hold each other up take thousands of steps to fill.
#[test]
fn pools_that_fill_slowly() {
    assert_eq!(these_solve(MANY_CRESTS, &[(1646, 1.0), (2298, 1.0)]), 0);
}

/// A tank that only the trickles of a search reached stands at its overflow once they are taken for
/// none.
#[test]
fn a_tank_that_a_trickle_lifts() {
    assert_eq!(these_solve(MANY_CRESTS, &[(2950, 1.0)]), 0);
}

/// The budget holds over all that a search tries, and what was taken is told either way.
#[test]
fn a_search_takes_no_more_steps_than_it_may() {
    let (network, scenario) = site(7, MANY_CRESTS);
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

/// Up to 300 lines of all kinds; with `WETRUN_LONG` up to 3,000 too.
#[test]
fn everything_by_the_hundred() {
    let large = Kinds { most: 150, ..EVERYTHING };
    these_converge("300 lines", large, &RAINS, cases() / 10);
    these_converge(
        "300 lines without crests",
        Kinds { crests: false, ..large },
        &RAINS,
        cases() / 10,
    );
    if std::env::var_os("WETRUN_LONG").is_none() {
        return;
    }
    let spills = Kinds { most: 1500, low_lips: true, ..PLAIN_TREE };
    these_converge("trees of 3,000 lines", spills, &RAINS, cases() / 10);
    let loops =
        Kinds { loops: true, tanks: 30, overflows: true, openings: true, rims: true, ..spills };
    these_converge("3,000 lines without crests", loops, &RAINS, cases() / 10);
    these_converge("3,000 lines", Kinds { crests: true, ..loops }, &RAINS, cases() / 100);
}

/// Up to 250 lines, a quarter of them over a crest: pools fill one after another.
#[test]
fn crests_by_the_dozen() {
    these_converge("many crests", MANY_CRESTS, &RAINS, cases() / 10);
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
    let crests = Kinds { crests: true, ..plain };
    for (name, kinds) in [("lips", plain), ("crests", crests), ("tanks", tanks)] {
        let mut seen = Seen::default();
        for seed in 0..cases() {
            let (network, scenario) = site(seed, kinds);
            let found = spill_rains_hold(&format!("{name} {seed}"), &network, scenario);
            seen.openings += found.openings;
            seen.rims += found.rims;
        }
        println!("{name}: {seen:?}");
        assert!(seen.openings > 50 && (name != "tanks" || seen.rims > 20), "{name} {seen:?}");
    }
}

/// A spill that lies ahead by less than the share of the rain by which states stay short of one: the
/// rain grows all the same.
#[test]
fn spill_rains_a_little_ahead() {
    let plain = Kinds { junctions: false, crests: false, low_lips: false, ..EVERYTHING };
    for seed in [659, 1147, 1314] {
        let (network, scenario) = site(seed, plain);
        spill_rains_hold(&format!("tanks {seed}"), &network, scenario);
    }
}

/// States that are passed while the rain grows at wyes hold what they hold, to the last digit.
#[test]
fn spill_rains_at_wyes() {
    let wyes = Kinds { overflows: false, crests: false, ..EVERYTHING };
    let (network, scenario) = site(2371, wyes);
    spill_rains_hold("wyes 2371", &network, scenario);
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
    for rain in [1.2, 1.2568, 1.3] {
        let (network, scenario) = site_in(76, kinds, rain);
        wetrun_solver::solve(&network, &scenario).unwrap();
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
        these_converge(name, kinds, &[1e-5, 1e-6], 40);
    }
    if std::env::var_os("WETRUN_LONG").is_none() {
        return;
    }
    for (name, kinds) in kinds.into_iter().chain([("everything", EVERYTHING)]) {
        for rain in [1e-7, 1e-9, 1e-12] {
            let unsolved = (0..cases()).filter(|&seed| {
                let (network, scenario) = site_in(seed, kinds, rain);
                wetrun_solver::solve(&network, &scenario).is_err()
            });
            println!("{name}, {rain:e} of the storm: {} unsolved", unsolved.count());
        }
    }
}
