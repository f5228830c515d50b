//! What is left of the balance at places, sent on along the lines that carry most.
//!
//! In a drizzle over a crest the flow hangs on a depth of a micrometre, which a head of some metres
//! holds to a billionth: heads that satisfy every law still leave flows that miss the balance by
//! more than is asked. The flows themselves have digits enough. So each place passes what it has too
//! much or too little of on to the next towards a tank or a lip; how far the laws then miss is
//! measured as in any other state.

use crate::line::Joint;
use crate::model::{Iterate, Model};
use ordered_float::OrderedFloat;
use std::collections::BinaryHeap;

/// Sends what is left at each place to a tank or to a lip where water leaves, by the lines that
/// carry most.
pub(crate) fn send_on(model: &Model, at: &mut Iterate) {
    let (order, parent) = ways(model, at);
    let mut left = model.imbalance(at);
    for &node in order.iter().rev() {
        let over = left[node];
        let Some((line, side)) = parent[node] else {
            at.admitted[node] -= over;
            continue;
        };
        at.flow[line] += if side == 0 { over } else { -over };
        if let Joint::Node(next) = model.lines[line].ends[1 - side] {
            left[next] += over;
        }
    }
}

/// The places from the tanks and such lips outward, and for each the line by which it is reached
/// with the end that is there; none at a lip. Of the lines that lead on the one that carries most
/// is taken first.
fn ways(model: &Model, at: &Iterate) -> (Vec<usize>, Vec<Option<(usize, usize)>>) {
    let mut order = Vec::with_capacity(model.nodes);
    let mut parent = vec![None; model.nodes];
    let mut reached = vec![false; model.nodes];
    let mut lines = BinaryHeap::new();
    let carries = |line: usize| OrderedFloat(at.flow[line].abs());
    let onward = |node: usize, lines: &mut BinaryHeap<(OrderedFloat<f64>, usize, usize)>| {
        let here = model.incidence.at(node).iter().filter(|(line, _)| at.flow[*line] != 0.0);
        lines.extend(here.map(|&(line, side)| (carries(line), line, 1 - side)));
    };
    for (node, (lip, admitted)) in model.lips.iter().zip(&at.admitted).enumerate() {
        if *admitted < lip.demand() {
            reached[node] = true;
            order.push(node);
            onward(node, &mut lines);
        }
    }
    for (index, line) in model.lines.iter().enumerate() {
        for side in [0, 1] {
            if matches!(line.ends[1 - side], Joint::Tank(_)) && at.flow[index] != 0.0 {
                lines.push((carries(index), index, side));
            }
        }
    }
    while let Some((_, line, side)) = lines.pop() {
        let Joint::Node(node) = model.lines[line].ends[side] else { continue };
        if !std::mem::replace(&mut reached[node], true) {
            parent[node] = Some((line, side));
            order.push(node);
            onward(node, &mut lines);
        }
    }
    (order, parent)
}
