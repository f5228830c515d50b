//! Trees: the cost is that of the best of all combinations, every time, and it is proven.

use crate::brute;
use crate::random::{Kind, problem};
use wetrun_design::size::{Outcome, choose};

pub(crate) const PLAIN: Kind = Kind {
    downspouts: 3,
    points: 4,
    tanks: 1,
    extra_lines: 0,
    crests: false,
    junctions: false,
    openings: false,
    sizes: 4,
    open: 0.9,
    most_open: 5,
    head_m: 0.6,
};

/// As many seeds as the machine is asked for: a few by default, many with `WETRUN_LONG=1`.
pub(crate) fn seeds(short: u64, long: u64) -> std::ops::Range<u64> {
    0..if std::env::var_os("WETRUN_LONG").is_some() { long } else { short }
}

fn agrees(kind: Kind, seeds: std::ops::Range<u64>) {
    let (mut chosen, mut none) = (0, 0);
    for seed in seeds {
        let problem = problem(seed, kind);
        let tried = brute::all(&problem);
        // A tree that takes its whole demand is solved at once: only a state that spills can be
        // one that is not found, and that is no solution.
        match (choose(&problem, 1000, &mut |_| {}).unwrap(), tried.best) {
            (Outcome::Chosen(found), Some(best)) => {
                chosen += usize::from(tried.works < tried.tried);
                let cost = found.design.cost;
                assert!((cost - best).abs() <= 1e-9 * best, "seed {seed}: {cost} for {best}");
                assert!(found.proven, "seed {seed} is not proven");
                assert!((found.lower_bound - cost).abs() <= 1e-9 * cost);
                let network = brute::network(&problem, &found.design.sizes);
                let state = wetrun_solver::solve(&network, &problem.scenario).unwrap();
                assert!(brute::works(&problem, &network, &state), "seed {seed} does not work");
            }
            (Outcome::NoneWorks(found), None) => {
                none += 1;
                assert!(found.proven, "seed {seed} is not proven");
            }
            (Outcome::Chosen(_), None) => panic!("seed {seed}: nothing works, yet one was chosen"),
            (Outcome::NoneWorks(_), Some(best)) => panic!("seed {seed}: {best} works"),
        }
    }
    assert!(chosen > 0 && none > 0);
}

#[test]
fn plain_trees() {
    agrees(PLAIN, seeds(60, 300));
}

#[test]
fn trees_with_crests_cascades_and_several_tanks() {
    agrees(Kind { crests: true, tanks: 3, head_m: 1.2, ..PLAIN }, seeds(60, 300));
}

#[test]
fn trees_with_wyes_and_tees() {
    let kind = Kind { junctions: true, points: 3, downspouts: 4, head_m: 1.5, ..PLAIN };
    agrees(kind, seeds(60, 300));
}

#[test]
fn trees_with_vents_and_rims() {
    agrees(Kind { openings: true, tanks: 2, ..PLAIN }, seeds(60, 300));
    let kind = Kind { junctions: true, points: 3, downspouts: 4, head_m: 1.5, ..PLAIN };
    agrees(Kind { openings: true, ..kind }, seeds(40, 300));
}

#[test]
fn trees_with_everything() {
    let kind = Kind { junctions: true, crests: true, tanks: 2, head_m: 1.5, ..PLAIN };
    agrees(kind, seeds(40, 300));
}
