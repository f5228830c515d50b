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
    /// For each pair the line that joins it; `None` for an overflow.
    pub(crate) line: Vec<Option<usize>>,
    /// For each end of a line the leg that it is: three for each wye or tee, in their order.
    pub(crate) leg: Vec<[Option<usize>; 2]>,
    /// For each unknown the wye or tee that stands there.
    pub(crate) junction: Vec<Option<usize>>,
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
        let pair: Vec<Option<usize>> = lines.chain(overflows).map(&mut pair).collect();
        let mut line = vec![None; pairs.len()];
        for (index, pair) in pair[..model.lines.len()].iter().enumerate() {
            if let Some(pair) = *pair {
                line[pair] = Some(index);
            }
        }
        let mut leg = vec![[None; 2]; model.lines.len()];
        let mut junction = vec![None; model.unknowns()];
        for (index, wye) in model.junctions.iter().enumerate() {
            for (place, &(line, side)) in wye.legs.iter().enumerate() {
                leg[line][side] = Some(3 * index + place);
                if let Joint::Node(node) = model.lines[line].ends[side] {
                    junction[node] = Some(index);
                }
            }
        }
        Self { matrix: Conductances::new(model.unknowns(), pairs), pair, line, leg, junction }
    }

    /// The unknowns that a line joins.
    pub(crate) fn ends(&self, model: &Model, line: usize) -> [Option<usize>; 2] {
        model.lines[line].ends.map(|end| model.unknown(end))
    }

    /// The pair that a line joins, where it joins two unknowns.
    pub(crate) fn pair_of(&self, line: usize) -> Option<usize> {
        self.pair[line]
    }

    /// The unknowns that a moving tank's overflow joins, and their pair.
    pub(crate) fn overflow(
        &self,
        model: &Model,
        place: usize,
    ) -> ([Option<usize>; 2], Option<usize>) {
        (overflow_ends(model, model.moving[place]), self.pair[model.lines.len() + place])
    }

    /// Adds a line whose flow from its first end answers to its ends by `d_end`.
    pub(crate) fn add_line(&mut self, model: &Model, line: usize, d_end: [f64; 2]) {
        self.add(self.ends(model, line), self.pair[line], d_end);
    }

    /// Adds what leaves a moving tank.
    pub(crate) fn add_tank(&mut self, model: &Model, place: usize, letting: &Letting) {
        let (ends, pair) = self.overflow(model, place);
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
