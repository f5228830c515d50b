//! The least that a design within bounds can cost: a tree of fronts laid over the ring.
//!
//! Where the way of the water is sure, a line loses at least what it does at its least flow, and
//! asks for no less head at its upstream end than that on top of what stands below. Of the lines
//! that surely leave a node one is followed, so that the nodes hang together as trees with the
//! fronts of [`tree`](super::tree); another one asks of its node only for the lowest head that
//! can stand at its far end. A line whose way is not sure asks for nothing but its cost. Every
//! design within the bounds meets all this, so the cheapest way to do so is a bound.

use super::bounds::{Bounds, SLACK};
use super::frame::Frame;
use super::front::{Corner, Front};
use super::law::allowed;
use super::layout::Toward;
use wetrun_network::LineEnd;

/// For each choice left to a line that comes in its bore, and its front at the node.
type ByChoice = Vec<(f64, Front)>;

/// No design within the bounds costs less; infinite where there is none.
pub(crate) fn least_cost(frame: &Frame<'_>, bounds: &Bounds) -> f64 {
    relaxed(frame, bounds).unwrap_or(f64::INFINITY)
}

fn relaxed(frame: &Frame<'_>, bounds: &Bounds) -> Option<f64> {
    if !frame.falling {
        return bounds.floor(frame);
    }
    let nodes = frame.at_node.len();
    let mut cost = frame.cost_alone()?;
    cost += frame.cost_at_tanks(|tank| bounds.water[tank].map(|water| water[0]))?;
    let mut counted = vec![false; frame.ends.len()];
    let follows: Vec<Option<(usize, LineEnd)>> =
        (0..nodes).map(|node| followed(frame, bounds, node)).collect();
    for &(index, _) in follows.iter().flatten() {
        counted[index] = true;
    }
    let others: Vec<Vec<(usize, LineEnd)>> = (0..nodes)
        .map(|node| {
            let here = frame.at_node[node].iter().copied();
            let asks = |&(index, side): &(usize, LineEnd)| {
                !counted[index] && bounds.upstream(frame, index) == Some(side)
            };
            here.filter(asks).collect()
        })
        .collect();
    for &(index, _) in others.iter().flatten() {
        counted[index] = true;
    }
    for (index, counted) in counted.iter().enumerate() {
        if !counted {
            cost += bounds.cheapest(frame, index)?;
        }
    }
    // Fronts that come into each node, for each choice of the line that brings them.
    let mut incoming: Vec<Vec<ByChoice>> = vec![Vec::new(); nodes];
    for node in order(frame, &follows)? {
        let here = Here { frame, bounds, node, incoming: std::mem::take(&mut incoming[node]) };
        let Some((index, side)) = follows[node] else {
            let front = here.front(f64::INFINITY, &others[node])?;
            cost += front.cheapest()?;
            continue;
        };
        let (_, down) = frame.along(index, side);
        let fronts = here.through(index, side, &others[node])?;
        match down {
            Toward::Node(next) => incoming[next].push(fronts),
            Toward::Tank(tank) => {
                let run = frame.run(index, side);
                let flow = least_flow(frame, bounds, index, side);
                let below = bounds.below(Toward::Tank(tank), 0);
                let costs =
                    bounds.sizes[index].iter().zip(&fronts).filter_map(|(&choice, (_, front))| {
                        let passage = run.passage(choice, flow);
                        front.at(run.end_m(&passage, below)).map(|corner| corner.cost)
                    });
                cost += costs.min_by(f64::total_cmp)?;
            }
        }
    }
    Some(cost)
}

/// Of the lines that water surely leaves a node by the one that carries most for sure.
fn followed(frame: &Frame<'_>, bounds: &Bounds, node: usize) -> Option<(usize, LineEnd)> {
    let sure = frame.at_node[node].iter().copied();
    let sure = sure.filter(|&(index, side)| bounds.upstream(frame, index) == Some(side));
    sure.max_by(|&(a, side_a), &(b, side_b)| {
        bounds.run_flow(a, side_a)[0].total_cmp(&bounds.run_flow(b, side_b)[0])
    })
}

/// The nodes of the ring, each after all that lead to it; `None` where water would run in a circle.
fn order(frame: &Frame<'_>, follows: &[Option<(usize, LineEnd)>]) -> Option<Vec<usize>> {
    let on_ring = |node: &usize| !frame.at_node[*node].is_empty();
    let next = |node: usize| match frame.along(follows[node]?.0, follows[node]?.1).1 {
        Toward::Node(next) => Some(next),
        Toward::Tank(_) => None,
    };
    let all: Vec<usize> = (0..follows.len()).filter(on_ring).collect();
    let mut waits = vec![0_usize; follows.len()];
    for &node in &all {
        if let Some(next) = next(node) {
            waits[next] += 1;
        }
    }
    let mut order: Vec<usize> = all.iter().copied().filter(|&node| waits[node] == 0).collect();
    let mut done = 0;
    while let Some(&node) = order.get(done) {
        done += 1;
        if let Some(next) = next(node) {
            waits[next] -= 1;
            if waits[next] == 0 {
                order.push(next);
            }
        }
    }
    (order.len() == all.len()).then_some(order)
}

fn least_flow(frame: &Frame<'_>, bounds: &Bounds, index: usize, side: LineEnd) -> f64 {
    (bounds.run_flow(index, side)[0] - SLACK * frame.total_m3_per_s).max(0.0)
}

/// A node with the fronts that come into it.
struct Here<'f, 'p> {
    frame: &'f Frame<'p>,
    bounds: &'f Bounds,
    node: usize,
    /// Of each line that comes in.
    incoming: Vec<ByChoice>,
}

impl Here<'_, '_> {
    /// What serving the node costs, by the head there, with no last bore above a limit.
    fn front(&self, limit_m: f64, others: &[(usize, LineEnd)]) -> Option<Front> {
        let mut parts = vec![self.frame.front(self.node, limit_m).clone()];
        for fronts in &self.incoming {
            let within = fronts.iter().filter(|(bore_m, _)| *bore_m <= limit_m);
            parts.push(within.fold(Front::default(), |all, (_, front)| all.union(front)));
        }
        let mut all = Front::sum(&parts.iter().collect::<Vec<_>>());
        all = all.allowing(self.bounds.head[self.node][0] - SLACK);
        for &(index, side) in others {
            all = self.asked(&all, index, side);
        }
        (!all.corners().is_empty()).then_some(all)
    }

    /// With the cost of a line that leaves besides: each choice asks for a least head here.
    fn asked(&self, front: &Front, index: usize, side: LineEnd) -> Front {
        let run = self.frame.run(index, side);
        let (_, down) = self.frame.along(index, side);
        let flow = least_flow(self.frame, self.bounds, index, side);
        let below = self.bounds.below(down, 0);
        let choices = self.frame.choices(index);
        self.bounds.sizes[index].iter().fold(Front::default(), |all, &choice| {
            let least_m = run.rise_m(&run.passage(choice, flow), below) - SLACK;
            let asked = front.clone().allowing(least_m);
            all.union(&Front::of(asked.shifted(0.0, choices[choice].cost).collect()))
        })
    }

    /// The fronts at the far end of the line that is followed, for each choice left to it.
    fn through(
        &self,
        index: usize,
        side: LineEnd,
        others: &[(usize, LineEnd)],
    ) -> Option<ByChoice> {
        let run = self.frame.run(index, side);
        let flow = least_flow(self.frame, self.bounds, index, side);
        let choices = self.frame.choices(index);
        let fronts: ByChoice = (self.bounds.sizes[index].iter())
            .map(|&choice| {
                let passage = run.passage(choice, flow);
                let choice = &choices[choice];
                let here = self.front(choice.bore_m, others).unwrap_or_default();
                let allowed = here.corners().iter().filter_map(|corner| {
                    let allowed_m = allowed(&passage, corner.allowed_m)?;
                    Some(Corner { allowed_m, cost: corner.cost + choice.cost })
                });
                (choice.bore_m, Front::of(allowed.collect()))
            })
            .collect();
        fronts.iter().any(|(_, front)| !front.corners().is_empty()).then_some(fronts)
    }
}
