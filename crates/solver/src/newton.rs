//! The search on the heads: damped Newton steps on the continuity of every node.
//!
//! Each line's flow is a continuous function of what stands at its two ends, rising with the
//! upstream head and falling with the downstream one, and what a downspout takes falls with the
//! head at its foot. So the imbalance is a monotone function of the heads, and adding to the
//! diagonal always turns a Newton step into one that lessens it.

use crate::linear::Conductances;
use crate::line::{Joint, Through};
use crate::model::{Iterate, Model};

/// The matrix of a model: its nodes, joined by the lines between two nodes.
pub(crate) struct Assembly {
    pub(crate) matrix: Conductances,
    /// For each line the pair of nodes it joins, where it joins two.
    pub(crate) pair: Vec<Option<usize>>,
}

impl Assembly {
    pub(crate) fn new(model: &Model) -> Self {
        let mut pairs = Vec::new();
        let pair = (model.lines.iter())
            .map(|line| match line.ends {
                [Joint::Node(a), Joint::Node(b)] => {
                    pairs.push((a, b));
                    Some(pairs.len() - 1)
                }
                _ => None,
            })
            .collect();
        Self { matrix: Conductances::new(model.nodes, pairs), pair }
    }

    /// Adds a line whose flow from its first end answers to its ends by `d_end`.
    pub(crate) fn add_line(&mut self, model: &Model, line: usize, d_end: [f64; 2]) {
        // What flows out of the first node flows into the second.
        match model.lines[line].ends {
            [Joint::Node(a), Joint::Node(b)] => {
                self.matrix.add(a, d_end[0]);
                self.matrix.add(b, -d_end[1]);
                if let Some(pair) = self.pair[line] {
                    self.matrix.add_pair(pair, d_end[1], -d_end[0]);
                }
            }
            [Joint::Node(a), Joint::Tank(_)] => self.matrix.add(a, d_end[0]),
            [Joint::Tank(_), Joint::Node(b)] => self.matrix.add(b, -d_end[1]),
            [Joint::Tank(_), Joint::Tank(_)] => {}
        }
    }
}

/// The state that a set of heads gives: flows, what is taken, and how both answer to the heads.
struct Evaluated {
    at: Iterate,
    lines: Vec<Through>,
    takes: Vec<f64>,
    net: Vec<f64>,
    size: f64,
}

fn evaluate(model: &Model, mut at: Iterate) -> Evaluated {
    let lines: Vec<Through> = (0..model.lines.len())
        .map(|l| {
            let ends = [model.far(&at, l, 0), model.far(&at, l, 1)];
            model.lines[l].through(ends, at.flow[l])
        })
        .collect();
    for (flow, through) in at.flow.iter_mut().zip(&lines) {
        *flow = through.flow;
    }
    let takes = (model.downspouts.iter().enumerate())
        .map(|(d, downspout)| {
            let (admitted, slope) = downspout.admits(at.head[d], at.admitted[d]);
            at.admitted[d] = admitted;
            slope
        })
        .collect();
    let net = model.imbalance(&at);
    let size = net.iter().map(|n| n.abs()).sum();
    Evaluated { at, lines, takes, net, size }
}

/// Moves the heads until the imbalance of all nodes together is below `enough` of the scale, or
/// no step lessens it. Returns the state, its imbalance over the scale, and the steps taken.
pub(crate) fn search(
    model: &Model,
    assembly: &mut Assembly,
    start: Iterate,
    enough: f64,
    most_steps: u32,
) -> (Iterate, f64, u32) {
    let mut now = evaluate(model, start);
    let mut damping = 0.0;
    let mut steps = 0;
    while now.size > enough * model.scale && steps < most_steps {
        steps += 1;
        assembly.matrix.clear();
        for (line, through) in now.lines.iter().enumerate() {
            assembly.add_line(model, line, through.d_end);
        }
        let mut stiffest: f64 = 0.0;
        for (d, slope) in now.takes.iter().enumerate() {
            assembly.matrix.add(d, -slope);
            stiffest = stiffest.max(-slope);
        }
        let mut accepted = None;
        for _ in 0..60 {
            let floor = 1e-9 * model.scale;
            if let Some(step) = assembly.matrix.solve(&now.net, damping + floor) {
                // A step of more than this many metres says that the matrix is next to singular.
                let longest = step.iter().fold(0.0_f64, |m, s| m.max(s.abs()));
                for cut in [1.0, 0.5, 0.2] {
                    if longest * cut > 100.0 {
                        continue;
                    }
                    let mut at = now.at.clone();
                    for (head, step) in at.head.iter_mut().zip(&step) {
                        *head += cut * step;
                    }
                    let next = evaluate(model, at);
                    if next.size < (1.0 - 1e-3 * cut) * now.size {
                        accepted = Some(next);
                        break;
                    }
                }
            }
            if accepted.is_some() {
                damping *= 0.1;
                if damping < 1e-6 * model.scale {
                    damping = 0.0;
                }
                break;
            }
            damping = (10.0 * damping).max(1e-3 * model.scale);
        }
        match accepted {
            Some(next) => now = next,
            None => break,
        }
    }
    (now.at, now.size / model.scale, steps)
}
