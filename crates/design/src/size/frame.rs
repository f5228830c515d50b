//! What stays the same throughout a search over a ring: how its lines hang together, and what
//! hangs on its nodes, as fronts.

use super::Problem;
use super::front::Front;
use super::law::demand_m3_per_s;
use super::layout::{Layout, Toward, place};
use super::pipes::{Choice, Choices};
use super::run::{MOST_PAGES, Run, Steps};
use super::tree::Tree;
use std::cell::Cell;
use std::rc::Rc;
use wetrun_network::{End, Line, LineEnd, LineId, Pipe};
use wetrun_solver::TankState;

/// Where tanks may feed the ring no flow is known to be out of reach: this stands in for infinity.
const VAST_M3_PER_S: f64 = 1e3;

/// What stays the same throughout a search over a ring.
pub(crate) struct Frame<'p> {
    pub(crate) problem: &'p Problem,
    pub(crate) choices: &'p Choices,
    pub(crate) layout: &'p Layout,
    pub(crate) tree: &'p Tree<'p>,
    /// For each line of the ring its two ends.
    pub(crate) ends: Vec<[Toward; 2]>,
    /// For each node the lines of the ring that end there, by their places, and which end it is.
    pub(crate) at_node: Vec<Vec<(usize, LineEnd)>>,
    /// The same for each tank.
    pub(crate) at_tank: Vec<Vec<(usize, LineEnd)>>,
    /// All demands.
    pub(crate) total_m3_per_s: f64,
    /// Whether a tank may feed the ring, so that flows are not bounded by the demands.
    pub(crate) fed_by_tanks: bool,
    /// Whether head only falls along the flow: there is no wye or tee on the ring.
    pub(crate) falling: bool,
    /// For each line of the ring its run from its start and from its finish.
    runs: Vec<[Run<'p>; 2]>,
    /// For each line of the ring whether the walls of its pipes are alike.
    alike: Vec<bool>,
    /// All bores on the ring, rising, and infinity.
    bores_m: Vec<f64>,
    /// For each node on the ring what hangs there, for each of these as the largest bore.
    fronts: Vec<Vec<Front>>,
}

impl<'p> Frame<'p> {
    pub(crate) fn new(
        problem: &'p Problem,
        choices: &'p Choices,
        layout: &'p Layout,
        tree: &'p Tree<'p>,
    ) -> Self {
        let network = &problem.network;
        let mut at_node = vec![Vec::new(); layout.out.len()];
        let mut at_tank = vec![Vec::new(); network.tanks().len()];
        let mut ends = Vec::new();
        for (index, &line) in layout.ring.iter().enumerate() {
            let line = network.line(LineId::new(line));
            let both = [(line.from, LineEnd::From), (line.to, LineEnd::To)];
            for (end, side) in both {
                match place(layout.downspouts, end) {
                    Toward::Node(node) => at_node[node].push((index, side)),
                    Toward::Tank(tank) => at_tank[tank].push((index, side)),
                }
            }
            ends.push(both.map(|(end, _)| place(layout.downspouts, end)));
        }
        let all = layout.ring.iter().flat_map(|&line| choices.lines[line].iter().map(|c| c.bore_m));
        let mut bores_m: Vec<f64> = all.chain([f64::INFINITY]).collect();
        bores_m.sort_by(f64::total_cmp);
        bores_m.dedup();
        let fronts = (0..layout.out.len())
            .map(|node| match at_node[node].is_empty() {
                true => Vec::new(),
                false => bores_m.iter().map(|&limit_m| tree.at_node(node, limit_m)).collect(),
            })
            .collect();
        let demands = network.downspouts().iter().map(|d| demand_m3_per_s(&problem.scenario, d));
        let falling = !(0..at_node.len()).any(|node| {
            !at_node[node].is_empty()
                && matches!(layout.end(node), End::Point(id) if network.point(id).fitting.is_some())
        });
        let total_m3_per_s = demands.sum();
        let mut frame = Self {
            problem,
            choices,
            layout,
            tree,
            ends,
            at_node,
            at_tank,
            total_m3_per_s,
            fed_by_tanks: false,
            falling,
            runs: Vec::new(),
            alike: Vec::new(),
            bores_m,
            fronts,
        };
        frame.fed_by_tanks = frame.may_be_fed_by_tanks();
        let steps = Steps::new(total_m3_per_s, frame.most_flow());
        let pages = Rc::new(Cell::new(MOST_PAGES));
        for index in 0..frame.ends.len() {
            let (line, choices) = (frame.line(index), frame.choices(index));
            let run = |side| Run::new(&problem.scenario, line, choices, side, steps, &pages);
            frame.runs.push([run(LineEnd::From), run(LineEnd::To)]);
            let same = |a: &Pipe, b: &Pipe| a.roughness == b.roughness && a.c == b.c;
            frame.alike.push(choices.windows(2).all(|w| same(&w[0].pipe, &w[1].pipe)));
        }
        frame
    }

    /// A line of the ring by its place.
    pub(crate) fn line(&self, index: usize) -> &'p Line {
        self.problem.network.line(LineId::new(self.layout.ring[index]))
    }

    /// The choices for a line of the ring.
    pub(crate) fn choices(&self, index: usize) -> &'p [Choice] {
        &self.choices.lines[self.layout.ring[index]]
    }

    /// A line of the ring as it runs from one of its ends.
    pub(crate) fn run(&self, index: usize, upstream: LineEnd) -> &Run<'p> {
        let [from, to] = &self.runs[index];
        match upstream {
            LineEnd::From => from,
            LineEnd::To => to,
        }
    }

    /// Of a line's choices those that may lose least: the widest alone where the walls are alike.
    pub(crate) fn widest<'s>(&self, index: usize, sizes: &'s [usize]) -> &'s [usize] {
        let all = sizes.len();
        if self.alike[index] { &sizes[all.saturating_sub(1)..] } else { sizes }
    }

    /// Those that may lose most: the narrowest alone where the walls are alike.
    pub(crate) fn narrowest<'s>(&self, index: usize, sizes: &'s [usize]) -> &'s [usize] {
        if self.alike[index] { &sizes[..sizes.len().min(1)] } else { sizes }
    }

    /// No flow on the ring is above this.
    pub(crate) fn most_flow(&self) -> f64 {
        if self.fed_by_tanks { VAST_M3_PER_S } else { self.total_m3_per_s }
    }

    /// Upstream and downstream end of a line that runs from one of its ends.
    pub(crate) fn along(&self, index: usize, upstream: LineEnd) -> (Toward, Toward) {
        let [from, to] = self.ends[index];
        match upstream {
            LineEnd::From => (from, to),
            LineEnd::To => (to, from),
        }
    }

    /// What hangs on a node of the ring, none of it with a larger last bore than one of the ring's
    /// or infinity.
    pub(crate) fn front(&self, node: usize, limit_m: f64) -> &Front {
        let rank = self.bores_m.partition_point(|&bore_m| bore_m < limit_m);
        &self.fronts[node][rank]
    }

    /// The least cost of what hangs at all tanks, by bounds of their water.
    pub(crate) fn cost_at_tanks(&self, water_m: impl Fn(usize) -> Option<f64>) -> Option<f64> {
        let mut cost = 0.0;
        for (tank, behind) in self.layout.behind_tank.iter().enumerate() {
            for &node in behind {
                cost += self.tree.cost_at_tank(node, water_m(tank))?;
            }
        }
        Some(cost)
    }

    /// The cost of nodes that hang on nothing: no line leads anywhere from them.
    pub(crate) fn cost_alone(&self) -> Option<f64> {
        let alone = self.layout.kept().filter(|&node| self.at_node[node].is_empty());
        alone.map(|node| self.tree.floor_of_node(node)).sum()
    }

    /// Only a tank whose water may stand over an end of a line there can feed it. Where each
    /// tank's overflow lies at or below these ends, one with water over it receives more than it
    /// gives, so that all that runs stems from the demands; an overflow into a tank may lift it.
    fn may_be_fed_by_tanks(&self) -> bool {
        self.problem.scenario.tanks == TankState::Full
            && self.problem.network.tanks().iter().enumerate().any(|(tank, this)| {
                let Some(overflow) = &this.overflow else { return false };
                overflow.to.is_some()
                    || self.at_tank[tank]
                        .iter()
                        .any(|&(index, side)| overflow.level > self.line(index).end_level(side))
            })
    }
}
