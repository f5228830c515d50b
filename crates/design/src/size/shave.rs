//! Sizes on loops that no solution can have, found without solving: by bounds on flows and heads.
//!
//! Each line of the ring has an interval of flow and each node one of head that every solution
//! lies in, whatever the sizes still allowed. They start from what is sure: no head above the
//! highest that what hangs there allows, none of moving water below the lowest tank end, no
//! flow above all demands. Then each law that a solution obeys cuts them down:
//!
//! * what runs into a node runs out of it;
//! * a line driven by at most the highest head at its one end against the lowest at its other
//!   carries no more than its widest pipe would;
//! * a line that surely carries water loses at least what its widest pipe would lose.
//!
//! An interval left empty proves that no solution has the sizes allowed. So each size of each
//! line is held in turn, all others left open, and struck off where that leaves nothing. Heads
//! can fall against the flow at a wye or tee alone; with one on the ring nothing is struck off.

use super::Problem;
use super::law::{Passage, demand_m3_per_s};
use super::layout::{Layout, Toward, place};
use super::pipes::Choices;
use super::tree::Tree;
use wetrun_network::{End, Line, LineEnd, LineId, Pipe};
use wetrun_solver::TankState;
use wetrun_solver::laws::outfall;
use wetrun_units::Flow;

/// Rounds in which the bounds are cut down; they only ever get closer.
const ROUNDS: usize = 6;
/// Bounds are let out by this much, so that rounding never strikes off a solution.
const SLACK: f64 = 1e-7;

/// For each line of the ring and each of its choices whether a solution may have it; `None`
/// where there can be no solution at all.
pub(crate) fn possible(
    problem: &Problem,
    choices: &Choices,
    layout: &Layout,
    tree: &Tree<'_>,
) -> Option<Vec<Vec<bool>>> {
    let mut allowed: Vec<Vec<bool>> =
        layout.ring.iter().map(|&line| vec![true; choices.lines[line].len()]).collect();
    let on_ring = |end: End| {
        layout.ring.iter().any(|&line| {
            let line = problem.network.line(LineId::new(line));
            line.from == end || line.to == end
        })
    };
    let joined = layout.kept().any(|node| match layout.end(node) {
        End::Point(id) => problem.network.point(id).fitting.is_some() && on_ring(End::Point(id)),
        _ => false,
    });
    if joined {
        return Some(allowed);
    }
    let start = Bounds::new(problem, layout, tree);
    for _pass in 0..2 {
        let mut struck = false;
        for line in 0..allowed.len() {
            for choice in 0..allowed[line].len() {
                if !allowed[line][choice] || allowed[line].len() == 1 {
                    continue;
                }
                let mut held = allowed.clone();
                held[line].fill(false);
                held[line][choice] = true;
                if !start.clone().holds(problem, choices, layout, &held) {
                    allowed[line][choice] = false;
                    struck = true;
                }
            }
            if !allowed[line].contains(&true) {
                return None;
            }
        }
        if !struck {
            break;
        }
    }
    start.clone().holds(problem, choices, layout, &allowed).then_some(allowed)
}

/// Bounds that hold for every solution.
#[derive(Clone, Debug)]
struct Bounds {
    /// Flow of each line of the ring, positive from its start.
    flow: Vec<[f64; 2]>,
    /// Head of each node.
    head: Vec<[f64; 2]>,
    /// Water level of each tank.
    water: Vec<Option<[f64; 2]>>,
    total: f64,
}

impl Bounds {
    fn new(problem: &Problem, layout: &Layout, tree: &Tree<'_>) -> Self {
        let network = &problem.network;
        let demands = network.downspouts().iter().map(|d| demand_m3_per_s(&problem.scenario, d));
        let total: f64 = demands.sum();
        let full = problem.scenario.tanks == TankState::Full;
        // A full tank that feeds lines can send more round than the demands, without a bound here.
        let feeds = full && network.tanks().len() > 1;
        let water: Vec<Option<[f64; 2]>> = (network.tanks().iter())
            .map(|tank| {
                let overflow = tank.overflow.as_ref().filter(|_| full)?;
                let level_m = overflow.level.to_m();
                // A tank receives at most all demands, whether by its lines or by overflows.
                let most_m = overflow.pipe.as_ref().map_or(0.0, |pipe| {
                    outfall::overflow_head(Flow::m3_per_s(total), pipe.inside, overflow.k).to_m()
                });
                Some([level_m, if feeds { f64::INFINITY } else { level_m + most_m }])
            })
            .collect();
        // No moving water stands lower than the lowest end of a line at a tank.
        let mut lowest_m = f64::INFINITY;
        for &line in &layout.ring {
            let line = network.line(LineId::new(line));
            for (end, level) in [(line.from, line.from_level()), (line.to, line.to_level())] {
                if let End::Tank(id) = end {
                    let water_m = water[id.index()].map_or(f64::NEG_INFINITY, |w| w[0]);
                    lowest_m = lowest_m.min(level.to_m().max(water_m));
                }
            }
        }
        let mut head = vec![[f64::NEG_INFINITY, f64::INFINITY]; layout.out.len()];
        for node in layout.kept() {
            let front = tree.at_node(node, f64::INFINITY);
            let most_m = front.corners().last().map_or(f64::NEG_INFINITY, |c| c.allowed_m);
            head[node] = [f64::NEG_INFINITY, most_m];
            if layout.gathered_m3_per_s[node] > 0.0 {
                head[node][0] = lowest_m;
            }
        }
        let most = if feeds { f64::INFINITY } else { total };
        let flow = vec![[-most, most]; layout.ring.len()];
        Self { flow, head, water, total }
    }

    /// Cuts the bounds down; false where one is left empty.
    fn holds(
        &mut self,
        problem: &Problem,
        choices: &Choices,
        layout: &Layout,
        allowed: &[Vec<bool>],
    ) -> bool {
        let downspouts = layout.downspouts;
        for _ in 0..ROUNDS {
            for (place_in_ring, &index) in layout.ring.iter().enumerate() {
                let line = problem.network.line(LineId::new(index));
                let pipes: Vec<&Pipe> = (choices.lines[index].iter().zip(&allowed[place_in_ring]))
                    .filter(|(_, allowed)| **allowed)
                    .map(|(choice, _)| &choice.pipe)
                    .collect();
                let pipes = widest(pipes);
                for upstream in [LineEnd::From, LineEnd::To] {
                    let (up, down) = match upstream {
                        LineEnd::From => (line.from, line.to),
                        LineEnd::To => (line.to, line.from),
                    };
                    let (up, down) = (place(downspouts, up), place(downspouts, down));
                    let run = Run { problem, line, pipes: &pipes, upstream };
                    if !self.cut(place_in_ring, &run, up, down) {
                        return false;
                    }
                }
            }
            if !self.balance(problem, layout) {
                return false;
            }
        }
        true
    }

    /// Cuts by one line's law, as it runs from `up` to `down`.
    fn cut(&mut self, place: usize, run: &Run<'_>, up: Toward, down: Toward) -> bool {
        let (high_m, low_m) = (self.head_at(up)[1], self.head_at(down)[0]);
        let water = match down {
            Toward::Tank(tank) => self.water[tank],
            Toward::Node(_) => None,
        };
        let into_tank = matches!(down, Toward::Tank(_));
        let [least, most] = self.run_flow(place, run.upstream);
        // The most that this difference of head can drive.
        if most > 0.0 && high_m.is_finite() && (into_tank || low_m.is_finite()) {
            let drives = |flow: f64| run.least_rise_m(flow, low_m, into_tank, water) <= high_m;
            let (mut low, mut high) = (least.max(0.0), most.min(1e3));
            if !drives(high) {
                if low > 0.0 && !drives(low * (1.0 - SLACK)) {
                    return false;
                }
                while high - low > SLACK * high.max(1e-9 * self.total) {
                    let middle = 0.5 * (low + high);
                    if drives(middle) { low = middle } else { high = middle }
                }
                self.set_run_flow(place, run.upstream, high * (1.0 + SLACK));
            }
        }
        // The least that a sure flow loses.
        let least = self.run_flow(place, run.upstream)[0];
        if least > 0.0 {
            let rise_m = run.least_rise_m(least * (1.0 - SLACK), low_m, into_tank, water);
            let loss_m = run.least_loss_m(least * (1.0 - SLACK));
            if let Toward::Node(node) = up
                && rise_m.is_finite()
            {
                self.head[node][0] = self.head[node][0].max(rise_m - SLACK);
                if self.head[node][0] > self.head[node][1] + SLACK {
                    return false;
                }
            }
            if let Toward::Node(node) = down {
                self.head[node][1] = self.head[node][1].min(high_m - loss_m + SLACK);
                if self.head[node][0] > self.head[node][1] + SLACK {
                    return false;
                }
            }
        }
        true
    }

    /// What runs into a node runs out of it.
    fn balance(&mut self, problem: &Problem, layout: &Layout) -> bool {
        let slack = SLACK * self.total;
        for node in layout.kept() {
            let end = layout.end(node);
            let mut here = Vec::new();
            for (place, &line) in layout.ring.iter().enumerate() {
                let line = problem.network.line(LineId::new(line));
                if line.from == end {
                    here.push((place, LineEnd::From));
                } else if line.to == end {
                    here.push((place, LineEnd::To));
                }
            }
            if here.is_empty() {
                continue;
            }
            let gathered = layout.gathered_m3_per_s[node];
            for this in 0..here.len() {
                let others = here.iter().enumerate().filter(|(other, _)| *other != this);
                let (mut least, mut most) = (0.0, 0.0);
                for (_, &(place, side)) in others {
                    let [low, high] = self.run_flow(place, side);
                    least += low;
                    most += high;
                }
                let (place, side) = here[this];
                let [low, high] = self.run_flow(place, side);
                let bounds = [low.max(gathered - most - slack), high.min(gathered - least + slack)];
                if bounds[0] > bounds[1] + slack {
                    return false;
                }
                match side {
                    LineEnd::From => self.flow[place] = bounds,
                    LineEnd::To => self.flow[place] = [-bounds[1], -bounds[0]],
                }
            }
        }
        true
    }

    /// Bounds of a line's flow, positive away from its end `upstream`.
    fn run_flow(&self, place: usize, upstream: LineEnd) -> [f64; 2] {
        let [low, high] = self.flow[place];
        match upstream {
            LineEnd::From => [low, high],
            LineEnd::To => [-high, -low],
        }
    }

    fn set_run_flow(&mut self, place: usize, upstream: LineEnd, most: f64) {
        let flow = &mut self.flow[place];
        match upstream {
            LineEnd::From => flow[1] = flow[1].min(most),
            LineEnd::To => flow[0] = flow[0].max(-most),
        }
    }

    /// Bounds of the head that drives a line from an end.
    fn head_at(&self, end: Toward) -> [f64; 2] {
        match end {
            Toward::Node(node) => self.head[node],
            // Feeding, a tank's head is its water level; an empty tank feeds nothing.
            Toward::Tank(tank) => self.water[tank].unwrap_or([f64::NEG_INFINITY; 2]),
        }
    }
}

/// The widest of several pipes where their walls are alike: at any flow it loses least. Pipes of
/// unlike walls are all kept.
fn widest(pipes: Vec<&Pipe>) -> Vec<&Pipe> {
    let alike = pipes.windows(2).all(|w| w[0].roughness == w[1].roughness && w[0].c == w[1].c);
    let widest = pipes.iter().max_by(|a, b| a.inside.to_m().total_cmp(&b.inside.to_m())).copied();
    if alike { widest.into_iter().collect() } else { pipes }
}

/// A line that water runs through in one direction, with the pipes that it may have.
struct Run<'r> {
    problem: &'r Problem,
    line: &'r Line,
    pipes: &'r [&'r Pipe],
    upstream: LineEnd,
}

impl Run<'_> {
    fn passages(&self, flow: f64) -> impl Iterator<Item = Passage> + '_ {
        let scenario = &self.problem.scenario;
        let each = self.pipes.iter();
        each.map(move |pipe| Passage::new(scenario, self.line, pipe, flow, self.upstream))
    }

    /// The least head at the upstream end for a flow and the least head at the downstream end.
    fn least_rise_m(&self, flow: f64, low_m: f64, into_tank: bool, water: Option<[f64; 2]>) -> f64 {
        let invert_m = match self.upstream {
            LineEnd::From => self.line.to_level().to_m(),
            LineEnd::To => self.line.from_level().to_m(),
        };
        let rises = self.passages(flow).map(|passage| {
            let end_m =
                if into_tank { passage.outfall(invert_m, water.map(|w| w[0])) } else { low_m };
            passage.rise(end_m)
        });
        rises.fold(f64::INFINITY, f64::min)
    }

    fn least_loss_m(&self, flow: f64) -> f64 {
        self.passages(flow).map(|passage| passage.loss_m).fold(f64::INFINITY, f64::min)
    }
}
