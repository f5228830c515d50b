//! Times sizing on trees, beside the same trees as a mixed-integer program in a general solver.

#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "../tests/size/program.rs"]
#[allow(dead_code, unused_imports)]
mod program;
#[path = "../tests/size/random.rs"]
#[allow(dead_code, unused_imports)]
mod random;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use random::{Shape, tree};
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
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
