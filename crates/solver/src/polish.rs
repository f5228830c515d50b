//! The search on heads and flows together: Newton steps that keep continuity to the last digit.
//!
//! Where a line loses almost nothing, its flow cannot be read off the difference of two heads.
//! Here every line keeps its flow as an unknown of its own, linearised about itself, so flows
//! balance to rounding while heads settle.

use crate::laws::critical;
use crate::line::{Far, Joint};
use crate::model::{Iterate, Model};
use crate::newton::Assembly;

/// How far a state is from solving the equations.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Gap {
    /// Largest imbalance of a node over the problem's scale.
    pub(crate) continuity: f64,
    /// Largest error of a head equation or of a one-sided condition, in metres.
    pub(crate) head_m: f64,
    /// Where that is.
    pub(crate) worst: Worst,
}

/// The equation that is furthest off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Worst {
    /// A line's head equation.
    Line(usize),
    /// A downspout's.
    Downspout(usize),
    /// A node's continuity.
    Node(usize),
}

/// How far a line's equation is from holding: the head that its upstream end has beyond what the
/// flow needs, or for a still line the head by which either end overtops it.
fn line_gap(model: &Model, at: &Iterate, line: usize) -> f64 {
    let this = &model.lines[line];
    let flow = at.flow[line];
    let ends = [model.far(at, line, 0), model.far(at, line, 1)];
    if flow == 0.0 {
        return (0..2)
            .map(|from| match ends[from] {
                Far::Node(head) => head - this.threshold(from, ends[1 - from]),
                Far::Tank(water @ Some(level)) if this.feed_limit(from, water) > 0.0 => {
                    level - this.threshold(from, ends[1 - from])
                }
                Far::Tank(_) => f64::NEG_INFINITY,
            })
            .fold(0.0, f64::max);
    }
    let from = usize::from(flow < 0.0);
    let rise = this.rise(flow.abs(), from, ends[1 - from]);
    match ends[from] {
        Far::Node(head) => (head - rise.head_m).abs(),
        Far::Tank(water) => {
            // Either the water's whole head drives the line, or the inlet lets out no more: its
            // critical energy is the depth over the invert.
            let level = water.unwrap_or(f64::NEG_INFINITY);
            let spare = level - rise.head_m;
            let depth = level - this.end_level(from);
            spare.min(depth - critical::energy(this.bore_m, flow.abs()).energy_m).abs()
        }
    }
}

/// How far a downspout's condition is from holding.
fn downspout_gap(model: &Model, at: &Iterate, d: usize) -> f64 {
    let this = &model.downspouts[d];
    let (admitted, head) = (at.admitted[d], at.head[d]);
    if admitted > this.demand {
        f64::INFINITY
    } else if admitted == this.demand {
        (head - this.spill_head()).max(0.0)
    } else {
        (head + this.lip_loss(admitted).head_m - this.lip_m).abs()
    }
}

/// Measures a state against every equation.
pub(crate) fn gap(model: &Model, at: &Iterate) -> Gap {
    let mut gap = Gap { continuity: 0.0, head_m: 0.0, worst: Worst::Node(0) };
    for line in 0..model.lines.len() {
        let miss = line_gap(model, at, line);
        if miss.is_nan() || miss > gap.head_m {
            (gap.head_m, gap.worst) = (miss, Worst::Line(line));
        }
    }
    for d in 0..model.downspouts.len() {
        let miss = downspout_gap(model, at, d);
        if miss.is_nan() || miss > gap.head_m {
            (gap.head_m, gap.worst) = (miss, Worst::Downspout(d));
        }
    }
    for (node, net) in model.imbalance(at).iter().enumerate() {
        let share = net.abs() / model.scale;
        if share.is_nan() || share > gap.continuity {
            gap.continuity = share;
            if gap.head_m <= HEAD_M {
                gap.worst = Worst::Node(node);
            }
        }
    }
    gap
}

/// What the contract asks of continuity, as a share of the total demand.
pub(crate) const CONTINUITY: f64 = 1e-9;
/// What the contract asks of every head equation, in metres.
pub(crate) const HEAD_M: f64 = 1e-7;
/// What a search strives for before it is content with the above.
const FINE: (f64, f64) = (1e-13, 1e-11);

impl Gap {
    /// Whether the state answers the contract.
    pub(crate) fn closed(&self) -> bool {
        self.continuity <= CONTINUITY && self.head_m <= HEAD_M
    }

    fn fine(&self) -> bool {
        self.continuity <= FINE.0 && self.head_m <= FINE.1
    }

    pub(crate) fn size(&self) -> f64 {
        (self.continuity / FINE.0).max(self.head_m / FINE.1)
    }
}

/// The farthest that a step moves any head, in metres.
const LONGEST_M: f64 = 2.0;

/// One line's part in a step: `flow = base + Σ d_end · change of its ends`.
#[derive(Clone, Copy, Debug, Default)]
struct Part {
    base: f64,
    d_end: [f64; 2],
}

fn line_part(model: &Model, at: &Iterate, line: usize, trickle: f64) -> Part {
    let this = &model.lines[line];
    let ends = [model.far(at, line, 0), model.far(at, line, 1)];
    let flow = at.flow[line];
    // Where an outfall or a crest rules, the flow is read off the head over it, which it follows
    // smoothly down to none; so is the flow of a line that stands still.
    let by_heads = || {
        let through = this.through(ends, flow);
        Part { base: through.flow, d_end: through.d_end }
    };
    let size = flow.abs();
    let from = if flow == 0.0 {
        let (Far::Node(one), Far::Node(other)) = (ends[0], ends[1]) else { return by_heads() };
        usize::from(other > one)
    } else {
        usize::from(flow < 0.0)
    };
    let source = match ends[from] {
        Far::Node(head) => head,
        Far::Tank(Some(level)) if size < this.feed_limit(from, Some(level)) => level,
        Far::Tank(_) => return by_heads(),
    };
    let rise = this.rise(size, from, ends[1 - from]);
    if rise.d_far == 0.0 {
        return by_heads();
    }
    // Near no flow the slope of a law may vanish: a secant stands in.
    let resistance = if size > trickle {
        rise.d_flow
    } else {
        let secant = this.friction.slope(size + trickle).0 - this.friction.slope(size).0;
        rise.d_flow.max(secant / trickle * this.length_m)
    };
    let conductance = 1.0 / resistance.max(1e-12);
    let sign = if from == 0 { 1.0 } else { -1.0 };
    let mut d_end = [0.0; 2];
    d_end[from] = sign * conductance;
    d_end[1 - from] = -sign * conductance;
    Part { base: flow + sign * conductance * (source - rise.head_m), d_end }
}

/// Reads the flow of every line that an outfall or a crest rules off the head over it: near no
/// flow the head says more of the flow than the flow of the head.
fn snap(model: &Model, at: &mut Iterate) {
    for line in 0..model.lines.len() {
        let through = model.lines[line]
            .through([model.far(at, line, 0), model.far(at, line, 1)], at.flow[line]);
        if through.d_end[0] != -through.d_end[1] {
            at.flow[line] = through.flow;
        }
    }
}

/// Lifts each node that takes in water and lets none out to the lowest level at which it would.
fn lift_pools(model: &Model, at: &mut Iterate) {
    let net = model.imbalance(at);
    for (node, net) in net.iter().enumerate() {
        let lines = &model.at_node[node];
        let closed = *net > 1e-14 * model.scale
            && at.admitted.get(node).is_none_or(|a| *a == model.downspouts[node].demand)
            && lines.iter().all(|&(line, side)| {
                let out = if side == 0 { at.flow[line] } else { -at.flow[line] };
                out == 0.0
                    || out < 0.0
                        && model.lines[line]
                            .through(
                                [model.far(at, line, 0), model.far(at, line, 1)],
                                at.flow[line],
                            )
                            .d_end[side]
                            == 0.0
            });
        if !closed {
            continue;
        }
        let lip = model.downspouts.get(node).map_or(f64::INFINITY, |d| d.spill_head());
        let exit = (lines.iter())
            .map(|&(line, side)| {
                model.lines[line].threshold(side, model.far(at, line, 1 - side))
                    - at.offset[line][side]
            })
            .fold(lip, f64::min);
        if exit.is_finite() && exit >= at.head[node] {
            at.head[node] = exit + 1e-4;
        }
    }
}

/// Takes Newton steps on flows and heads while they close the gap. Returns the best state seen,
/// its gap and the steps taken.
pub(crate) fn polish(
    model: &Model,
    assembly: &mut Assembly,
    start: Iterate,
    most_steps: u32,
) -> (Iterate, Gap, u32) {
    let mut at = start;
    let mut best = (at.clone(), gap(model, &at));
    let mut steps = 0;
    let mut idle = 0;
    while steps < most_steps && !best.1.fine() && idle < 12 {
        lift_pools(model, &mut at);
        let trickle = model.scale * 0.1_f64.powi(steps.min(6) as i32 + 1);
        steps += 1;
        let parts: Vec<Part> =
            (0..model.lines.len()).map(|line| line_part(model, &at, line, trickle)).collect();
        let takes: Vec<(f64, f64)> = (0..model.downspouts.len())
            .map(|d| {
                let this = &model.downspouts[d];
                let head = at.head[d];
                if at.admitted[d] >= this.demand && head <= this.spill_head() {
                    return (this.demand, 0.0);
                }
                let loss = this.lip_loss(at.admitted[d]);
                let resistance = loss.d_flow.max(this.lip_loss(trickle).d_flow * 1e-3);
                let conductance = 1.0 / resistance.max(1e-12);
                (at.admitted[d] + conductance * (this.lip_m - loss.head_m - head), -conductance)
            })
            .collect();
        assembly.matrix.clear();
        let mut right = vec![0.0; model.nodes];
        for (line, part) in parts.iter().enumerate() {
            assembly.add_line(model, line, part.d_end);
            for (side, end) in model.lines[line].ends.iter().enumerate() {
                if let Joint::Node(node) = *end {
                    right[node] += if side == 1 { part.base } else { -part.base };
                }
            }
        }
        for (d, (base, slope)) in takes.iter().enumerate() {
            assembly.matrix.add(d, -slope);
            right[d] += base;
        }
        // A node that no line drains yet is let rise to its crest, not thrown over it.
        let damping = model.scale * 0.1_f64.powi(steps.min(9) as i32 + 2).max(1e-12);
        let step = [1.0, 1e3, 1e6, 1e9]
            .iter()
            .find_map(|more| assembly.matrix.solve(&right, more * damping));
        let Some(mut step) = step else { break };
        let longest = step.iter().fold(0.0_f64, |m, s| m.max(s.abs()));
        if longest > LONGEST_M {
            for step in &mut step {
                *step = step.clamp(-LONGEST_M, LONGEST_M);
            }
        }
        for (line, part) in parts.iter().enumerate() {
            let this = &model.lines[line];
            let mut flow = part.base;
            for (side, end) in this.ends.iter().enumerate() {
                if let Joint::Node(node) = *end {
                    flow += part.d_end[side] * step[node];
                }
            }
            if part.base != 0.0 && flow * part.base < 0.0 && part.d_end[0] != -part.d_end[1] {
                flow = 0.0; // what runs over a crest or out of an inlet does not run back
            }
            for (side, end) in this.ends.iter().enumerate() {
                if let Joint::Tank(tank) = *end {
                    let out = if side == 0 { flow } else { -flow };
                    let limit = this.feed_limit(side, at.water[tank]);
                    if out > limit {
                        flow = if side == 0 { limit } else { -limit };
                    }
                }
            }
            at.flow[line] = flow;
        }
        for (d, (base, slope)) in takes.iter().enumerate() {
            let taken = base + slope * step[d];
            at.admitted[d] = taken.min(model.downspouts[d].demand);
        }
        for (head, step) in at.head.iter_mut().zip(&step) {
            *head += step;
        }
        let mut now = gap(model, &at);
        let mut snapped = at.clone();
        snap(model, &mut snapped);
        let snapped_gap = gap(model, &snapped);
        if snapped_gap.size() < now.size() || snapped_gap.closed() && !now.closed() {
            (at, now) = (snapped, snapped_gap);
        }
        if !now.head_m.is_finite() && !now.continuity.is_finite() {
            break;
        }
        if now.size() < best.1.size() {
            idle = if now.size() < 0.5 * best.1.size() { 0 } else { idle + 1 };
            best = (at.clone(), now);
        } else {
            idle += 1;
        }
    }
    (best.0, best.1, steps)
}
