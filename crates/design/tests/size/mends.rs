//! Where nothing works: each change of level that is said to mend it does, and half a
//! millimetre less does not.

use crate::brute;
use crate::random::{Kind, problem};
use crate::trees::seeds;
use wetrun_design::size::{Mend, Outcome, Problem, choose};
use wetrun_network::{End, Network};
use wetrun_units::Length;

const LOW: Kind = Kind {
    downspouts: 3,
    points: 3,
    tanks: 1,
    extra_lines: 0,
    crests: false,
    junctions: false,
    openings: false,
    sizes: 3,
    open: 0.8,
    most_open: 4,
    head_m: 0.2,
};

/// The problem with a change of level made, short of what was told by `short_m`.
fn mended(problem: &Problem, mend: Mend, short_m: f64) -> Problem {
    let by = Length::m(mend.by().to_m() - short_m);
    let mut parts = problem.network.to_parts();
    let raise = |d: &mut wetrun_network::Downspout| {
        d.outlet = d.outlet + by;
        d.lip = d.lip + by;
        d.leaf_head = d.leaf_head.map(|rim| rim + by);
    };
    match mend {
        Mend::Raise(id, _) => raise(&mut parts.downspouts[id.index()]),
        Mend::RaiseAll(_) => parts.downspouts.iter_mut().for_each(raise),
        Mend::Lower(tank, _) => {
            let this = &mut parts.tanks[tank.index()];
            this.inlet = this.inlet - by;
            if let Some(overflow) = &mut this.overflow {
                overflow.level = overflow.level - by;
            }
            for line in &mut parts.lines {
                let last = line.profile.len() - 1;
                for (end, station) in [(line.from, 0), (line.to, last)] {
                    if end == End::Tank(tank) {
                        let level = line.profile[station].level - by;
                        for station in &mut line.profile {
                            let lower = station.level.to_m().min(level.to_m());
                            station.level = Length::m(lower);
                        }
                    }
                }
            }
        }
    }
    Problem { network: Network::build(parts).unwrap(), ..problem.clone() }
}

#[test]
fn on_trees_the_least_change_of_level_is_the_least() {
    are_least(LOW, seeds(150, 400));
}

#[test]
fn on_loops_the_least_change_of_level_is_the_least() {
    are_least(Kind { extra_lines: 2, tanks: 2, points: 4, ..LOW }, seeds(100, 300));
}

fn are_least(kind: Kind, seeds: std::ops::Range<u64>) {
    let (mut seen, mut with_mend) = (0, 0);
    for seed in seeds {
        let problem = problem(seed, kind);
        let Outcome::NoneWorks(none) = choose(&problem, 100_000, &mut |_| {}).unwrap() else {
            continue;
        };
        seen += 1;
        let rising: Vec<f64> = none.mends.iter().map(|m| m.by().to_m()).collect();
        assert!(rising.windows(2).all(|w| w[0] <= w[1]), "seed {seed}: {rising:?}");
        for &mend in &none.mends {
            with_mend += 1;
            let enough = brute::all(&mended(&problem, mend, 0.0));
            assert!(enough.best.is_some(), "seed {seed}: {mend:?} is not enough");
            let short = brute::all(&mended(&problem, mend, 5e-4_f64.min(mend.by().to_m())));
            assert!(short.best.is_none(), "seed {seed}: less than {mend:?} is enough");
        }
    }
    assert!(seen > 10 && with_mend > 20);
}
