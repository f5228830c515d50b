//! The same networks by a general conic solver (clarabel 0.11): a formulation of its own, whose
//! only common ground with ours is the network and the laws in their plain form.
//!
//! * *Exact*: Hazen-Williams, full tanks whose inlets are drowned. Friction is a power cone of
//!   1 + 1/0.54, fittings and the velocity head lost in a tank are cubes, a lip is a bound on what
//!   a downspout takes, an inlet's limit a bound on what a tank gives. Trees, loops, several tanks
//!   that feed and are fed, spills, fountains: nothing of our answer goes in.
//! * *Free outfalls*: the energy at an outfall is no power of its flow. Each outfall's level is
//!   held at the energy of the flow that our answer has there, worked out by bisection. The held
//!   problem is convex and has one answer: ours is right only if it comes back.
//! * *Darcy-Weisbach*: each friction factor is held at that of our answer (h = r Q|Q|; laminar
//!   h = r Q), by the plain Colebrook-White. Again the held problem must return our answer.
#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "tests"
)]

mod conic;
#[path = "../properties/plain.rs"]
mod plain;
#[path = "../support/mod.rs"]
mod support;

use conic::{Edge, Loss, Outside};
use plain::Wall;
use support::random::{Dice, Kinds, PLAIN_TREE, site};
use wetrun_network::{End, Network, Parts, Pipe};
use wetrun_solver::{FrictionLaw, Scenario, Steady, TankState, laws::water};
use wetrun_units::{Area, Length};

/// Agreement asked for: metres of head, and share of the total flow.
const HEAD_M: f64 = 1e-6;
const FLOW: f64 = 1e-7;
/// A loss that tells its flow.
const TOLD_M: f64 = 1e-6;
/// A difference of losses that is nothing.
const UNTOLD_M: f64 = 1e-10;

fn cases() -> u64 {
    std::env::var("WETRUN_RANDOM_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(20)
}

/// How tanks take the water in.
#[derive(Clone, Copy, PartialEq)]
enum Tanks {
    Drowned,
    Free,
}

/// A random network with the sizes of a wet system: no pipe so wide or so short that the flow in
/// it cannot be told from its ends.
fn network(seed: u64, kinds: Kinds, law: FrictionLaw, tanks: Tanks) -> (Network, Scenario) {
    let (drawn, mut scenario) = site(seed, kinds);
    let mut dice = Dice::cold(seed ^ 0x5EED);
    let mut parts = Parts {
        downspouts: drawn.downspouts().to_vec(),
        points: drawn.points().to_vec(),
        lines: drawn.lines().to_vec(),
        tanks: drawn.tanks().to_vec(),
    };
    scenario.law = law;
    scenario.tanks = if tanks == Tanks::Drowned { TankState::Full } else { TankState::Empty };
    for d in &mut parts.downspouts {
        d.catchment = Area::m2(dice.between(0.2e-3, 6e-3));
        d.pipe.inside = Length::m(dice.pick(&[0.05, 0.075, 0.1]));
        d.k = dice.between(0.2, 2.0);
    }
    for line in &mut parts.lines {
        line.pipe.inside = Length::m(dice.pick(&[0.05, 0.0779, 0.1]));
    }
    if tanks == Tanks::Drowned {
        for tank in &mut parts.tanks {
            let mut overflow = support::overflow(tank.inlet.to_m(), None, None);
            overflow.level = tank.inlet + Length::m(dice.between(0.3, 0.9));
            tank.overflow = Some(overflow);
        }
    }
    (Network::build(parts).expect("still a network"), scenario)
}

/// The losses of a pipe: exact by Hazen-Williams, with the factor held by Darcy-Weisbach.
fn losses(pipe: &Pipe, length_m: f64, k: f64, scenario: &Scenario, flow: f64) -> Vec<Loss> {
    let bore_m = pipe.inside.to_m();
    let friction = match scenario.law {
        FrictionLaw::HazenWilliams => {
            let wall = Wall::Hazen { c: pipe.c.unwrap() };
            Loss { factor: plain::slope(wall, 1.0, bore_m) * length_m, power: 1.0 / 0.54 }
        }
        FrictionLaw::DarcyWeisbach => {
            let viscosity = water::viscosity(scenario.temperature).to_m2_per_s();
            let reynolds = flow.abs() / plain::area(bore_m) * bore_m / viscosity;
            let roughness_m = pipe.roughness.unwrap().to_m();
            let wall = Wall::Darcy { roughness_m, viscosity };
            if reynolds <= 2000.0 {
                // Laminar: the slope of any flow is that of a small one in proportion.
                let small = 100.0 * viscosity * plain::area(bore_m) / bore_m;
                let factor = plain::slope(wall, small, bore_m) / small * length_m;
                Loss { factor, power: 1.0 }
            } else {
                let factor = plain::slope(wall, flow.abs(), bore_m) / (flow * flow) * length_m;
                Loss { factor, power: 2.0 }
            }
        }
    };
    let fittings = Loss { factor: k * plain::velocity_head(1.0, bore_m), power: 2.0 };
    [friction, fittings].into_iter().filter(|loss| loss.factor > 0.0).collect()
}

/// The edges: the lines, then a way from the lip down to the foot of every downspout.
fn edges(network: &Network, scenario: &Scenario, ours: &Steady) -> Vec<Edge> {
    let downspouts = network.downspouts().len();
    let lines = network.lines().iter().zip(&ours.lines).map(|(line, state)| {
        let bore_m = line.pipe.inside.to_m();
        let flow = state.flow.to_m3_per_s();
        let end = |end: End, into: f64| match end {
            End::Downspout(id) => Outside::Node(id.index()),
            End::Point(id) => Outside::Node(downspouts + id.index()),
            End::Tank(id) => {
                let tank = network.tank(id);
                match &tank.overflow {
                    Some(overflow) if scenario.tanks == TankState::Full => {
                        // No more comes out than the depth over the inlet lets go, critically.
                        let depth = (overflow.level - tank.inlet).to_m();
                        let most =
                            plain::bisect(0.0, 1.0, |q| plain::critical(q, bore_m).0 - depth);
                        let drowned = plain::velocity_head(1.0, bore_m);
                        Outside::Level { level_m: overflow.level.to_m(), drowned, most }
                    }
                    _ => {
                        let energy = plain::critical(into.max(0.0), bore_m).0;
                        let level_m = tank.inlet.to_m() + energy;
                        Outside::Level { level_m, drowned: 0.0, most: 0.0 }
                    }
                }
            }
        };
        Edge {
            ends: [end(line.from, -flow), end(line.to, flow)],
            losses: losses(&line.pipe, line.length.to_m(), line.k, scenario, flow),
            most: f64::INFINITY,
            size: flow.abs(),
        }
    });
    let ways_down = network.downspouts().iter().zip(&ours.downspouts).enumerate();
    let ways_down = ways_down.map(|(index, (downspout, state))| {
        let lip = downspout.spill_level();
        let admitted = state.admitted.to_m3_per_s();
        let wetted_m = (lip - downspout.foot).to_m();
        let reservoir = Outside::Level { level_m: lip.to_m(), drowned: 0.0, most: f64::INFINITY };
        Edge {
            ends: [reservoir, Outside::Node(index)],
            losses: losses(&downspout.pipe, wetted_m, downspout.k, scenario, admitted),
            most: state.demand.to_m3_per_s(),
            size: admitted.abs(),
        }
    });
    // An opening lets water out at its level and none in, without a loss.
    let openings = network.openings().zip(&ours.openings).map(|((id, opening), state)| Edge {
        ends: [
            Outside::Level { level_m: opening.level.to_m(), drowned: 0.0, most: f64::INFINITY },
            Outside::Node(downspouts + id.index()),
        ],
        losses: Vec::new(),
        most: 0.0,
        size: state.escapes.to_m3_per_s(),
    });
    lines.chain(ways_down).chain(openings).collect()
}

/// What was seen over many networks.
#[derive(Debug, Default)]
struct Seen {
    head_m: f64,
    flow: f64,
    spills: usize,
    fountains: usize,
    escapes: usize,
    fed_by_a_tank: usize,
    still_lines: usize,
    left_out: u64,
    coarse: u64,
}

fn compare(name: &str, kinds: Kinds, law: FrictionLaw, tanks: Tanks) {
    let mut seen = Seen::default();
    let mut missed = Vec::new();
    for seed in 0..cases() {
        let (network, scenario) = network(seed, kinds, law, tanks);
        let ours = support::solve(&network, &scenario);
        // So fast a flow that it falls free at the end of a line is no matter of powers.
        if ours.lines.iter().any(|line| line.broken) {
            seen.left_out += 1;
            continue;
        }
        let total: f64 = ours.downspouts.iter().map(|d| d.demand.to_m3_per_s()).sum();
        let edges = edges(&network, &scenario, &ours);
        let nodes = network.downspouts().len() + network.points().len();
        let theirs = conic::solve(nodes, &edges, total)
            .unwrap_or_else(|| panic!("{name} {seed}: the conic solver has no answer"));
        let flows = (ours.lines.iter().map(|l| l.flow))
            .chain(ours.downspouts.iter().map(|d| d.admitted))
            .chain(ours.openings.iter().map(|o| o.escapes * -1.0))
            .map(|flow| flow.to_m3_per_s());
        // No loss is told closer than the misses of its own head equations, which add up round a loop.
        let told_m = UNTOLD_M.max(edges.len() as f64 * theirs.miss_m);
        let mut coarse = false;
        for (edge, (flow, other)) in flows.zip(&theirs.flow).enumerate() {
            let off = (flow - other).abs() / total;
            if edges[edge].loss(flow) > TOLD_M {
                seen.flow = seen.flow.max(off);
            }
            // In a loop where nothing is driven, or next to nothing, losses of 1e-10 m tell no
            // flow from none: |Q|^1.85 is flat there.
            let apart_m = (edges[edge].loss(flow) - edges[edge].loss(*other)).abs();
            if apart_m < UNTOLD_M || off <= FLOW {
                continue;
            }
            coarse |= apart_m < told_m;
            if apart_m >= told_m {
                missed.push(format!("{name} {seed} edge {edge}: {flow} {other} off {off:e}"));
            }
        }
        seen.coarse += u64::from(coarse);
        let heads = (ours.downspouts.iter().map(|d| d.foot_head))
            .chain(ours.points.iter().map(|p| p.head))
            .map(Length::to_m);
        for (node, (head, other)) in heads.zip(&theirs.head_m).enumerate() {
            let off = (head - other).abs();
            if off > HEAD_M {
                missed.push(format!("{name} {seed} node {node}: {head} {other} off {off:e}"));
            }
            seen.head_m = seen.head_m.max(off);
        }
        let some = |found: bool| usize::from(found);
        seen.spills += some(ours.downspouts.iter().any(|d| d.spilled.to_m3_per_s() > 0.0));
        seen.fountains += some(ours.downspouts.iter().any(|d| d.admitted.to_m3_per_s() < 0.0));
        seen.escapes += some(ours.openings.iter().any(|o| o.escapes.to_m3_per_s() > 0.0));
        seen.fed_by_a_tank += some(ours.tanks.iter().any(|t| t.inflow.to_m3_per_s() < 0.0));
        seen.still_lines += some(ours.lines.iter().any(|l| l.flow.to_m3_per_s() == 0.0));
    }
    println!("{name}: {} networks, {seen:?}", cases());
    assert!(seen.left_out * 100 <= cases(), "{name}: {seen:?}");
    assert!(seen.coarse * 1000 <= cases().max(1000), "{name}: {seen:?}");
    assert!(missed.is_empty(), "{} differ:\n{}", missed.len(), missed.join("\n"));
}

const LOOPS: Kinds = Kinds { loops: true, tanks: 3, ..PLAIN_TREE };

#[test]
fn by_hazen_williams_with_drowned_inlets() {
    let hazen = FrictionLaw::HazenWilliams;
    compare("trees", PLAIN_TREE, hazen, Tanks::Drowned);
    compare("trees that spill", Kinds { low_lips: true, ..PLAIN_TREE }, hazen, Tanks::Drowned);
    compare("open loops", Kinds { openings: true, ..LOOPS }, hazen, Tanks::Drowned);
    compare("loops", LOOPS, hazen, Tanks::Drowned);
    compare("loops that spill", Kinds { low_lips: true, ..LOOPS }, hazen, Tanks::Drowned);
}

#[test]
fn by_hazen_williams_with_free_outfalls() {
    let hazen = FrictionLaw::HazenWilliams;
    compare("trees that spill", Kinds { low_lips: true, ..PLAIN_TREE }, hazen, Tanks::Free);
    compare("loops that spill", Kinds { low_lips: true, ..LOOPS }, hazen, Tanks::Free);
}

#[test]
fn by_darcy_weisbach() {
    let darcy = FrictionLaw::DarcyWeisbach;
    for tanks in [Tanks::Drowned, Tanks::Free] {
        compare("trees that spill", Kinds { low_lips: true, ..PLAIN_TREE }, darcy, tanks);
        compare("loops that spill", Kinds { low_lips: true, ..LOOPS }, darcy, tanks);
    }
}
