//! How long a steady state takes: a house against its friction evaluations alone, trees and grids
//! as they grow, and the spill rains of all downspouts.

#![allow(
    clippy::disallowed_methods,
    missing_docs,
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic
)]

#[path = "../tests/support/mod.rs"]
mod support;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use support::random::Dice;
use support::*;
use wetrun_network::Network;
use wetrun_solver::laws::head_loss::friction_factor;
use wetrun_solver::{FrictionLaw, Prepared, Scenario, TankState, spill_rains};

/// A house: six downspouts on one line of 0.1 m to a tank.
fn house() -> Network {
    let mut sketch = Sketch::new();
    for _ in 0..6 {
        sketch = sketch.downspout(downspout(3.6, 0.0, 0.0779, 0.0006));
    }
    for _ in 0..6 {
        sketch = sketch.point(-0.3);
    }
    sketch = sketch.tank(tank(2.5));
    for i in 0..6 {
        sketch = sketch.line(D(i), P(i), 0.0779, 3.0, 1.0);
        let next = if i < 5 { P(i + 1) } else { T(0) };
        sketch = sketch.line(P(i), next, 0.10226, 6.0, 0.5);
    }
    sketch.network()
}

/// A square grid of points of about `lines` lines, a downspout at every tenth point and a tank
/// at one corner.
fn grid(lines: usize) -> Network {
    let side = ((lines as f64 / 2.1).sqrt() as usize).max(2);
    let mut dice = Dice::cold(11);
    let mut sketch = Sketch::new();
    let downspouts = side * side / 10;
    for _ in 0..downspouts {
        sketch = sketch.downspout(downspout(9.0, 0.0, 0.0779, 0.5e-2 / downspouts as f64));
    }
    for _ in 0..side * side {
        sketch = sketch.point(-0.5);
    }
    sketch = sketch.tank(tank(2.0)).line(P(0), T(0), 0.2, 10.0, 0.0);
    for row in 0..side {
        for column in 0..side {
            let here = row * side + column;
            let bore = |dice: &mut Dice| dice.pick(&[0.05, 0.0779, 0.1]);
            if column + 1 < side {
                sketch = sketch.line(P(here), P(here + 1), bore(&mut dice), 5.0, 0.3);
            }
            if row + 1 < side {
                sketch = sketch.line(P(here), P(here + side), bore(&mut dice), 5.0, 0.3);
            }
        }
    }
    for d in 0..downspouts {
        sketch = sketch.line(D(d), P(10 * d), 0.0779, 3.0, 1.0);
    }
    sketch.network()
}

fn storm() -> Scenario {
    scenario(FrictionLaw::DarcyWeisbach)
}

fn house_against_its_friction(c: &mut Criterion) {
    let network = house();
    let mut group = c.benchmark_group("house");
    group.bench_function("steady from the network", |b| {
        b.iter(|| solve(black_box(&network), &storm()));
    });
    let mut prepared = Prepared::new(&network, &storm()).unwrap();
    group.bench_function("steady prepared", |b| b.iter(|| prepared.steady()));
    // One evaluation of Colebrook's factor for every line and every downspout.
    let state = solve(&network, &storm());
    let numbers: Vec<f64> = state.lines.iter().map(|l| l.reynolds).collect();
    group.bench_function("one friction factor for each pipe", |b| {
        b.iter(|| {
            let lines: f64 =
                (numbers.iter()).map(|&re| friction_factor(black_box(re), 1.5e-5)).sum();
            let downspouts: f64 = (0..6).map(|_| friction_factor(black_box(6e3), 2e-5)).sum();
            lines + downspouts
        });
    });
    group.bench_function("spill rains", |b| b.iter(|| spill_rains(black_box(&network), &storm())));
    group.finish();
}

fn growth(c: &mut Criterion) {
    let mut group = c.benchmark_group("growth");
    group.sample_size(10);
    for lines in [100, 10_000, 100_000] {
        let holds = tree(lines, 50.0);
        group.bench_with_input(BenchmarkId::new("tree that holds", lines), &holds, |b, n| {
            b.iter(|| solve(n, &storm()));
        });
        let mut prepared = Prepared::new(&holds, &storm()).unwrap();
        group.bench_function(BenchmarkId::new("tree that holds, prepared", lines), |b| {
            b.iter(|| prepared.steady());
        });
        let spills = tree(lines, 2.05);
        group.bench_with_input(BenchmarkId::new("tree that spills", lines), &spills, |b, n| {
            b.iter(|| solve(n, &storm()));
        });
        let loops = grid(lines);
        group.bench_with_input(BenchmarkId::new("grid", lines), &loops, |b, n| {
            b.iter(|| solve(n, &storm()));
        });
    }
    for lines in [100, 1_000] {
        let network = tree(lines, 2.4);
        group.bench_with_input(BenchmarkId::new("spill rains", lines), &network, |b, n| {
            b.iter(|| spill_rains(n, &storm()));
        });
    }
    let full = Scenario { tanks: TankState::Full, ..storm() };
    for (lines, lip_m) in [(100, 2.4), (1_000, 2.4), (1_000, 4.0), (10_000, 2.4)] {
        let network = bush(lines, lip_m);
        let name = format!("spill rains with a piped overflow, lips from {lip_m} m");
        group.bench_with_input(BenchmarkId::new(name, lines), &network, |b, n| {
            b.iter(|| spill_rains(n, &full));
        });
    }
    group.finish();
}

criterion_group!(benches, house_against_its_friction, growth);
criterion_main!(benches);
