//! The search on heads and flows together: Newton steps that keep continuity to the last digit.
//!
//! Where a line loses almost nothing, its flow cannot be read off the difference of two heads.
//! Here every line keeps its flow as an unknown of its own, linearised about itself, so flows
//! balance to rounding while heads settle.

use crate::gap::{CONTINUITY, Flowing, Survey, survey};
use crate::line::{Far, Joint};
use crate::model::{Iterate, Model};
use crate::newton::Assembly;

/// The farthest that a step moves any head, in metres.
const LONGEST_M: f64 = 2.0;

/// One line's part in a step: `flow = base + Σ d_end · change of its ends`.
#[derive(Clone, Copy, Debug, Default)]
struct Part {
    base: f64,
    d_end: [f64; 2],
}

fn line_part(model: &Model, at: &Iterate, line: usize, flowing: &Flowing, trickle: f64) -> Part {
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
    let (from, rise) = match (flowing, ends) {
        (Some(flowing), _) => *flowing,
        (None, [Far::Node(one), Far::Node(other)]) => {
            let from = usize::from(other > one);
            (from, this.rise(0.0, from, ends[1 - from]))
        }
        (None, _) => return by_heads(),
    };
    let source = match ends[from] {
        Far::Node(head) => head,
        Far::Tank(Some(level)) if size < this.feed_limit(from, Some(level)) => level,
        Far::Tank(_) => return by_heads(),
    };
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
fn snap(model: &Model, at: &mut Iterate, lines: &[Flowing]) {
    for (line, flowing) in lines.iter().enumerate() {
        if flowing.is_some_and(|(_, rise)| rise.d_far == 1.0) {
            continue;
        }
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
    for (node, _) in net.iter().enumerate().filter(|(_, net)| **net > 1e-14 * model.scale) {
        let takes_all = at.admitted.get(node).is_none_or(|a| *a == model.downspouts[node].demand());
        if !takes_all || !model.incidence.at(node).iter().all(|&end| shut(model, at, end)) {
            continue;
        }
        let lip = model.downspouts.get(node).map_or(f64::INFINITY, |d| d.spill_head());
        let exit = (model.incidence.at(node).iter())
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

/// Whether a line lets nothing out of the node at one of its ends, whatever its head.
fn shut(model: &Model, at: &Iterate, (line, side): (usize, usize)) -> bool {
    let out = if side == 0 { at.flow[line] } else { -at.flow[line] };
    if out >= 0.0 {
        return out == 0.0;
    }
    let ends = [model.far(at, line, 0), model.far(at, line, 1)];
    model.lines[line].through(ends, at.flow[line]).d_end[side] == 0.0
}

/// What each downspout takes in a step: `base + slope · change of its foot's head`.
fn takes(model: &Model, at: &Iterate, trickle: f64) -> Vec<(f64, f64)> {
    (model.downspouts.iter().enumerate())
        .map(|(d, this)| {
            let head = at.head[d];
            if at.admitted[d] >= this.demand() && head <= this.spill_head() {
                return (this.demand(), 0.0);
            }
            let loss = this.lip_loss(at.admitted[d]);
            let resistance = if at.admitted[d].abs() > trickle {
                loss.d_flow
            } else {
                loss.d_flow.max(this.lip_loss(trickle).d_flow * 1e-3)
            };
            let conductance = 1.0 / resistance.max(1e-12);
            (at.admitted[d] + conductance * (this.lip_m - loss.head_m - head), -conductance)
        })
        .collect()
}

/// The changes of all heads that balance every node under the parts' straight lines.
fn balance(
    model: &Model,
    assembly: &mut Assembly,
    parts: &[Part],
    takes: &[(f64, f64)],
    damping: f64,
) -> Option<Vec<f64>> {
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
    let mut step = [1.0, 1e3, 1e6, 1e9]
        .iter()
        .find_map(|more| assembly.matrix.solve(&right, more * damping))?;
    // A node that no line drains yet is let rise to its crest, not thrown over it.
    for step in &mut step {
        *step = step.clamp(-LONGEST_M, LONGEST_M);
    }
    Some(step)
}

/// Moves flows and heads along the parts' straight lines, as far as each may go.
fn advance(model: &Model, at: &mut Iterate, parts: &[Part], takes: &[(f64, f64)], step: &[f64]) {
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
            let out = if side == 0 { flow } else { -flow };
            if let Joint::Tank(tank) = *end
                && out > 0.0
            {
                let limit = out.min(this.feed_limit(side, at.water[tank]));
                flow = if side == 0 { limit } else { -limit };
            }
        }
        at.flow[line] = flow;
    }
    for (d, (base, slope)) in takes.iter().enumerate() {
        at.admitted[d] = (base + slope * step[d]).min(model.downspouts[d].demand());
    }
    for (head, step) in at.head.iter_mut().zip(step) {
        *head += step;
    }
}

/// How many downspouts take less than their demand.
fn spills(model: &Model, at: &Iterate) -> usize {
    at.admitted.iter().zip(&model.downspouts).filter(|(a, d)| **a < d.demand()).count()
}

/// Takes Newton steps on flows and heads while they close the gap. Returns the best state seen,
/// looked over, and the steps taken.
pub(crate) fn polish(
    model: &Model,
    assembly: &mut Assembly,
    start: Iterate,
    most_steps: u32,
) -> (Iterate, Survey, u32) {
    let mut at = start;
    let mut now = survey(model, &at);
    let mut best = (at.clone(), now.clone());
    let mut steps = 0;
    let mut idle = 0;
    // Where many downspouts spill, each step tells some of them apart from those that hold.
    let most_steps = most_steps + model.downspouts.len() as u32 / 20;
    let mut spilling = spills(model, &at);
    while steps < most_steps && !best.1.gap.fine() && idle < 12 {
        lift_pools(model, &mut at);
        let trickle = model.scale * 0.1_f64.powi(steps.min(6) as i32 + 1);
        let damping = model.scale * 0.1_f64.powi(steps.min(9) as i32 + 3).max(1e-12);
        steps += 1;
        let parts: Vec<Part> = (now.lines.iter().enumerate())
            .map(|(line, flowing)| line_part(model, &at, line, flowing, trickle))
            .collect();
        let takes = takes(model, &at, trickle);
        let Some(step) = balance(model, assembly, &parts, &takes, damping) else { break };
        advance(model, &mut at, &parts, &takes, &step);
        now = survey(model, &at);
        if now.gap.continuity <= CONTINUITY && !now.gap.fine() {
            let mut snapped = at.clone();
            snap(model, &mut snapped, &now.lines);
            let looked = survey(model, &snapped);
            if looked.gap.size() < now.gap.size() || looked.gap.closed() && !now.gap.closed() {
                (at, now) = (snapped, looked);
            }
        }
        if !now.gap.head_m.is_finite() && !now.gap.continuity.is_finite() {
            break;
        }
        if now.gap.size() < best.1.gap.size() {
            idle = if now.gap.size() < 0.5 * best.1.gap.size() { 0 } else { idle + 1 };
            best = (at.clone(), now.clone());
        } else {
            idle += 1;
        }
        let still_spilling = spills(model, &at);
        if still_spilling < spilling {
            idle = 0;
        }
        spilling = still_spilling;
    }
    (best.0, best.1, steps)
}
