//! Water that does not move: the level at which it stands between tanks, crests and moving water.

use crate::flood::Flood;
use crate::line::{Far, Joint};
use crate::model::{Iterate, Model};

/// Flows below this share of the problem's scale may be what a search left over.
pub(crate) const LEFT_OVER: f64 = 1e-12;
/// Flows below this share are none.
pub(crate) const NO_FLOW: f64 = 1e-14;

/// Water that no downspout gives or takes is driven where a tank moves more than this share.
const UNDRIVEN: f64 = 1e-9;

/// Sets flows below a share of the problem's scale to zero, and lets what is still then [`stand`].
pub(crate) fn settle(model: &Model, at: &mut Iterate, share: f64) {
    let none = share * model.scale;
    for flow in &mut at.flow {
        if flow.abs() <= none {
            *flow = 0.0;
        }
    }
    for (admitted, downspout) in at.admitted.iter_mut().zip(&model.lips) {
        if admitted.abs() <= none && *admitted != downspout.demand() {
            *admitted = 0.0;
        }
    }
    stop_circulation(model, at);
    stand(model, at);
}

/// Gives the nodes that nothing passes the level at which a trickle would stand there.
pub(crate) fn stand(model: &Model, at: &mut Iterate) {
    let still = |node: usize| {
        at.admitted.get(node).is_none_or(|takes| *takes == 0.0)
            && model.incidence.at(node).iter().all(|&(line, _)| at.flow[line] == 0.0)
    };
    if !(0..model.nodes).any(still) {
        return;
    }
    let still: Vec<bool> = (0..model.nodes).map(still).collect();
    let moving = (0..model.nodes).filter(|&n| !still[n]).map(|n| (n, at.head[n])).collect();
    // Still water behind a low lip has spilled down to it.
    let lips = model.lips.iter().map(|d| d.lip_m).enumerate().collect();
    for (node, level) in levels(model, moving, lips, &at.water, &at.offset).into_iter().enumerate()
    {
        if still[node] && level.is_finite() {
            at.head[node] = level;
        }
    }
}

/// Stops water that only goes round: where no downspout and no tank gives or takes, nothing drives
/// it, and a flow there is what the search left over.
fn stop_circulation(model: &Model, at: &mut Iterate) {
    let mut reached = vec![false; model.nodes];
    for start in 0..model.nodes {
        if std::mem::replace(&mut reached[start], true) {
            continue;
        }
        let mut group = vec![start];
        let mut driven = false;
        let mut next = 0;
        while let Some(&node) = group.get(next) {
            next += 1;
            driven |= at.admitted.get(node).is_some_and(|takes| *takes != 0.0);
            for &(line, side) in model.incidence.at(node).iter().filter(|(l, _)| at.flow[*l] != 0.0)
            {
                match model.lines[line].ends[1 - side] {
                    Joint::Tank(_) => driven |= at.flow[line].abs() > UNDRIVEN * model.scale,
                    Joint::Node(other) if !reached[other] => {
                        reached[other] = true;
                        group.push(other);
                    }
                    Joint::Node(_) => {}
                }
            }
        }
        if !driven {
            for &(line, _) in group.iter().flat_map(|&node| model.incidence.at(node)) {
                at.flow[line] = 0.0;
            }
        }
    }
}

/// The lowest level at which each node can spill to a tank, over a lip or into water that stands
/// at a known level, over every invert on the way; infinite where there is no way.
pub(crate) fn levels(
    model: &Model,
    known: Vec<(usize, f64)>,
    lips: Vec<(usize, f64)>,
    water: &[Option<f64>],
    offset: &[[f64; 2]],
) -> Vec<f64> {
    let mut level = vec![f64::INFINITY; model.nodes];
    let mut fixed = vec![false; model.nodes];
    let mut flood = Flood::default();
    for &(node, head) in &known {
        fixed[node] = true;
        level[node] = head;
    }
    for (node, head) in known {
        for &(line, side) in model.incidence.at(node) {
            if let Joint::Node(next) = model.lines[line].ends[1 - side]
                && !fixed[next]
            {
                let far = Far::Node(head + offset[line][side]);
                flood.add(model.lines[line].threshold(1 - side, far), next, None);
            }
        }
    }
    for (node, lip) in lips {
        if !fixed[node] {
            flood.add(lip, node, None);
        }
    }
    for line in &model.lines {
        for side in [0, 1] {
            if let (Joint::Node(node), Joint::Tank(tank)) = (line.ends[side], line.ends[1 - side])
                && !fixed[node]
            {
                flood.add(line.threshold(side, Far::Tank(water[tank])), node, None);
            }
        }
    }
    while let Some(way) = flood.lowest() {
        // What is reached without a rise needs no place in the order.
        let reached = way.level();
        let mut here = vec![way.node];
        while let Some(node) = here.pop() {
            if level[node].is_finite() {
                continue;
            }
            level[node] = reached;
            for &(line, side) in model.incidence.at(node) {
                if let Joint::Node(next) = model.lines[line].ends[1 - side]
                    && level[next].is_infinite()
                {
                    let far = Far::Node(reached + offset[line][side]);
                    let over = model.lines[line].threshold(1 - side, far);
                    if over == reached {
                        here.push(next);
                    } else {
                        flood.add(over, next, None);
                    }
                }
            }
        }
    }
    level
}
