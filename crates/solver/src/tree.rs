//! The spanning forest that hangs from the tanks, and the flows and heads it gives at once.

use crate::flood::Flood;
use crate::gap::Flowing;
use crate::line::{Far, Joint};
use crate::model::{Iterate, Model};
use std::collections::VecDeque;

/// A spanning forest rooted at the tanks.
pub(crate) struct Forest {
    /// Nodes from the tanks outward.
    order: Vec<usize>,
    /// For each node the line towards its tank, and the end of that line at the node.
    parent: Vec<Option<(usize, usize)>>,
    /// Whether no line is left over and each tree has one tank: the flows follow from the demands.
    pub(crate) exact: bool,
}

impl Forest {
    /// Grows the forest breadth first from all tanks, wider lines before narrower.
    pub(crate) fn new(model: &Model) -> Self {
        let mut parent = vec![None; model.nodes];
        let mut order = Vec::with_capacity(model.nodes);
        let mut queue = VecDeque::with_capacity(model.lines.len());
        for (index, line) in model.lines.iter().enumerate() {
            for side in [0, 1] {
                if matches!(line.ends[side], Joint::Tank(_)) {
                    queue.push_back((index, 1 - side));
                }
            }
        }
        queue
            .make_contiguous()
            .sort_by(|a, b| model.lines[b.0].bore_m.total_cmp(&model.lines[a.0].bore_m));
        while let Some((line, side)) = queue.pop_front() {
            let Joint::Node(node) = model.lines[line].ends[side] else { continue };
            if parent[node].is_some() {
                continue;
            }
            parent[node] = Some((line, side));
            order.push(node);
            for &(next, here) in model.incidence.at(node) {
                if next != line {
                    queue.push_back((next, 1 - here));
                }
            }
        }
        // Each node reached took one line of its own.
        let exact = order.len() == model.lines.len();
        Self { order, parent, exact }
    }

    /// Grows the forest along which a trickle drains: from every node over the lowest way out, into
    /// a tank, the tanks' water standing as given, or over a downspout's lip. A downspout at whose
    /// lip water leaves has no line towards a tank.
    pub(crate) fn of_a_trickle(model: &Model, water: &[Option<f64>]) -> Self {
        let mut parent = vec![None; model.nodes];
        let mut reached = vec![false; model.nodes];
        let mut order = Vec::with_capacity(model.nodes);
        let mut flood = Flood::default();
        for (node, downspout) in model.lips.iter().enumerate() {
            flood.add(downspout.lip_m, node, None);
        }
        for (index, line) in model.lines.iter().enumerate() {
            for side in [0, 1] {
                if let (Joint::Node(node), Joint::Tank(tank)) =
                    (line.ends[side], line.ends[1 - side])
                {
                    let level = line.threshold(side, Far::Tank(water[tank]));
                    flood.add(level, node, Some((index, side)));
                }
            }
        }
        while let Some(way) = flood.lowest() {
            let node = way.node;
            if std::mem::replace(&mut reached[node], true) {
                continue;
            }
            parent[node] = way.by;
            order.push(node);
            for &(line, here) in model.incidence.at(node) {
                if let Joint::Node(next) = model.lines[line].ends[1 - here]
                    && !reached[next]
                {
                    let level = model.lines[line].threshold(1 - here, Far::Node(way.level()));
                    flood.add(level, next, Some((line, 1 - here)));
                }
            }
        }
        Self { order, parent, exact: false }
    }

    /// The level at which each node spills to its tank, over every invert on the way: where the
    /// forest is exact there is no other way.
    pub(crate) fn levels(&self, model: &Model, water: &[Option<f64>]) -> Vec<f64> {
        let mut level = vec![f64::INFINITY; model.nodes];
        for &node in &self.order {
            let Some((line, side)) = self.parent[node] else { continue };
            let far = match model.lines[line].ends[1 - side] {
                Joint::Node(next) => Far::Node(level[next]),
                Joint::Tank(tank) => Far::Tank(water[tank]),
            };
            level[node] = model.lines[line].threshold(side, far);
        }
        level
    }

    /// Sends what the downspouts take down the forest to the tanks; lines off it stand still.
    pub(crate) fn set_flows(&self, model: &Model, at: &mut Iterate) {
        let mut gathered = vec![0.0; model.nodes];
        gathered[..at.admitted.len()].copy_from_slice(&at.admitted);
        at.flow.fill(0.0);
        for &node in self.order.iter().rev() {
            let Some((line, side)) = self.parent[node] else {
                // All that comes to this lip leaves over it.
                at.admitted[node] -= gathered[node];
                continue;
            };
            at.flow[line] = if side == 0 { gathered[node] } else { -gathered[node] };
            if let Joint::Node(next) = model.lines[line].ends[1 - side] {
                gathered[next] += gathered[node];
            }
        }
    }

    /// Sets each node's head to what its flow towards the tank needs; flows against the forest's
    /// direction count as none.
    /// Returns the rise of every line that flows.
    pub(crate) fn set_heads(&self, model: &Model, at: &mut Iterate) -> Vec<Flowing> {
        let mut rises = vec![None; model.lines.len()];
        for &node in &self.order {
            let Some((line, side)) = self.parent[node] else {
                let lip = &model.lips[node];
                at.head[node] = lip.lip_m - lip.lip_loss(at.admitted[node]).head_m;
                continue;
            };
            let flow = if side == 0 { at.flow[line] } else { -at.flow[line] };
            let far = model.far(at, line, 1 - side);
            let rise = model.lines[line].rise(flow.max(0.0), side, far);
            at.head[node] = rise.head_m - at.offset[line][side];
            if flow > 0.0 {
                rises[line] = Some((side, rise));
            }
        }
        rises
    }
}
