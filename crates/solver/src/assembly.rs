//! The linear system of a model's straight lines: its matrix and what is left over at each unknown.

use crate::line::Joint;
use crate::linear::Conductances;
use crate::model::Model;
use crate::tank::Letting;

/// The matrix of a model: its unknown heads and levels, joined by lines and overflows.
pub(crate) struct Assembly {
    pub(crate) matrix: Conductances,
    /// For each line the pair of unknowns it joins, where it joins two; then for each moving tank
    /// the pair that its overflow joins.
    pair: Vec<Option<usize>>,
}

impl Assembly {
    pub(crate) fn new(model: &Model) -> Self {
        let mut pairs = Vec::new();
        let mut pair = |ends: [Option<usize>; 2]| match ends {
            [Some(a), Some(b)] => {
                pairs.push((a, b));
                Some(pairs.len() - 1)
            }
            _ => None,
        };
        let lines = model.lines.iter().map(|line| line.ends.map(|end| model.unknown(end)));
        let overflows = model.moving.iter().map(|&tank| overflow_ends(model, tank));
        let pair = lines.chain(overflows).map(&mut pair).collect();
        Self { matrix: Conductances::new(model.unknowns(), pairs), pair }
    }

    /// Adds a line whose flow from its first end answers to its ends by `d_end`.
    pub(crate) fn add_line(&mut self, model: &Model, line: usize, d_end: [f64; 2]) {
        self.add(model.lines[line].ends.map(|end| model.unknown(end)), self.pair[line], d_end);
    }

    /// Adds what leaves a moving tank.
    pub(crate) fn add_tank(&mut self, model: &Model, place: usize, letting: &Letting) {
        let ends = overflow_ends(model, model.moving[place]);
        let pair = self.pair[model.lines.len() + place];
        self.add(ends, pair, letting.d_pipe);
        self.matrix.add(model.nodes + place, letting.d_ground[0]);
        if let Some(pair) = pair {
            self.matrix.add_pair(pair, letting.d_ground[1], 0.0);
        }
    }

    /// What flows out of the first unknown flows into the second.
    fn add(&mut self, ends: [Option<usize>; 2], pair: Option<usize>, d_end: [f64; 2]) {
        if let Some(a) = ends[0] {
            self.matrix.add(a, d_end[0]);
        }
        if let Some(b) = ends[1] {
            self.matrix.add(b, -d_end[1]);
        }
        if let Some(pair) = pair {
            self.matrix.add_pair(pair, d_end[1], -d_end[0]);
        }
    }
}

/// The unknowns that a tank's overflow joins.
fn overflow_ends(model: &Model, tank: usize) -> [Option<usize>; 2] {
    let unknown = |tank| model.unknown(Joint::Tank(tank));
    [unknown(tank), model.tanks[tank].to.and_then(unknown)]
}

/// What is left over at each unknown: at nodes and at moving tanks, where these let go.
pub(crate) fn left_over(
    model: &Model,
    admitted: impl Iterator<Item = f64>,
    flows: impl Iterator<Item = f64>,
    lettings: &[Letting],
) -> Vec<f64> {
    let mut net = vec![0.0; model.unknowns()];
    for (net, admitted) in net.iter_mut().zip(admitted) {
        *net = admitted;
    }
    for (line, flow) in flows.enumerate() {
        carry(model, &mut net, line, flow);
    }
    for (&tank, letting) in model.moving.iter().zip(lettings) {
        let ends = overflow_ends(model, tank);
        carry_between(&mut net, ends, letting.pipe);
        carry_between(&mut net, [ends[0], None], letting.ground);
    }
    net
}

/// Carries a flow of a line from its first end to its second.
pub(crate) fn carry(model: &Model, net: &mut [f64], line: usize, flow: f64) {
    carry_between(net, model.lines[line].ends.map(|end| model.unknown(end)), flow);
}

fn carry_between(net: &mut [f64], ends: [Option<usize>; 2], flow: f64) {
    if let Some(a) = ends[0] {
        net[a] -= flow;
    }
    if let Some(b) = ends[1] {
        net[b] += flow;
    }
}
