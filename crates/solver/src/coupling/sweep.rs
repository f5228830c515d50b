//! One offset at a time.

use super::{AGREE_M, couplings, largest, miss_of, solve_with};
use crate::steady::{Failed, Solved, Solver};

/// Sweeps, and places looked at for one offset in each.
const SWEEPS: u32 = 12;
const PLACES: u32 = 50;
/// Each offset is settled to this part of what all together need: the others move it again.
const CLOSER: f64 = 0.1;
/// False position keeps this share of its bracket off either end.
const WITHIN: [f64; 2] = [0.02, 0.98];
/// A bracket of so many metres tells no more.
const NARROW_M: f64 = 1e-13;

/// Each offset in turn by false position between two values that miss on either side, in sweeps.
pub(super) fn one_by_one(
    solver: &mut Solver,
    mut solved: Solved,
    mut miss: Vec<f64>,
) -> Result<(Solved, Vec<f64>), Failed> {
    let mut held = couplings(&solver.model, &solved.at);
    for _sweep in 0..SWEEPS {
        for index in 0..held.len() {
            if miss[index].abs() <= CLOSER * AGREE_M {
                continue;
            }
            let (mut near, mut near_miss) = (held[index], miss[index]);
            let mut across: Option<(f64, f64)> = None;
            let mut reach = near_miss;
            for _ in 0..PLACES {
                held[index] = match across {
                    None => near + reach,
                    Some((far, far_miss)) => {
                        let share = near_miss / (near_miss - far_miss);
                        let share = share.clamp(WITHIN[0], WITHIN[1]);
                        near + share * (far - near)
                    }
                };
                reach *= 2.0;
                let trial = solve_with(solver, &solved.at, &held)?;
                miss = miss_of(&solver.model, &trial.at);
                solved = trial;
                let here = miss[index];
                let narrow = across.is_some_and(|(far, _)| (far - near).abs() <= NARROW_M);
                if here.abs() <= CLOSER * AGREE_M || narrow {
                    break;
                }
                if here * near_miss > 0.0 {
                    // Halving the other side's weight keeps the bracket closing from both ends.
                    across = across.map(|(far, far_miss)| (far, 0.5 * far_miss));
                } else {
                    across = Some((near, near_miss));
                }
                (near, near_miss) = (held[index], here);
            }
        }
        if largest(&miss) <= AGREE_M {
            break;
        }
    }
    Ok((solved, miss))
}
