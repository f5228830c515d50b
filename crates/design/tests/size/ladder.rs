//! The next cheaper design: of all combinations that cost less, none lacks less freeboard.

use crate::brute;
use crate::loops::LOOPS;
use crate::random::{Kind, problem};
use crate::trees::{PLAIN, seeds};
use wetrun_design::size::{Fault, Outcome, choose, next_cheaper, trunk, trunk_steps};
use wetrun_units::Intensity;

fn agrees(kind: Kind, seeds: std::ops::Range<u64>) {
    let (mut found, mut by_freeboard) = (0, 0);
    for seed in seeds {
        let problem = problem(seed, kind);
        let Outcome::Chosen(chosen) = choose(&problem, 100_000, &mut |_| {}).unwrap() else {
            continue;
        };
        let below = chosen.design.cost * (1.0 - 1e-9);
        let least_m = brute::least_lack_m(&problem, below);
        let Some(next) = next_cheaper(&problem, &chosen.design, 100_000, &mut |_| {}).unwrap()
        else {
            assert!(least_m > 5.0, "seed {seed}: one lacks {least_m} m only");
            continue;
        };
        found += 1;
        assert!(next.proven && next.design.cost < below, "seed {seed}");
        assert!(next.lacks.to_m() <= least_m + 6e-4, "seed {seed}: {least_m} m");
        if let Some(Fault::Freeboard { short, .. }) = &next.design.fault {
            by_freeboard += 1;
            assert!(short.to_m() >= least_m - 1e-9, "seed {seed}: {least_m} m");
            assert!(short.to_m() <= next.lacks.to_m() + 1e-9, "seed {seed}");
        }
    }
    assert!(found > 0 && by_freeboard > 0);
}

#[test]
fn trees() {
    agrees(PLAIN, seeds(30, 200));
}

#[test]
fn loops() {
    agrees(LOOPS, seeds(40, 100));
}

/// In its own size the trunk's row costs no more than the chosen design, however few the tries.
#[test]
fn the_trunk_in_its_own_size_costs_no_more() {
    let kind = Kind { downspouts: 8, points: 10, extra_lines: 3, sizes: 6, open: 1.0, ..LOOPS };
    let mut looked = 0;
    for seed in 0..16 {
        let problem = problem(seed, Kind { most_open: usize::MAX, ..kind });
        let Outcome::Chosen(chosen) = choose(&problem, 2_000, &mut |_| {}).unwrap() else {
            continue;
        };
        let design = &chosen.design;
        let Some(trunk) = trunk(&problem, design) else { continue };
        let rain = Intensity::m_per_s(20e-3 / 3600.0);
        let steps = trunk_steps(&problem, trunk, design, rain, 20, &mut |_| {}).unwrap();
        let own = steps.iter().find(|step| step.candidate == design.sizes[trunk]).unwrap();
        let cost = own.design.as_ref().unwrap().cost;
        assert!(own.works && cost <= design.cost * (1.0 + 1e-9), "seed {seed}: {cost}");
        looked += 1;
    }
    assert!(looked > 5, "{looked}");
}
