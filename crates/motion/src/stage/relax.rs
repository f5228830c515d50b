//! One node after the other brought to keep its water, all else as it stands: slow, but it leads out
//! of where a Newton step of the whole leads nowhere.

use super::{Base, ENOUGH, Found, NOTHING, TOLD, beyond, drains};
use crate::plant::Plant;

/// No head is looked for farther away than this, m.
const FARTHEST: f64 = 1e9;

/// Solves every node and tank, once in their order and once back.
pub(super) fn sweep(plant: &Plant, base: &Base, found: &mut Found, scale: f64) {
    let places = plant.nodes.len() + plant.vessels.len();
    for place in (0..places).chain((0..places).rev()) {
        if let Some(within) = bounds(plant, found, place) {
            relax(plant, base, found, place, within, scale);
        }
    }
    // Half way towards what the legs of wyes and tees carry now.
    for (place, joint) in plant.joints.iter().enumerate() {
        for (leg, &(reach, side)) in joint.legs.iter().enumerate() {
            let moved = &found.reaches[reach];
            let inward = if side == 0 { -moved.passes[0] } else { moved.passes[1] };
            let flow = &mut found.x[plant.leg(3 * place + leg)];
            *flow += 0.5 * (inward - *flow);
        }
    }
}

/// How low and how high a head or level may be; `None` where it is none.
fn bounds(plant: &Plant, found: &Found, place: usize) -> Option<(f64, f64)> {
    let nodes = plant.nodes.len();
    if let Some(node) = plant.nodes.get(place) {
        return node.alive.then_some((node.floor, node.opening));
    }
    let vessel = &plant.vessels[place - nodes];
    if !vessel.stands {
        None
    } else if let Some(store) = &vessel.store {
        Some((store.floor, vessel.ceiling()))
    } else {
        let to = vessel.to.filter(|to| plant.vessels[*to].stands).map(|to| found.x[nodes + to]);
        let lowest = vessel.overflow.max(to.unwrap_or(f64::NEG_INFINITY)).min(vessel.rim);
        vessel.pipe.map(|_| (lowest, vessel.rim))
    }
}

/// What a tank keeps or lets go at a level beyond what comes by overflows, and how that answers.
fn lets(plant: &Plant, base: &Base, found: &Found, tank: usize, level: f64) -> (f64, f64) {
    let (nodes, vessel) = (plant.nodes.len(), &plant.vessels[tank]);
    let to = vessel.to.filter(|to| plant.vessels[*to].stands).map(|to| found.x[nodes + to]);
    let (lets, answers, _) = vessel.lets(level, to);
    let (mut comes, mut more) = (0.0, 0.0);
    for (giver, of) in plant.vessels.iter().enumerate().filter(|(_, of)| of.to == Some(tank)) {
        if of.store.is_some() {
            // Less comes the higher this tank's water stands over that one's overflow.
            let (passes, _, by_level) = of.lets(found.x[nodes + giver], Some(level));
            comes += passes;
            more += by_level.abs();
        } else {
            comes += found.onward[giver];
        }
    }
    let (fills, area) = vessel.store.as_ref().map_or((0.0, 0.0), |store| {
        ((store.volume(level) - base.tanks[tank]) / base.delta, store.area_m2 / base.delta)
    });
    (lets + fills - comes, answers.abs() + area + more)
}

/// What is left over at a place whose head were `head`; its reaches and column are set to it.
fn left(plant: &Plant, base: &Base, found: &mut Found, node: usize, head: f64) -> (f64, f64) {
    found.x[node] = head;
    let (mut left, mut answers) = (base.nodes.get(node).copied().unwrap_or(0.0), 0.0);
    for &(place, side) in &plant.meets[node] {
        let reach = &plant.reaches[place];
        let outer = [0, 1].map(|side| beyond(plant, found, place, side));
        let near = &found.reaches[place];
        let moved = reach.moves(outer, &base.reaches[place], base.delta, near);
        // A line from a node back to it counts at both its ends.
        left += if side == 0 { -moved.passes[0] } else { moved.passes[1] };
        answers += moved.slopes[side][side].abs();
        found.reaches[place] = moved;
    }
    if let Some(column) = plant.columns.get(node) {
        let (volume, past) = base.columns[node];
        let near = &found.columns[node];
        let stood = column.stands(head, volume, past, base.delta, near);
        left += stood.flow;
        answers += stood.slope.abs();
        found.columns[node] = stood;
    }
    if let Some(at) = plant.nodes.get(node) {
        let (drains, more) = drains(at, head);
        left += at.hose - drains;
        answers += more;
    }
    if let Some(tank) = node.checked_sub(plant.nodes.len()) {
        let (lets, more) = lets(plant, base, found, tank, head);
        (left - lets, answers + more)
    } else {
        found.answers[node] = answers;
        (left, answers)
    }
}

/// Finds the head at which a place keeps its water: what is left over falls as the head rises.
fn relax(
    plant: &Plant,
    base: &Base,
    found: &mut Found,
    place: usize,
    (floor, top): (f64, f64),
    scale: f64,
) {
    let start = found.x[place].max(floor).min(top);
    let mut at = |head: f64| {
        let (value, answers) = left(plant, base, found, place, head);
        (
            head,
            value,
            (0.1 * ENOUGH * scale).max(TOLD * (1.0 + head.abs()) * answers).max(0.1 * NOTHING),
            answers,
        )
    };
    let mut here = at(start);
    if here.1.abs() <= here.2 {
        return;
    }
    // Walk until the sign turns, or to where the head can go no further.
    let rises = here.1 > 0.0;
    let mut stride = (here.1.abs() / here.3.max(1e-9)).clamp(1e-9, 1.0);
    let there = loop {
        let head = if rises { (here.0 + stride).min(top) } else { (here.0 - stride).max(floor) };
        let there = at(head);
        if (there.1 > 0.0) != rises {
            break there;
        }
        if head >= top || head <= floor || stride > FARTHEST {
            return;
        }
        here = there;
        stride *= 4.0;
    };
    let (mut low, mut high) = if rises { (here, there) } else { (there, here) };
    for turn in 0..80 {
        let width = high.0 - low.0;
        let secant = low.0 + width * low.1 / (low.1 - high.1);
        let within = secant > low.0 && secant < high.0 && turn % 3 != 2;
        let head = if within { secant } else { 0.5 * (low.0 + high.0) };
        if head <= low.0 || head >= high.0 {
            break;
        }
        let now = at(head);
        if now.1.abs() <= now.2 {
            return;
        }
        if now.1 > 0.0 {
            low = now;
        } else {
            high = now;
        }
    }
}
