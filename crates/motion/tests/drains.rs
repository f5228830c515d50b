//! Random networks whose drains are opened: no step fails, nothing is lost, and what stays is what lies
//! below the lowest way out.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::disallowed_methods,
    clippy::print_stdout
)]

#[path = "../../solver/tests/support/mod.rs"]
mod support;

use support::random::{Dice, PLAIN_TREE, site};
use wetrun_motion::{Flushed, OpenDrain, Scene, TankStart, Watch, flush};
use wetrun_network::{End, Network, PointId};
use wetrun_units::{Length, Speed};

/// The level over which water leaves from each station of each line, and from each downspout: the least
/// highest invert on any way to a drain or a tank's inlet, found by going over all lines until nothing
/// changes.
fn held(network: &Network, drains: &[OpenDrain]) -> (Vec<Vec<f64>>, Vec<f64>) {
    let downspouts = network.downspouts().len();
    let mut nodes = vec![f64::INFINITY; downspouts + network.points().len()];
    for (place, downspout) in network.downspouts().iter().enumerate() {
        nodes[place] = downspout.spill_level().to_m();
    }
    for (id, opening) in network.openings() {
        nodes[downspouts + id.index()] = opening.level.to_m();
    }
    for drain in drains {
        let level = drain.outlet.max(network.point(drain.at).level).to_m();
        let node = &mut nodes[downspouts + drain.at.index()];
        *node = node.min(level);
    }
    let place = |end: End| match end {
        End::Downspout(id) => Some(id.index()),
        End::Point(id) => Some(downspouts + id.index()),
        End::Tank(_) => None,
    };
    let climb = |from: f64, levels: &mut dyn Iterator<Item = f64>| -> Vec<f64> {
        let mut high = from;
        levels
            .map(|level| {
                high = high.max(level);
                high
            })
            .collect()
    };
    let mut lines = Vec::new();
    for _ in 0..=network.lines().len() + 1 {
        lines.clear();
        for line in network.lines() {
            let levels: Vec<f64> = line.profile.iter().map(|s| s.level.to_m()).collect();
            let start =
                |end: End, nodes: &[f64]| place(end).map_or(f64::NEG_INFINITY, |n| nodes[n]);
            let there = climb(start(line.from, &nodes), &mut levels.iter().copied());
            let mut back = climb(start(line.to, &nodes), &mut levels.iter().rev().copied());
            back.reverse();
            let held: Vec<f64> = there.iter().zip(&back).map(|(a, b)| a.min(*b)).collect();
            for (end, level) in [(line.from, held[0]), (line.to, held[held.len() - 1])] {
                if let Some(node) = place(end) {
                    nodes[node] = nodes[node].min(level);
                }
            }
            lines.push(held);
        }
    }
    (lines, nodes)
}

fn area(bore: Length) -> f64 {
    std::f64::consts::FRAC_PI_4 * bore.to_m() * bore.to_m()
}

/// What stays in each line.
fn stays(network: &Network, held: &[Vec<f64>]) -> Vec<f64> {
    let each = network.lines().iter().zip(held);
    each.map(|(line, held)| {
        let stretches = line.profile.windows(2).zip(held.windows(2));
        let wet = stretches.map(|(stations, held)| {
            let level = held[0].min(held[1]);
            let ends = [stations[0].level.to_m(), stations[1].level.to_m()];
            let (low, high) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
            let length = (stations[1].at - stations[0].at).to_m();
            let share = if level >= high && level > low {
                1.0
            } else if level <= low {
                0.0
            } else {
                (level - low) / (high - low)
            };
            length * share
        });
        area(line.pipe.inside) * wet.sum::<f64>()
    })
    .collect()
}

/// A system with some drains opened, and what came of it.
struct Opened {
    network: Network,
    drains: Vec<OpenDrain>,
    flushed: Flushed,
}

/// A random system with every second of its drains opened, of a share of the usual bore.
fn opened(seed: u64, narrower: f64) -> Option<Result<Opened, String>> {
    let (network, scenario) = site(seed, PLAIN_TREE);
    let mut dice = Dice::cold(seed ^ 0xd2a1);
    let mut drains = Vec::new();
    for at in (0..network.points().len()).map(PointId::new) {
        if dice.chance(0.5) {
            drains.push(OpenDrain {
                at,
                bore: Length::m(narrower * dice.between(0.02, 0.1)),
                outlet: network.point(at).level - Length::m(dice.between(0.0, 0.5)),
                k: dice.between(0.0, 2.0),
            });
        }
    }
    if drains.is_empty() {
        return None;
    }
    let scene = Scene {
        network: &network,
        law: scenario.law,
        temperature: scenario.temperature,
        roofs: Vec::new(),
        gutters: vec![None; network.downspouts().len()],
        tanks: vec![TankStart::Empty; network.tanks().len()],
        watch: Watch::default(),
    };
    let flushed = flush(&scene, &drains, &[], Speed::m_per_s(0.7));
    let flushed = flushed.map_err(|error| format!("{seed}: {error}"));
    drop(scene);
    Some(flushed.map(|flushed| Opened { network, drains, flushed }))
}

/// What stays in the lines, what their sags could hold, and what stood.
fn kept(opened: &Opened) -> [f64; 3] {
    let (held, _) = held(&opened.network, &opened.drains);
    let most = stays(&opened.network, &held).iter().sum();
    let left = opened.flushed.left_in_lines.iter().map(|left| left.to_m3()).sum();
    [left, most, opened.flushed.stood.to_m3()]
}

/// So many seeds, and as many as that in a long run; `WETRUN_FIRST` begins further on.
fn seeds(default: u64, long: u64) -> std::ops::Range<u64> {
    let first: u64 = std::env::var("WETRUN_FIRST").ok().and_then(|t| t.parse().ok()).unwrap_or(0);
    let count = std::env::var("WETRUN_CASES").ok().and_then(|t| t.parse().ok());
    let usual = if std::env::var_os("WETRUN_LONG").is_some() { long } else { default };
    first..first + count.unwrap_or(usual)
}

#[test]
fn random_systems_drain_to_their_sags() {
    let (mut steps, mut runs, mut late, mut plugs, mut bad) = (0, 0, 0, 0, Vec::new());
    let mut carried = 0.0_f64;
    for seed in seeds(6, 1000) {
        let opened = match opened(seed, 1.0) {
            None => continue,
            Some(Ok(opened)) => opened,
            Some(Err(error)) => {
                bad.push(error);
                continue;
            }
        };
        let flushed = &opened.flushed;
        runs += 1;
        steps += flushed.steps;
        let [left, most, stood] = kept(&opened);
        if flushed.balance.to_m3().abs() > 1e-9 * stood + 1e-12 {
            let off = flushed.balance.to_m3();
            bad.push(format!("{seed}: {off:e} of {stood} is not accounted for"));
        }
        // Water that is on its way takes some over a crest with it.
        if left > most + 2e-3 * stood + 1e-5 || left < 0.9 * most - 2e-3 * stood {
            let ended = flushed.ended.to_s();
            bad.push(format!("{seed}: {left} left, {most} lies in sags, of {stood}, {ended}"));
        }
        carried = carried.max((most - left) / stood);
        late += u32::from(flushed.cut_off);
        plugs += u32::from(flushed.as_plugs);
    }
    println!(
        "{runs} runs, {} steps each, {late} cut off, {plugs} as plugs, {carried:.4} carried over",
        steps / runs.max(1)
    );
    // The cruder law is the exception.
    assert!(plugs * 10 <= runs, "{plugs} of {runs} as plugs");
    assert!(bad.is_empty(), "{} of {runs}: {bad:#?}", bad.len());
}

/// Through drains of a tenth of the bore water comes so slowly that it has no momentum to speak of:
/// what stays is what the sags hold, but for the films that count as gone.
#[test]
fn without_momentum_what_stays_is_what_the_sags_hold() {
    let (mut runs, mut bad) = (0, Vec::new());
    let mut worst = 0.0_f64;
    for seed in seeds(4, 200) {
        let Some(opened) = opened(seed, 0.1) else { continue };
        let opened = opened.unwrap();
        runs += 1;
        let [left, most, stood] = kept(&opened);
        worst = worst.max((left - most).abs() / stood);
        if opened.flushed.cut_off || (left - most).abs() > 2e-3 * stood + 1e-5 {
            bad.push(format!("{seed}: {left} left, {most} lies in sags, of {stood}"));
        }
    }
    println!("{runs} runs, at most {worst:.5} of what stood apart");
    assert!(bad.is_empty(), "{} of {runs}: {bad:#?}", bad.len());
}
