//! One implicit stage of a step: heads and levels at which every place keeps its water.
//!
//! Everything hangs on the heads at nodes and the levels of tanks: given these each reach and each
//! column is solved for itself, and what is left over at each node says how they must move. What a
//! node receives never rises with its own head, so Newton's steps lead on; a lip, an opening, a rim
//! and an overflow hold a level and let the rest go.

use crate::column::Stood;
use crate::plant::{NOWHERE, Node, Plant};
use crate::reach::{Moved, Outer, Past};
use crate::sparse::Sparse;
use wetrun_units::{Flow, Length};

mod relax;

/// What a stage starts from, its step's history folded in.
#[derive(Clone, Debug, Default)]
pub(crate) struct Base {
    /// Length of time that the stage's own rates count for, s.
    pub(crate) delta: f64,
    /// For each column the volume it would hold if nothing left it in the stage, and its past flow.
    pub(crate) columns: Vec<(f64, f64)>,
    pub(crate) reaches: Vec<Past>,
    /// For each tank the volume it would hold if nothing came or went in the stage.
    pub(crate) tanks: Vec<f64>,
    /// What comes to each node besides: what steps before left over there.
    pub(crate) nodes: Vec<f64>,
}

/// A plant at the end of a stage.
#[derive(Clone, Debug, Default)]
pub(crate) struct Found {
    /// Heads at nodes, levels of tanks, flows towards the point along each leg of a wye or tee.
    pub(crate) x: Vec<f64>,
    pub(crate) columns: Vec<Stood>,
    pub(crate) reaches: Vec<Moved>,
    /// What comes out of each node's opening.
    pub(crate) escapes: Vec<f64>,
    /// What comes to each node and does not leave it: nothing, but for the last digits.
    pub(crate) stays: Vec<f64>,
    /// What runs out of each node's drain.
    pub(crate) drains: Vec<f64>,
    /// What each tank receives from its lines and by overflows, lets run over, and loses over its rim.
    pub(crate) received: Vec<f64>,
    pub(crate) overflows: Vec<f64>,
    /// Of that, what comes to the tank that it overflows into.
    pub(crate) onward: Vec<f64>,
    pub(crate) over_rim: Vec<f64>,
    /// What is left over at each unknown, and whether a level is held there.
    left: Vec<f64>,
    held: Vec<bool>,
    /// How strongly what is left over at each node and tank answers to its head, m²/s.
    answers: Vec<f64>,
    offsets: Vec<f64>,
    /// By how much all places miss keeping their water.
    size: f64,
}

/// Newton steps before a stage is given up.
const MOST_STEPS: u32 = 60;
/// So often a stage is led on node by node before it is given up, where a shorter one can be tried.
const MOST_SWEEPS: u32 = 4;
/// A stage of so short a time is not given up for a shorter one, s.
const SHORT_S: f64 = 1e-2;
/// What may be left over at a node, as a share of the flows of the problem.
const ENOUGH: f64 = 1e-11;
/// A flow that is none anywhere, m³/s: what is left over of it comes back in the next step.
const NOTHING: f64 = 1e-10;
/// The same where it decides a head, and no water hangs on it.
const LOOSE: f64 = 1e-9;
/// How closely a tank's level is found, m.
const LEVEL: f64 = 1e-12;
/// How closely a head can be told, as a share of it.
const TOLD: f64 = 16.0 * f64::EPSILON;
/// A Newton step that leaves more than this share of what was left over did not lead on.
const LEADS_ON: f64 = 0.9;
/// How closely a level is found that no water hangs on, m.
const LEVEL_ALONE: f64 = 1e-8;
/// What a tank that stores nothing answers by at least, m²/s.
const LEAST_ANSWER: f64 = 1e-9;
/// What every node answers by at least, m²/s: far less than any pipe.
const STIFF: f64 = 1e-14;

/// Solves a stage from a state near by; `scale` is a flow of the size of the problem's.
/// `None` where the search does not end.
pub(crate) fn solve(
    plant: &mut Plant,
    base: &Base,
    start: &Found,
    scale: f64,
    trial: &mut Found,
) -> Option<Found> {
    let mut now = start.clone();
    evaluate(plant, base, start, &mut now, scale);
    let mut step = vec![0.0; plant.unknowns()];
    let mut sweeps = 0;
    for turn in 0..MOST_STEPS {
        if now.settled() {
            // What may be left over is noise in the rates: a last step mostly takes it away. A guess
            // that is taken for an answer has more of it than an answer that a step led to.
            let noise = if turn == 0 { 0.0 } else { ENOUGH * scale };
            if now.left_over() > noise && newton(plant, base, &now, scale, &mut step) {
                lead(plant, &now, &step, 1.0, &mut trial.x);
                evaluate(plant, base, &now, trial, scale);
                if trial.settled() && trial.left_over() < now.left_over() {
                    std::mem::swap(&mut now, trial);
                }
            }
            return Some(now);
        }
        let before = now.size;
        if newton(plant, base, &now, scale, &mut step) {
            let mut share = 1.0;
            loop {
                lead(plant, &now, &step, share, &mut trial.x);
                evaluate(plant, base, &now, trial, scale);
                if trial.size <= before || share < 0.05 {
                    break;
                }
                share *= 0.4;
            }
            if trial.size <= before {
                std::mem::swap(&mut now, trial);
            }
        }
        if now.size > LEADS_ON * before && !now.settled() {
            if sweeps == MOST_SWEEPS && base.delta > SHORT_S {
                return None;
            }
            sweeps += 1;
            // Node by node, from either end of the order of elimination.
            relax::sweep(plant, base, &mut now, scale);
            trial.x.clone_from(&now.x);
            evaluate(plant, base, &now, trial, scale);
            std::mem::swap(&mut now, trial);
        }
    }
    None
}

/// Newton's step from here; whether there is one.
fn newton(plant: &mut Plant, base: &Base, now: &Found, scale: f64, step: &mut [f64]) -> bool {
    assemble(plant, base, now, scale);
    plant.iterations = plant.iterations.saturating_add(1);
    step.copy_from_slice(&now.left);
    for (step, held) in step.iter_mut().zip(&now.held) {
        if *held {
            *step = 0.0;
        }
    }
    plant.matrix.solve(step)
}

impl Found {
    /// What is left over in all, m³/s.
    fn left_over(&self) -> f64 {
        let free = self.left.iter().zip(&self.held).filter(|(_, held)| !**held);
        free.map(|(left, _)| left.abs()).sum()
    }

    /// Whether every place keeps its water.
    fn settled(&self) -> bool {
        self.size <= 0.0
    }

    /// By how much a place misses keeping its water, beyond what may be left over there.
    fn misses(&self, plant: &Plant, base: &Base, place: usize, scale: f64) -> f64 {
        let nodes = plant.nodes.len();
        let tanks = plant.vessels.len();
        let left = self.left[place].abs();
        if self.held[place] {
            return 0.0;
        }
        let enough = if place < nodes {
            self.enough(place, scale)
        } else if place < nodes + tanks {
            let told = 1.0 + self.x[place].abs();
            match &plant.vessels[place - nodes].store {
                Some(store) => (LEVEL * told * store.area_m2 / base.delta).max(ENOUGH * scale),
                // What it receives goes on whatever its level is.
                None => (LOOSE * scale).max(LEVEL_ALONE * self.answers[place]).max(NOTHING),
            }
        } else {
            (LOOSE * scale).max(NOTHING)
        };
        (left - enough).max(0.0)
    }

    /// What may be left over at a node: a share of the problem's flows, or as much as the last digits
    /// of the head there move.
    pub(super) fn enough(&self, node: usize, scale: f64) -> f64 {
        let told = TOLD * (1.0 + self.x[node].abs()) * self.answers[node];
        (ENOUGH * scale).max(told).max(NOTHING)
    }

    /// The same numbers of unknowns, everything still.
    pub(crate) fn still(plant: &Plant, x: Vec<f64>) -> Self {
        let unknowns = plant.unknowns();
        Self {
            x,
            columns: vec![Stood::default(); plant.columns.len()],
            reaches: vec![Moved::default(); plant.reaches.len()],
            escapes: vec![0.0; plant.nodes.len()],
            stays: vec![0.0; plant.nodes.len()],
            drains: vec![0.0; plant.nodes.len()],
            received: vec![0.0; plant.vessels.len()],
            overflows: vec![0.0; plant.vessels.len()],
            onward: vec![0.0; plant.vessels.len()],
            over_rim: vec![0.0; plant.vessels.len()],
            left: vec![0.0; unknowns],
            held: vec![false; unknowns],
            answers: vec![0.0; plant.nodes.len() + plant.vessels.len()],
            offsets: vec![0.0; 3 * plant.joints.len()],
            size: 0.0,
        }
    }
}

/// The head beyond an end of a reach: what stands there, and what a wye or tee adds to it.
pub(super) fn beyond(plant: &Plant, found: &Found, reach: usize, side: usize) -> f64 {
    let head = found.x[plant.unknown(plant.reaches[reach].ends[side])];
    plant.leg_at[reach][side].map_or(head, |leg| head + found.offsets[leg])
}

/// Holds heads and levels where they may be.
fn hold_within(plant: &Plant, x: &mut [f64]) {
    let nodes = plant.nodes.len();
    for (x, node) in x.iter_mut().zip(&plant.nodes) {
        *x = if node.alive { x.max(node.floor).min(node.opening) } else { node.floor };
    }
    for &tank in plant.cascade.iter().rev() {
        let vessel = &plant.vessels[tank];
        let to = vessel.to.filter(|to| plant.vessels[*to].stands).map(|to| x[nodes + to]);
        let level = &mut x[nodes + tank];
        *level = if !vessel.stands {
            NOWHERE
        } else if vessel.store.is_some() {
            level.min(vessel.ceiling())
        } else {
            let lowest = vessel.overflow.max(to.unwrap_or(f64::NEG_INFINITY)).min(vessel.rim);
            if vessel.pipe.is_none() { lowest } else { level.max(lowest).min(vessel.rim) }
        };
    }
}

/// Heads and levels a share of a step on from here.
fn lead(plant: &Plant, now: &Found, step: &[f64], share: f64, x: &mut Vec<f64>) {
    x.clear();
    x.extend(now.x.iter().zip(step).map(|(x, step)| x + share * step));
    for (tank, edges) in plant.edges.iter().enumerate() {
        let place = plant.nodes.len() + tank;
        // No level passes an edge without having stood there.
        let (from, to) = (now.x[place], &mut x[place]);
        for (edge, _) in edges {
            if (from < *edge && *edge < *to) || (*to < *edge && *edge < from) {
                *to = *edge;
            }
        }
        // What is drawn on at another's level goes down with it.
        if now.left[place] <= 0.0 && follows(plant, now, tank).is_some() {
            *to = NOWHERE;
        }
    }
}

/// What every part does with the heads and levels of `found`, and what is left over at each place.
fn evaluate(plant: &Plant, base: &Base, near: &Found, found: &mut Found, scale: f64) {
    let nodes = plant.nodes.len();
    hold_within(plant, &mut found.x);
    found.offsets.resize(3 * plant.joints.len(), 0.0);
    for (place, joint) in plant.joints.iter().enumerate() {
        let legs: [f64; 3] = std::array::from_fn(|leg| found.x[plant.leg(3 * place + leg)]);
        let heads = joint.law.offsets(legs.map(Flow::m3_per_s));
        found.offsets[3 * place..][..3].copy_from_slice(&heads.map(Length::to_m));
    }
    found.left.clear();
    found.left.resize(plant.unknowns(), 0.0);
    found.answers.clear();
    found.answers.resize(nodes + plant.vessels.len(), 0.0);
    found.reaches.resize(plant.reaches.len(), Moved::default());
    found.received.clear();
    found.received.resize(plant.vessels.len(), 0.0);
    for (place, reach) in plant.reaches.iter().enumerate() {
        let outer = [0, 1].map(|side| beyond(plant, found, place, side));
        let moved = reach.moves(outer, &base.reaches[place], base.delta, &near.reaches[place]);
        for (side, end) in reach.ends.iter().enumerate() {
            let inward = if side == 0 { -moved.passes[0] } else { moved.passes[1] };
            found.left[plant.unknown(*end)] += inward;
            match *end {
                Outer::Tank(tank) => found.received[tank] += inward,
                Outer::Node(node) => found.answers[node] += moved.slopes[side][side].abs(),
            }
            if let Some(leg) = plant.leg_at[place][side] {
                // Towards the point, from the reach's end that is there.
                found.left[plant.leg(leg)] = inward - found.x[plant.leg(leg)];
            }
        }
        found.reaches[place] = moved;
    }
    found.columns.resize(plant.columns.len(), Stood::default());
    for (place, column) in plant.columns.iter().enumerate() {
        let (volume, past) = base.columns[place];
        let near = &near.columns[place];
        let stood = column.stands(found.x[place], volume, past, base.delta, near);
        found.left[place] += stood.flow;
        found.answers[place] += stood.slope.abs();
        found.columns[place] = stood;
    }
    found.held.clear();
    found.held.resize(plant.unknowns(), false);
    found.escapes.clear();
    found.escapes.resize(nodes, 0.0);
    found.drains.clear();
    found.drains.resize(nodes, 0.0);
    for (place, node) in plant.nodes.iter().enumerate() {
        let (drains, answers) = drains(node, found.x[place]);
        found.left[place] += node.hose - drains;
        found.drains[place] = drains;
        found.answers[place] += answers;
    }
    found.stays.clear();
    found.stays.extend_from_slice(&found.left[..nodes]);
    for (place, node) in plant.nodes.iter().enumerate() {
        found.left[place] += base.nodes[place];
        let (head, left) = (found.x[place], found.left[place]);
        if !node.alive {
            found.held[place] = true;
        } else if head >= node.opening && left >= 0.0 {
            found.held[place] = true;
            found.escapes[place] = left;
            found.stays[place] -= left;
        } else if head <= node.floor
            && left <= 0.0
            // What steps before took too much waits for water to come.
            && left >= base.nodes[place].min(0.0) - found.enough(place, scale)
        {
            found.held[place] = true;
        }
    }
    tanks(plant, base, found);
    found.size = (0..found.left.len()).map(|place| found.misses(plant, base, place, scale)).sum();
}

/// What runs out of a node's drain, and the derivative by its head.
fn drains(node: &Node, head: f64) -> (f64, f64) {
    node.drain.as_ref().map_or((0.0, 0.0), |drain| drain.flow(head))
}

/// What tanks let run over, from the first giver on.
fn tanks(plant: &Plant, base: &Base, found: &mut Found) {
    let nodes = plant.nodes.len();
    found.overflows.clear();
    found.overflows.resize(plant.vessels.len(), 0.0);
    found.onward.clear();
    found.onward.resize(plant.vessels.len(), 0.0);
    found.over_rim.clear();
    found.over_rim.resize(plant.vessels.len(), 0.0);
    for &tank in &plant.cascade {
        let (vessel, here) = (&plant.vessels[tank], nodes + tank);
        let level = found.x[here];
        let to = vessel.to.filter(|to| plant.vessels[*to].stands).map(|to| found.x[nodes + to]);
        let net = found.received[tank];
        let (lets, answers, _) = vessel.lets(level, to);
        found.answers[here] = answers.abs();
        let mut passes = lets;
        if let Some(store) = &vessel.store {
            let fills = (store.volume(level) - base.tanks[tank]) / base.delta;
            let (drawn, holds) = drawn_at_edge(plant, found, tank, net - lets - fills);
            let left = net - lets - fills - drawn;
            found.left[here] = left;
            found.held[here] = holds;
            if level >= vessel.ceiling() && left >= 0.0 {
                found.held[here] = true;
                if vessel.spills_at_once() && vessel.overflow <= vessel.rim {
                    passes += left;
                } else {
                    found.over_rim[tank] = left;
                }
            }
        } else {
            // What it receives goes on at once; at its rim no more than the overflow takes.
            found.left[here] = net - lets;
            passes = net;
            let lowest = vessel.overflow.max(to.unwrap_or(f64::NEG_INFINITY)).min(vessel.rim);
            if !vessel.stands || vessel.pipe.is_none() {
                found.held[here] = true;
            } else if level >= vessel.rim && net >= lets {
                found.held[here] = true;
                found.over_rim[tank] = net - lets;
                passes = lets;
            } else if level <= lowest && net <= lets {
                found.held[here] = true;
            }
        }
        found.overflows[tank] = passes;
        if let Some(onto) = vessel.to {
            // What a tank that stores nothing gives its lines comes from nowhere, unless the water
            // beyond stands over its overflow.
            let dry = vessel.store.is_none() && to.is_none_or(|to| to <= vessel.overflow);
            found.onward[tank] = if dry { passes.max(0.0) } else { passes };
            found.received[onto] += found.onward[tank];
        }
    }
}

/// What givers that draw on a tank's water take of what is left over there while it stands just at
/// their overflows, and whether that holds it there. Above it they take all they need of it and below
/// it none, so a tank that receives less than they need neither rises nor falls.
fn drawn_at_edge(plant: &Plant, found: &mut Found, tank: usize, left: f64) -> (f64, bool) {
    let nodes = plant.nodes.len();
    let level = found.x[nodes + tank];
    let at = plant.edges[tank].iter().filter(|(edge, giver)| {
        let next = plant.vessels[*giver].to.map_or(level, |next| found.x[nodes + next]);
        *edge == level && next == level
    });
    let needs: f64 = at.clone().map(|(_, giver)| (-found.overflows[*giver]).max(0.0)).sum();
    if left <= 0.0 || needs <= 0.0 {
        return (0.0, false);
    }
    let share = (left / needs).min(1.0);
    for &(_, giver) in at {
        let takes = share * (-found.overflows[giver]).max(0.0);
        found.onward[giver] -= takes;
        // On the way to it others may stand that store nothing.
        let mut way = plant.vessels[giver].to;
        while let Some(next) = way {
            found.received[next] -= takes;
            if next == tank {
                break;
            }
            found.overflows[next] -= takes;
            found.onward[next] -= takes;
            way = plant.vessels[next].to;
        }
    }
    (share * needs, left <= needs)
}

/// Sets the matrix to how what is left over answers to the unknowns.
fn assemble(plant: &mut Plant, base: &Base, found: &Found, scale: f64) {
    plant.matrix.clear();
    let nodes = plant.nodes.len();
    let mut matrix = std::mem::replace(&mut plant.matrix, Sparse::new(0, []));
    for (place, moved) in found.reaches.iter().enumerate() {
        if plant.reaches[place].ends.iter().any(|end| plant.beyond(*end).next().is_some()) {
            through_tanks(plant, found, place, &mut matrix);
            continue;
        }
        let slots = &plant.slots.reach[place];
        // Out of the first end, into the second.
        for ((slots, slopes), sign) in slots.iter().zip(&moved.slopes).zip([1.0, -1.0]) {
            for (slot, slope) in slots.iter().zip(slopes) {
                matrix.add(*slot, sign * slope);
            }
        }
    }
    for (place, stood) in found.columns.iter().enumerate() {
        matrix.add(plant.slots.own[place], -stood.slope);
    }
    for (tank, vessel) in plant.vessels.iter().enumerate() {
        let here = nodes + tank;
        let to = vessel.to.filter(|to| plant.vessels[*to].stands).map(|to| found.x[nodes + to]);
        let (_, d_own, d_beyond) = vessel.lets(found.x[here], to);
        let filling = vessel.store.map_or(0.0, |store| store.area_m2 / base.delta);
        let mut own = d_own + filling;
        if vessel.store.is_none()
            && let Some(pipe) = &vessel.pipe
        {
            let needs = found.left[here] + vessel.lets(found.x[here], to).0;
            let rise = pipe.head(needs).0 + vessel.overflow - found.x[here];
            if found.left[here] > 0.0 && rise > 0.0 {
                own = own.max(found.left[here] / rise);
            }
        }
        matrix.add(plant.slots.own[here], own.max(LEAST_ANSWER));
        if let (Some([there, back]), Some(to)) = (plant.slots.overflow[tank], vessel.to) {
            matrix.add(there, d_beyond);
            // A tank that stores nothing passes on what it receives, whatever its level.
            if vessel.store.is_some() {
                matrix.add(back, -d_own);
                matrix.add(plant.slots.own[nodes + to], -d_beyond);
            }
        }
    }
    // A node that nothing answers to stays where it is.
    for (place, node) in plant.nodes.iter().enumerate() {
        matrix.add(plant.slots.own[place], STIFF + drains(node, found.x[place]).1);
    }
    wyes(plant, found, scale, &mut matrix);
    weirs(plant, found, &mut matrix);
    for (place, held) in found.held.iter().enumerate() {
        if *held {
            matrix.hold(place);
        }
    }
    plant.matrix = matrix;
}

/// The same for a reach to a tank that runs over into another: what it stores none of goes on there,
/// and where it has no level of its own it stands at that of the other.
fn through_tanks(plant: &Plant, found: &Found, place: usize, matrix: &mut Sparse) {
    let nodes = plant.nodes.len();
    let reach = &plant.reaches[place];
    let passes_on = |tank: usize| plant.vessels[tank].store.is_none();
    let column = |end: Outer| match end {
        Outer::Node(node) => node,
        Outer::Tank(mut tank) => {
            while let Some(to) = follows(plant, found, tank) {
                tank = to;
            }
            nodes + tank
        }
    };
    let columns = reach.ends.map(column);
    for ((end, slopes), sign) in
        reach.ends.iter().zip(&found.reaches[place].slopes).zip([1.0, -1.0])
    {
        let mut row = plant.unknown(*end);
        let mut onward = plant.beyond(*end);
        loop {
            for (column, slope) in columns.iter().zip(slopes) {
                let slot = matrix.slot(row, *column);
                matrix.add(slot, sign * slope);
            }
            if row < nodes || !passes_on(row - nodes) {
                break;
            }
            if found.onward[row - nodes] != found.overflows[row - nodes] {
                break;
            }
            let Some(next) = onward.next() else { break };
            row = nodes + next;
        }
    }
}

/// The tank at whose level another that stores nothing is held.
fn follows(plant: &Plant, found: &Found, tank: usize) -> Option<usize> {
    let vessel = &plant.vessels[tank];
    let to = vessel.to.filter(|to| plant.vessels[*to].stands)?;
    let beyond = found.x[plant.nodes.len() + to];
    let here = plant.nodes.len() + tank;
    let held = vessel.stands && vessel.store.is_none() && found.held[here];
    (held && beyond > vessel.overflow && found.x[here] <= beyond).then_some(to)
}

/// A node that receives more than falls over the inverts of its lines rises to where it does: there
/// the slope of the law at hand says too little.
fn weirs(plant: &Plant, found: &Found, matrix: &mut Sparse) {
    for (place, moved) in found.reaches.iter().enumerate() {
        for side in 0..2 {
            let reach = &plant.reaches[place];
            let Outer::Node(node) = reach.ends[side] else { continue };
            let left = found.left[node];
            if !moved.weir[side] || left <= 0.0 {
                continue;
            }
            let takes = if side == 0 { moved.passes[0] } else { -moved.passes[1] };
            let over = beyond(plant, found, place, side) - reach.invert(side);
            let rise = reach.energy(takes.max(0.0) + left).0 - over;
            let slope = if side == 0 { moved.slopes[0][0] } else { -moved.slopes[1][1] };
            if rise > 0.0 {
                matrix.add(plant.slots.own[node], (left / rise - slope).max(0.0));
            }
        }
    }
}

/// How wyes and tees tie the flows of their legs to the heads that these see.
fn wyes(plant: &Plant, found: &Found, scale: f64, matrix: &mut Sparse) {
    for (place, joint) in plant.joints.iter().enumerate() {
        let first = 3 * place;
        let flows: [f64; 3] = std::array::from_fn(|leg| found.x[plant.leg(first + leg)]);
        // For each leg what is added there, by the flow of each.
        let by = joint.law.slopes(flows.map(Flow::m3_per_s), Flow::m3_per_s(scale));
        for (leg, (&(reach, side), by)) in joint.legs.iter().zip(&by).enumerate() {
            matrix.add(plant.slots.own[plant.leg(first + leg)], 1.0);
            let slots = &plant.slots.legs[first + leg];
            let slopes = &found.reaches[reach].slopes;
            for (row, slopes) in slopes.iter().enumerate() {
                // What is left at either end's place, by the head that this leg sees.
                let sign = if row == 0 { -1.0 } else { 1.0 };
                let inward = sign * slopes[side];
                for (slot, by_flow) in slots.ends_by_flows[row].iter().zip(by) {
                    matrix.add(*slot, -inward * by_flow);
                }
                // The legs at either end of this reach hear of both heads and of this joint's flows.
                let Some(flows) = &slots.legs_by_flows[row] else { continue };
                if row == side {
                    for (slot, slope) in slots.own_by_ends.iter().zip(slopes) {
                        matrix.add(*slot, -sign * slope);
                    }
                }
                for (slot, by_flow) in flows.iter().zip(by) {
                    matrix.add(*slot, -inward * by_flow);
                }
            }
        }
    }
}
