//! Loops and lines between tanks: the answer of a full search is the best of all combinations,
//! and the bound of a search cut short never passes it.

use crate::brute;
use crate::random::{Kind, problem};
use crate::trees::seeds;
use wetrun_design::size::{Outcome, choose};

pub(crate) const LOOPS: Kind = Kind {
    downspouts: 3,
    points: 4,
    tanks: 2,
    extra_lines: 2,
    crests: false,
    junctions: false,
    openings: false,
    sizes: 3,
    open: 0.9,
    most_open: 6,
    head_m: 0.8,
};

fn agrees(kind: Kind, seeds: std::ops::Range<u64>) {
    let (mut chosen, mut none, mut cut) = (0, 0, 0);
    for seed in seeds {
        let problem = problem(seed, kind);
        let tried = brute::all(&problem);
        if tried.unsolved > 0 {
            continue;
        }
        match (choose(&problem, usize::MAX, &mut |_| {}).unwrap(), tried.best) {
            (Outcome::Chosen(found), Some(best)) => {
                chosen += 1;
                let cost = found.design.cost;
                assert!((cost - best).abs() <= 1e-9 * best, "seed {seed}: {cost} for {best}");
                assert!(found.proven, "seed {seed} is not proven");
            }
            (Outcome::NoneWorks(found), None) => {
                none += 1;
                assert!(found.proven, "seed {seed} is not proven");
            }
            (Outcome::Chosen(_), None) => panic!("seed {seed}: nothing works, yet one was chosen"),
            (Outcome::NoneWorks(_), Some(best)) => panic!("seed {seed}: {best} works"),
        }
        for most in [0, 1, 3, 10, 30, 100, 300] {
            match choose(&problem, most, &mut |_| {}).unwrap() {
                Outcome::Chosen(found) => {
                    let best = tried.best.expect("one works");
                    assert!(found.lower_bound <= best * (1.0 + 1e-9), "seed {seed}, {most} solves");
                    assert!(found.design.cost >= best * (1.0 - 1e-9), "seed {seed}");
                    assert!(found.design.fault.is_none(), "seed {seed}");
                    assert_eq!(
                        found.proven,
                        (found.lower_bound - found.design.cost).abs() <= 1e-9 * found.design.cost,
                        "seed {seed}"
                    );
                    cut += usize::from(!found.proven);
                }
                Outcome::NoneWorks(found) => {
                    let best = tried.best.unwrap_or(f64::INFINITY);
                    assert!(found.lower_bound <= best, "seed {seed}, {most} solves");
                    assert!(!found.proven || tried.best.is_none(), "seed {seed}");
                    cut += usize::from(!found.proven);
                }
            }
        }
    }
    assert!(chosen > 0 && none > 0 && cut > 0);
}

#[test]
fn loops_and_lines_between_tanks() {
    agrees(LOOPS, seeds(25, 200));
}

#[test]
fn loops_with_crests() {
    agrees(Kind { crests: true, head_m: 1.2, ..LOOPS }, seeds(25, 200));
}

#[test]
fn loops_with_wyes_and_tees() {
    agrees(Kind { junctions: true, head_m: 1.5, ..LOOPS }, seeds(25, 200));
}

#[test]
fn many_loops() {
    agrees(Kind { extra_lines: 5, points: 5, sizes: 4, ..LOOPS }, seeds(8, 120));
}

#[test]
fn loops_that_tanks_may_feed() {
    agrees(Kind { tanks: 3, extra_lines: 4, head_m: 0.5, ..LOOPS }, seeds(20, 200));
}

#[test]
fn loops_with_vents_and_rims() {
    agrees(Kind { openings: true, ..LOOPS }, seeds(25, 200));
}

/// Too many sets to try all: what is chosen works as a whole, and the proof is reached.
#[test]
fn larger_loops_are_proven() {
    let kind = Kind { downspouts: 8, points: 10, extra_lines: 3, sizes: 6, open: 1.0, ..LOOPS };
    for seed in seeds(5, 16) {
        let problem = problem(seed, Kind { most_open: usize::MAX, ..kind });
        match choose(&problem, 100_000, &mut |_| {}).unwrap() {
            Outcome::Chosen(found) => {
                assert!(
                    found.proven,
                    "seed {seed}: {} of {}",
                    found.lower_bound, found.design.cost
                );
                let network = brute::network(&problem, &found.design.sizes);
                let state = wetrun_solver::solve(&network, &problem.scenario).unwrap();
                assert!(brute::works(&problem, &network, &state), "seed {seed} does not work");
            }
            Outcome::NoneWorks(found) => assert!(found.proven, "seed {seed}"),
        }
    }
}
