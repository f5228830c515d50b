//! Times sizing on loops, and on trees beside the same as a mixed-integer program in a general solver.

#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "../tests/size/program.rs"]
#[allow(dead_code, unused_imports)]
mod program;
#[path = "../tests/size/random.rs"]
#[allow(dead_code, unused_imports)]
mod random;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use random::{Kind, Shape, problem, tree};
use std::time::Duration;
use wetrun_design::size::choose;

fn bench(c: &mut Criterion) {
    let mut group = c.benchmark_group("size");
    group.sample_size(10).warm_up_time(Duration::from_millis(200));
    group.measurement_time(Duration::from_secs(1));
    for shape in [Shape::Comb, Shape::Bush, Shape::Row] {
        for lines in [15, 40, 200, 1000] {
            let problem = tree(7, lines, 6, shape, 0.5);
            let id = BenchmarkId::new("fronts", format!("{shape:?}-{lines}x6"));
            group.bench_function(id, |b| b.iter(|| choose(&problem, 0, &mut |_| {}).unwrap()));
        }
        for (lines, sizes) in [(15, 6), (40, 3)] {
            let problem = tree(7, lines, sizes, shape, 0.5);
            let of = format!("{shape:?}-{lines}x{sizes}");
            let id = BenchmarkId::new("program", &of);
            group.bench_function(id, |b| b.iter(|| program::least_cost(&problem)));
            let id = BenchmarkId::new("fronts-beside-program", &of);
            group.bench_function(id, |b| b.iter(|| choose(&problem, 0, &mut |_| {}).unwrap()));
        }
    }
    // Larger loops: up to 11 lines on them and 6 sizes each, 10 points, 8 downspouts, 2 tanks.
    let kind = Kind {
        downspouts: 8,
        points: 10,
        tanks: 2,
        extra_lines: 3,
        crests: false,
        junctions: false,
        openings: false,
        sizes: 6,
        open: 1.0,
        most_open: usize::MAX,
        head_m: 0.8,
    };
    for seed in 0..16 {
        let problem = problem(seed, kind);
        let id = BenchmarkId::new("loops", seed);
        group.bench_function(id, |b| b.iter(|| choose(&problem, 100_000, &mut |_| {}).unwrap()));
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
