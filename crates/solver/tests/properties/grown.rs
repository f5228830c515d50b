//! Wyes and tees can allow more than one steady state: the answer is the one that growing rain
//! reaches, whatever rain it is asked for.

use crate::support::random::{EVERYTHING, Kinds, site};
use wetrun_network::Network;
use wetrun_solver::Scenario;
use wetrun_units::Intensity;

const SEVERAL: Kinds = Kinds { crests: false, rims: false, openings: false, most: 6, ..EVERYTHING };
/// Rains that are looked at, evenly from nothing to the storm.
const RAINS: u32 = 16;
/// A jump stays one when its rains are halved so many times.
const HALVINGS: u32 = 12;
const JUMP_M: f64 = 2e-3;

fn heads(network: &Network, scenario: &Scenario, share: f64) -> Vec<f64> {
    let intensity = Intensity::m_per_s(share * scenario.intensity.to_m_per_s());
    let scenario = Scenario { intensity, ..*scenario };
    let state = wetrun_solver::solve(network, &scenario).expect("a steady state");
    state.points.iter().map(|point| point.head.to_m()).collect()
}

fn apart(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
}

/// The heads on both sides of a jump between two shares of the rain, where there is one.
fn jump(
    network: &Network,
    scenario: &Scenario,
    mut low: (f64, Vec<f64>),
    mut high: (f64, Vec<f64>),
) -> Option<(f64, Vec<f64>, Vec<f64>)> {
    for _ in 0..HALVINGS {
        if apart(&low.1, &high.1) < JUMP_M {
            return None;
        }
        let share = 0.5 * (low.0 + high.0);
        let middle = heads(network, scenario, share);
        match apart(&low.1, &middle) >= apart(&middle, &high.1) {
            true => high = (share, middle),
            false => low = (share, middle),
        }
    }
    let still = apart(&low.1, &high.1) >= JUMP_M;
    still.then_some((high.0, low.1, high.1))
}

/// Each rain's state is found by its own growth from nothing, over other rains than that of the
/// next. Where water has left one way of flowing as the rain grew, more rain does not bring it back
/// to it: a jump is never undone by the next.
#[test]
fn rain_that_grows_never_goes_back() {
    let (mut jumps, mut networks) = (0, 0);
    let most = u64::from(crate::cases()) / 2;
    for seed in 0..most {
        let (network, scenario) = site(91_000 + seed, SEVERAL);
        if network.points().iter().all(|point| point.fitting.is_none()) {
            continue;
        }
        networks += 1;
        let share = |k: u32| f64::from(k) / f64::from(RAINS);
        let states: Vec<(f64, Vec<f64>)> =
            (1..=RAINS).map(|k| (share(k), heads(&network, &scenario, share(k)))).collect();
        let mut before: Option<(f64, Vec<f64>, Vec<f64>)> = None;
        for pair in states.windows(2) {
            let found = jump(&network, &scenario, pair[0].clone(), pair[1].clone());
            let Some((at, low, high)) = found else { continue };
            jumps += 1;
            if let Some((first, from, to)) = &before {
                let undone = low.iter().zip(&high).zip(from.iter().zip(to)).any(
                    |((low, high), (from, to))| {
                        (high - low).abs() >= JUMP_M
                            && (to - from).abs() >= JUMP_M
                            && ((high - low) + (to - from)).abs() < 0.2 * (to - from).abs()
                    },
                );
                assert!(!undone, "seed {seed}: a jump at {first} of the rain is undone at {at}");
            }
            before = Some((at, low, high));
        }
    }
    assert!(networks > 20, "{networks}");
    println!("{jumps} jumps in {networks} networks");
}
