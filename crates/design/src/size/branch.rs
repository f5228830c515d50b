//! The cheapest sizes on a ring: branch and bound over boxes of sizes and flows.
//!
//! A box holds bounds of sizes, flows and heads. It is cut down by the laws ([`bounds`]) and the
//! least that any design in it can cost is found ([`relax`]); the box of the least cost is halved,
//! by the sizes of a line or by its flow, until a box holds one set of sizes, which is solved. The
//! first box that cannot undercut the best design found ends the search with a proof; a search
//! cut short still leaves the bound of the first box not looked at.
//!
//! [`bounds`]: super::bounds
//! [`relax`]: super::relax

use super::bounds::{Bounds, SURE};
use super::design::DesignError;
use super::frame::Frame;
use super::local;
use super::pipes::Picks;
use super::relax::least_cost;
use super::ring::{Judged, Ring};
use ordered_float::OrderedFloat;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// What a search over rings came to.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    /// The best design found.
    pub(crate) best: Option<(f64, Picks)>,
    /// No design costs less; infinite where none works.
    pub(crate) lower_bound: f64,
    /// What ended the search before its end.
    pub(crate) cut: Option<Cut>,
    /// Sets of sizes solved, and boxes looked at.
    pub(crate) tried: usize,
}

/// What ends a search before its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// The tries ran out.
    Tries,
    /// The boxes that are left would take more memory than a search may have.
    Memory,
}

/// No more words than this are kept of boxes: 130 MB.
const HELD_WORDS: usize = 16_000_000;

/// Flows are halved down to this share of all demands.
const CLOSE: f64 = 0.02;
/// Where a range of flow is halved, from its smaller end.
const CUT: f64 = 0.35;
/// How many lines are tried for a halving: by the way of the water, by flow, by size.
const SIGNS: usize = 6;
const FLOWS: usize = 6;
const SIZES: usize = 4;

/// Searches with at most `most` tries, a try being a set of sizes solved or a box looked at;
/// `tell` hears of tries, bound and best cost. With `any` the first design that is found will do.
/// It starts from `near` first, where that is given.
pub(crate) fn search(
    frame: &Frame<'_>,
    near: Option<&Picks>,
    most: usize,
    any: bool,
    tell: &mut dyn FnMut(usize, f64, Option<f64>),
) -> Result<Found, DesignError> {
    let mut ring = Ring::new(frame);
    let mut root = Bounds::new(frame);
    if !root.tighten(frame, f64::INFINITY) {
        return Ok(Found { best: None, lower_bound: f64::INFINITY, cut: None, tried: 0 });
    }
    let mut starts = starts(frame, &root);
    if let Some(near) = near {
        starts.insert(0, place_of(frame, &root, near));
    }
    let least = least_cost(frame, &root);
    let mut solved = |solves, best| tell(solves, least, best);
    let mut best = local::search(&mut ring, &root.sizes, &starts, most / 4, any, &mut solved)?;
    let mut held = Held::default();
    let mut unsolved = f64::INFINITY;
    held.add(least, root);
    let mut boxes = 0;
    let mut cut = None;
    let mut open = f64::INFINITY;
    while let Some((bound, bounds)) = held.least() {
        let least = best.as_ref().map_or(f64::INFINITY, |(cost, _)| *cost);
        if bound >= least {
            break;
        }
        if any && best.is_some() {
            open = bound;
            break;
        }
        let tries_left = boxes + ring.solves() < most;
        if !tries_left || held.words > HELD_WORDS {
            open = bound;
            cut = Some(if tries_left { Cut::Memory } else { Cut::Tries });
            break;
        }
        if is_one(&bounds) {
            let sizes: Vec<usize> = bounds.sizes.iter().flatten().copied().collect();
            match ring.judge(&sizes)? {
                Judged::Works(cost) if cost < least => best = Some((cost, sizes)),
                Judged::Unknown => unsolved = unsolved.min(bound),
                _ => {}
            }
            continue;
        }
        for (least, half) in branch(frame, bound, bounds, least, &mut boxes) {
            held.add(least.max(bound), half);
        }
        tell(boxes + ring.solves(), bound, best.as_ref().map(|(cost, _)| *cost));
    }
    let cost = best.as_ref().map_or(f64::INFINITY, |(cost, _)| *cost);
    let lower_bound = cost.min(open).min(unsolved);
    let tried = boxes + ring.solves();
    let best = match best {
        Some((cost, sizes)) => ring.picks(&sizes)?.map(|picks| (cost, picks)),
        None => None,
    };
    Ok(Found { best, lower_bound, cut, tried })
}

/// Sets to start from: every line as wide as it comes, but none above one common bore.
fn starts(frame: &Frame<'_>, root: &Bounds) -> Vec<Vec<usize>> {
    let bore_m = |index: usize, choice: usize| frame.choices(index)[choice].bore_m;
    let mut bores_m: Vec<f64> = (root.sizes.iter().enumerate())
        .flat_map(|(index, sizes)| sizes.iter().map(move |&choice| bore_m(index, choice)))
        .collect();
    bores_m.sort_by(|a, b| b.total_cmp(a));
    bores_m.dedup();
    let capped = |&cap_m: &f64| {
        let lines = root.sizes.iter().enumerate();
        lines
            .map(|(index, sizes)| {
                let fits = sizes.iter().rposition(|&choice| bore_m(index, choice) <= cap_m);
                fits.unwrap_or(0)
            })
            .collect()
    };
    bores_m.iter().map(capped).collect()
}

/// The set nearest to given picks among the sizes left.
fn place_of(frame: &Frame<'_>, root: &Bounds, near: &Picks) -> Vec<usize> {
    let lines = frame.layout.ring.iter().zip(&root.sizes);
    lines
        .map(|(&line, left)| {
            let place = left.partition_point(|&choice| choice < near.lines[line]);
            place.min(left.len() - 1)
        })
        .collect()
}

/// Halves a box that holds more than one set of sizes, in the way that raises the bounds of the
/// halves most; what is left of it where a half is ruled out.
fn branch(
    frame: &Frame<'_>,
    mut bound: f64,
    mut bounds: Bounds,
    best: f64,
    boxes: &mut usize,
) -> Vec<(f64, Bounds)> {
    while !is_one(&bounds) {
        let scale = if best.is_finite() { best - bound } else { 0.1 * bound.max(1e-9) };
        let mut chosen: Option<(f64, Vec<(f64, Bounds)>)> = None;
        let mut only = None;
        for halves in ways(frame, &bounds) {
            let mut left = Vec::new();
            let mut score = 1.0;
            for mut half in halves {
                *boxes += 1;
                let open = half.tighten(frame, best);
                let least = if open { least_cost(frame, &half).max(bound) } else { f64::INFINITY };
                score *= ((least - bound) / scale).clamp(1e-3, 1.0);
                if least < best {
                    left.push((least, half));
                }
            }
            if left.len() < 2 {
                only = Some(left.pop());
                break;
            }
            if chosen.as_ref().is_none_or(|(most, _)| score > *most) {
                chosen = Some((score, left));
            }
        }
        match (only, chosen) {
            // One half is ruled out: the other is all that is left of the box.
            (Some(Some((least, half))), _) => (bounds, bound) = (half, least),
            (Some(None), _) => return Vec::new(),
            (None, Some((_, left))) => return left,
            (None, None) => break,
        }
    }
    vec![(bound, bounds)]
}

/// Whether a box holds one set of sizes alone.
fn is_one(bounds: &Bounds) -> bool {
    bounds.sizes.iter().all(|sizes| sizes.len() == 1)
}

/// Ways to halve a box with more than one set of sizes. Which way water runs is asked first: the
/// laws say little of a line as long as that is open.
fn ways(frame: &Frame<'_>, bounds: &Bounds) -> Vec<[Bounds; 2]> {
    let total = frame.total_m3_per_s;
    let mut flows: Vec<(f64, usize)> = Vec::new();
    let mut signs: Vec<(f64, usize)> = Vec::new();
    for (index, &[low, high]) in bounds.flow.iter().enumerate() {
        let width = high - low;
        if frame.falling && low < -SURE * total && high > SURE * total {
            signs.push((width, index));
        } else if frame.falling && width > CLOSE * total {
            flows.push((width, index));
        }
    }
    let split = |index: usize, at: f64| {
        let mut halves = [bounds.clone(), bounds.clone()];
        halves[0].flow[index][1] = at;
        halves[1].flow[index][0] = at;
        halves
    };
    let by_width = |found: &mut Vec<(f64, usize)>| {
        found.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    };
    by_width(&mut signs);
    if !signs.is_empty() {
        return signs.into_iter().take(SIGNS).map(|(_, index)| split(index, 0.0)).collect();
    }
    by_width(&mut flows);
    let by_flow = flows.into_iter().take(FLOWS).map(|(_, index)| {
        let [low, high] = bounds.flow[index];
        // Nearer to the smaller flow, since the loss goes about with its square.
        let cut = (CUT * (high - low)).min(total);
        split(index, if low.abs() <= high.abs() { low + cut } else { high - cut })
    });
    let mut sizes: Vec<(f64, usize)> = (bounds.sizes.iter().enumerate())
        .filter(|(_, sizes)| sizes.len() > 1)
        .map(|(index, sizes)| {
            let costs = sizes.iter().map(|&choice| frame.choices(index)[choice].cost);
            let most = costs.fold(0.0, f64::max);
            (most - bounds.cheapest(frame, index).unwrap_or(0.0), index)
        })
        .collect();
    by_width(&mut sizes);
    let by_size =
        sizes.into_iter().take(if frame.falling { 1 } else { SIZES }).map(|(_, index)| {
            let middle = bounds.sizes[index].len() / 2;
            let mut halves = [bounds.clone(), bounds.clone()];
            halves[1].sizes[index] = halves[0].sizes[index].split_off(middle);
            halves
        });
    by_flow.chain(by_size).collect()
}

/// Boxes with the least that a design in them can cost.
#[derive(Default)]
struct Held {
    /// The least cost and the place of each box that is left.
    order: BinaryHeap<(Reverse<OrderedFloat<f64>>, usize)>,
    boxes: Vec<Option<Bounds>>,
    /// What those that are left take, in words.
    words: usize,
}

impl Held {
    fn add(&mut self, bound: f64, bounds: Bounds) {
        self.words += bounds.words();
        self.order.push((Reverse(OrderedFloat(bound)), self.boxes.len()));
        self.boxes.push(Some(bounds));
    }

    /// Takes the box of the least cost; of equal ones that made last, for it is the deeper one.
    fn least(&mut self) -> Option<(f64, Bounds)> {
        let (Reverse(bound), place) = self.order.pop()?;
        let bounds = self.boxes[place].take()?;
        self.words -= bounds.words();
        Some((bound.0, bounds))
    }
}
