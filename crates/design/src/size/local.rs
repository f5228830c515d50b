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

/// Sets with one line a size up or down, or with two lines: made one after the other, since on a
/// large ring there are more of them than memory holds.
fn neighbours<'s>(
    left: &'s [Vec<usize>],
    at: &'s [usize],
    pairs: bool,
) -> Box<dyn Iterator<Item = Vec<usize>> + 's> {
    let singles = steps(left, at.to_vec(), 0);
    if !pairs {
        return Box::new(singles.map(|(_, next)| next));
    }
    let doubles = singles.flat_map(|(line, next)| steps(left, next, line + 1));
    Box::new(doubles.map(|(_, next)| next))
}

/// Each line from `first` on a size down or up, by its place.
fn steps(
    left: &[Vec<usize>],
    from: Vec<usize>,
    first: usize,
) -> impl Iterator<Item = (usize, Vec<usize>)> + '_ {
    let each = (first..left.len()).flat_map(|line| [(line, false), (line, true)]);
    each.filter_map(move |(line, up)| {
        let to = if up { from[line] + 1 } else { from[line].checked_sub(1)? };
        if to >= left[line].len() {
            return None;
        }
        let mut next = from.clone();
        next[line] = to;
        Some((line, next))
    })
}
