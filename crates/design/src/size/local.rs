//! A good design on a ring quickly: sizes changed one or two at a time, each set solved.
//!
//! Where a wider line does harm, the widest sizes can fail though others work. So the search goes
//! by how far a set is from working, both wider and narrower, and by cost once it works.

use super::design::DesignError;
use super::ring::{Judged, Ring};

/// The best set of sizes found, with its cost, among those left for each line (the smallest bore
/// first), started from several sets, with at most `most` solves. With `any` the first that works
/// will do. `tell` hears of the solves and of the best cost.
pub(crate) fn search(
    ring: &mut Ring<'_, '_>,
    left: &[Vec<usize>],
    starts: &[Vec<usize>],
    most: usize,
    any: bool,
    tell: &mut dyn FnMut(usize, Option<f64>),
) -> Result<Option<(f64, Vec<usize>)>, DesignError> {
    let mut best: Option<(f64, Vec<usize>)> = None;
    for start in starts {
        let least = best.as_ref().map(|(cost, _)| *cost);
        let mut solved = |solves| tell(solves, least);
        let found = from(ring, left, start, most, any, &mut solved)?;
        let Some((cost, sizes)) = found else { continue };
        if best.as_ref().is_none_or(|(least, _)| cost < *least) {
            best = Some((cost, sizes));
        }
        if any {
            break;
        }
    }
    Ok(best)
}

/// From one set on, always to the best of its neighbours. `start` holds places in `left`.
fn from(
    ring: &mut Ring<'_, '_>,
    left: &[Vec<usize>],
    start: &[usize],
    most: usize,
    any: bool,
    solved: &mut dyn FnMut(usize),
) -> Result<Option<(f64, Vec<usize>)>, DesignError> {
    let sizes = |at: &[usize]| -> Vec<usize> { left.iter().zip(at).map(|(l, &i)| l[i]).collect() };
    let mut at = start.to_vec();
    let mut rank = rank(ring.judge(&sizes(&at))?);
    for pairs in [false, true, false, true, false, true] {
        loop {
            let mut better = None;
            if any && rank.0 == 0.0 {
                break;
            }
            for next in neighbours(left, &at, pairs) {
                if ring.solves() >= most {
                    break;
                }
                let next_rank = self::rank(ring.judge(&sizes(&next))?);
                solved(ring.solves());
                if next_rank < better.as_ref().map_or(rank, |(least, _)| *least) {
                    better = Some((next_rank, next));
                }
            }
            let Some(found) = better else { break };
            (rank, at) = found;
            if pairs {
                break;
            }
        }
    }
    Ok((rank.0 == 0.0).then(|| (rank.1, sizes(&at))))
}

/// What works by its cost; before it what fails, by how far.
fn rank(judged: Judged) -> (f64, f64) {
    match judged {
        Judged::Works(cost) => (0.0, cost),
        Judged::Fails(far) => (far, 0.0),
        Judged::Unknown => (f64::INFINITY, 0.0),
    }
}

/// Sets with one line a size up or down, or also with two.
fn neighbours(left: &[Vec<usize>], at: &[usize], pairs: bool) -> Vec<Vec<usize>> {
    let step = |from: &[usize], line: usize, up: bool| {
        let mut next = from.to_vec();
        next[line] = if up { from[line] + 1 } else { from[line].checked_sub(1)? };
        (next[line] < left[line].len()).then_some(next)
    };
    let steps = |from: &[usize], first: usize| -> Vec<(usize, Vec<usize>)> {
        let each = (first..left.len()).flat_map(|line| [(line, false), (line, true)]);
        each.filter_map(|(line, up)| Some((line, step(from, line, up)?))).collect()
    };
    let singles = steps(at, 0);
    if !pairs {
        return singles.into_iter().map(|(_, next)| next).collect();
    }
    let doubles = singles.iter().flat_map(|(line, next)| steps(next, line + 1));
    doubles.map(|(_, next)| next).collect()
}
