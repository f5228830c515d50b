//! The search on heads and flows together: Newton steps that keep continuity to the last digit.
//!
//! Where a line loses almost nothing, its flow cannot be read off the difference of two heads.
//! Here every line keeps its flow as an unknown of its own, linearised about itself, so flows
//! balance to rounding while heads settle.

use crate::assembly::Assembly;
use crate::coupling::{Offsets, look, look_over, move_offsets};
use crate::gap::{Gap, Survey, rise};
use crate::laws::critical;
use crate::line::Joint;
use crate::model::{Iterate, Model};
use crate::tangent::{Part, Slopes, lettings, line_part, takes};

/// The farthest that a step moves any head, in metres.
const LONGEST_M: f64 = 2.0;

/// The least that a pool is lifted over its way out, in metres.
const LEAST_M: f64 = 1e-12;

/// After so many steps that gain little the search goes round between two states on either side of a
/// rim, of a tank's lowest level or of a bend in a wye's law: half steps lead in between.
const ROUND: u32 = 4;

/// From so many downspouts still to be told apart on, lips are soft at first.
const MANY: usize = 200;
/// How far a soft lip lets the head below it stand off at first for a downspout of mean demand, m.
const SOFT_M: f64 = 1.0;
/// What a step leaves of the softness while it tells many downspouts apart, what else, and what
/// counts as none.
const HARDENS: [f64; 2] = [0.4, 0.1];
const HARD: f64 = 1e-6;

/// A node takes in water where more than this share of the scale is left over: less is rounding.
const TAKES_IN: f64 = 1e-14;

/// The share of the scale up to which a flow answers as a trickle does, and that which damps the step,
/// as powers of a tenth: in the first step, and by how much it grows at most, one with each step. Bold
/// steps come first, and the last ones follow the laws as they are.
const TRICKLE: [f64; 2] = [1.0, 6.0];
const DAMPING: [f64; 2] = [3.0, 9.0];
/// What a pivot needs.
const LEAST_DAMPING: f64 = 1e-12;

/// A step that leaves less than this share of the gap has gained something.
const GAINED: f64 = 0.5;
/// After so many steps that gain nothing the search ends: half steps from [`ROUND`] on had time.
const IDLE: u32 = 12;

/// Reads the flow of every line that an outfall or a crest rules off the head over it: near no
/// flow the head says more of the flow than the flow of the head. Gives the state looked over.
fn snapped(model: &Model, at: &Iterate, now: &Survey, offsets: Offsets) -> (Iterate, Survey) {
    let (mut at, mut lines) = (at.clone(), now.lines.clone());
    for (line, flowing) in lines.iter_mut().enumerate() {
        if flowing.is_some_and(|(_, rise)| rise.d_far == 1.0) {
            continue;
        }
        let through = model.lines[line]
            .through([model.far(&at, line, 0), model.far(&at, line, 1)], at.flow[line]);
        if through.d_end[0] != -through.d_end[1] {
            at.flow[line] = through.flow;
            *flowing = rise(model, &at, line);
        }
    }
    let survey = look_over(model, &at, lines, offsets);
    (at, survey)
}

/// Lifts each node that takes in water and lets none out to the lowest level at which it would.
fn lift_pools(model: &Model, at: &mut Iterate) {
    let net = model.imbalance(at);
    for (node, &net) in net.iter().enumerate().filter(|(_, net)| **net > TAKES_IN * model.scale) {
        let takes_all = at.admitted.get(node).is_none_or(|a| *a == model.lips[node].demand());
        let ends = model.incidence.at(node);
        let lets_out = |&end: &(usize, usize)| outward(at, end) > 0.0;
        if !takes_all || ends.iter().any(lets_out) || !ends.iter().all(|&end| shut(model, at, end))
        {
            continue;
        }
        // The lowest way out, and what it takes to let the water go there.
        let lip = model.lips.get(node).map_or(f64::INFINITY, |lip| lip.spill_head());
        let (mut exit, mut over) = (lip, LEAST_M);
        for &(line, side) in ends {
            let this = &model.lines[line];
            let level = this.threshold(side, model.far(at, line, 1 - side)) - at.offset[line][side];
            if level < exit {
                exit = level;
                over = critical::energy(this.bore_m, net).energy_m.max(LEAST_M);
            }
        }
        if exit.is_finite() && exit >= at.head[node] {
            at.head[node] = exit + over;
        }
    }
}

/// What leaves a node by the end of a line.
fn outward(at: &Iterate, (line, side): (usize, usize)) -> f64 {
    if side == 0 { at.flow[line] } else { -at.flow[line] }
}

/// Whether a line that takes nothing from the node at one of its ends would not, whatever its head.
fn shut(model: &Model, at: &Iterate, (line, side): (usize, usize)) -> bool {
    if outward(at, (line, side)) == 0.0 {
        return true;
    }
    let ends = [model.far(at, line, 0), model.far(at, line, 1)];
    model.lines[line].through(ends, at.flow[line]).d_end[side] == 0.0
}

/// The changes of all heads that balance every node under the parts' straight lines, none further
/// than a step may go.
fn step_of(model: &Model, assembly: &mut Assembly, slopes: &Slopes) -> Option<Vec<f64>> {
    let mut step = slopes.balance(model, assembly)?;
    // A node that no line drains yet is let rise to its crest, not thrown over it.
    for step in &mut step {
        *step = step.clamp(-LONGEST_M, LONGEST_M);
    }
    Some(step)
}

/// Moves flows and heads along the parts' straight lines, as far as each may go.
fn advance(model: &Model, at: &mut Iterate, parts: &[Part], takes: &[(f64, f64)], step: &[f64]) {
    model.step(at, step, 1.0);
    for (line, part) in parts.iter().enumerate() {
        let this = &model.lines[line];
        let mut flow = part.base;
        for (side, end) in this.ends.iter().enumerate() {
            if let Some(unknown) = model.unknown(*end) {
                flow += part.d_end[side] * step[unknown];
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
                let limit = out.min(this.feed_limit(side, at.water[tank]).0);
                flow = if side == 0 { limit } else { -limit };
            }
        }
        at.flow[line] = flow;
    }
    for (d, (base, slope)) in takes.iter().enumerate() {
        at.admitted[d] = (base + slope * step[d]).min(model.lips[d].demand());
    }
}

/// Goes back half of a step.
fn meet_halfway(at: &mut Iterate, before: &Iterate) {
    let half = |now: &mut [f64], then: &[f64]| {
        for (now, then) in now.iter_mut().zip(then) {
            *now = 0.5 * (*now + then);
        }
    };
    half(&mut at.head, &before.head);
    half(&mut at.flow, &before.flow);
    half(&mut at.admitted, &before.admitted);
    half(at.offset.as_flattened_mut(), before.offset.as_flattened());
    for (now, then) in at.water.iter_mut().flatten().zip(before.water.iter().flatten()) {
        *now = 0.5 * (*now + then);
    }
}

/// How many downspouts take less than their demand.
fn spills(model: &Model, at: &Iterate) -> usize {
    at.admitted.iter().zip(&model.lips).filter(|(a, d)| **a < d.demand()).count()
}

/// How soft the lips are at first, m for each m³/s.
///
/// A lip holds the head below it, so a step hardly sees past the nearest downspouts that spill: of
/// thousands in a row it tells a few from those that hold. Softer lips let it see further.
fn soft(model: &Model, at: &Iterate) -> f64 {
    let untold = (at.admitted.iter().zip(&at.head).zip(&model.lips))
        .filter(|((admitted, head), d)| **admitted >= d.demand() && **head > d.spill_head())
        .count();
    if untold < MANY { 0.0 } else { SOFT_M * model.lips.len() as f64 / model.scale }
}

/// What is known of where the steps begin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Start {
    /// Nothing: the first steps are bold.
    Far,
    /// A transient led there: bold steps would lead away.
    Led,
    /// It is the state of nearly the same rain, and what is found only leads to others.
    Near,
}

/// From a near start the first steps are as bold as others are after so many.
const NEARER: u32 = 6;

/// Takes Newton steps on flows and heads while they close the gap. Returns the best state seen,
/// looked over, and the steps taken. `offsets` are held or found with them. `one_way` says that from
/// every node water has one way to a tank.
pub(crate) fn polish(
    model: &Model,
    assembly: &mut Assembly,
    start: Iterate,
    offsets: Offsets,
    most_steps: u32,
    one_way: bool,
    from: Start,
) -> (Iterate, Survey, u32) {
    let mut at = start;
    let mut now = look(model, &at, offsets);
    // The best state before, where it is better than the one at hand.
    let mut best: Option<(Iterate, Survey)> = None;
    let stage = if from == Start::Far { 0 } else { NEARER };
    let mut steps = 0;
    let mut idle = 0;
    let mut spilling = spills(model, &at);
    // Where water has more than one way soft lips only keep the first steps from settling.
    let mut soft = if one_way { soft(model, &at) } else { 0.0 };
    let hard = HARD * soft;
    let goes_round = !model.moving.is_empty() || offsets == Offsets::Found;
    let enough = |gap: &Gap| gap.fine() || (from == Start::Near && gap.clear());
    while steps < most_steps && !enough(best_gap(&best, &now)) && idle < IDLE {
        let best_at = best.is_none().then(|| at.clone());
        lift_pools(model, &mut at);
        let bold = f64::from(steps + stage);
        let tenths = |[first, steps]: [f64; 2]| libm::pow(0.1, bold.min(steps) + first);
        let trickle = model.scale * tenths(TRICKLE);
        let damping = model.scale * tenths(DAMPING).max(LEAST_DAMPING);
        steps += 1;
        let parts = (now.lines.iter().enumerate())
            .map(|(line, flowing)| line_part(model, &at, line, flowing, trickle))
            .collect();
        let takes = takes(model, &at, trickle, soft);
        let lettings = lettings(model, &at, trickle);
        let mut slopes = Slopes { parts, takes, lettings, damping };
        let before = (idle >= ROUND && goes_round).then(|| at.clone());
        if offsets == Offsets::Found {
            move_offsets(model, assembly, &mut at, &mut slopes);
        }
        let Some(step) = step_of(model, assembly, &slopes) else {
            at = best_at.unwrap_or(at);
            break;
        };
        advance(model, &mut at, &slopes.parts, &slopes.takes, &step);
        if let Some(before) = before {
            meet_halfway(&mut at, &before);
        }
        let was = std::mem::replace(&mut now, look(model, &at, offsets));
        best = best_at.map(|at| (at, was)).or(best);
        if now.gap.balanced() && !enough(&now.gap) {
            let (snapped, looked) = snapped(model, &at, &now, offsets);
            if looked.gap.size() < now.gap.size() || looked.gap.closed() && !now.gap.closed() {
                (at, now) = (snapped, looked);
            }
        }
        if !now.gap.head_m.is_finite() && !now.gap.continuity.is_finite() {
            break;
        }
        let least = best_gap(&best, &now).size();
        if now.gap.size() < least {
            idle = if now.gap.size() < GAINED * least { 0 } else { idle + 1 };
            best = None;
        } else {
            idle += 1;
        }
        let still_spilling = spills(model, &at);
        if still_spilling < spilling {
            idle = 0;
        }
        let told = spilling.abs_diff(still_spilling);
        let many = steps < 3 || told > at.admitted.len() / 200;
        soft = if soft > hard { HARDENS[usize::from(!many)] * soft } else { 0.0 };
        spilling = still_spilling;
    }
    let (at, survey) = best.unwrap_or((at, now));
    (at, survey, steps)
}

/// The gap of the best state so far.
fn best_gap<'a>(before: &'a Option<(Iterate, Survey)>, now: &'a Survey) -> &'a Gap {
    before.as_ref().map_or(&now.gap, |(_, survey)| &survey.gap)
}
