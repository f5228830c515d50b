//! Bounds of flows, heads and sizes on a ring that every solution keeps to, cut down by the laws.
//!
//! Each line of the ring has an interval of flow and the choices left to it, each node an
//! interval of head, each tank one of water. They start from what is sure: no head above the
//! highest that what hangs there allows, none of moving water below the lowest tank end, no flow
//! above all demands. Then each law that a solution obeys cuts them down:
//!
//! * what runs into a node runs out of it;
//! * a line driven by at most the highest head at its one end against the lowest at its other
//!   carries no more than its widest pipe would, and loses at least what that loses at its least
//!   flow;
//! * a line driven by at least the lowest head at its one end against the highest at its other
//!   carries no less than its narrowest pipe would, and loses at most what that loses at its
//!   most flow;
//! * a size that cannot lose what the heads ask, that breaks the rule of bores or a limit of
//!   speed, or that alone costs more than the best design found leaves, is struck off.
//!
//! (The last one is in [`strike`](super::strike).) An interval left empty proves that no solution
//! is within the bounds. Heads can rise along the flow at a wye or tee alone; with one on the ring
//! only the rule of costs is used.

use super::frame::Frame;
use super::law::{over_a_rim, water_levels};
use super::layout::Toward;
use super::run::Below;
use wetrun_network::LineEnd;

/// Rounds of cuts; each only ever brings the bounds closer.
const ROUNDS: usize = 12;
/// Bounds are let out by this much, so that rounding never cuts off a solution.
pub(super) const SLACK: f64 = 1e-7;
/// Flows up to this share of all demands may run either way.
pub(super) const SURE: f64 = 1e-6;
/// A round that cuts no interval by more than this share (of all demands, or of a metre) is the last.
const LITTLE: f64 = 2e-3;

/// Bounds that every solution within them keeps to.
#[derive(Clone, Debug)]
pub(crate) struct Bounds {
    /// Flow of each line of the ring, positive from its start.
    pub(crate) flow: Vec<[f64; 2]>,
    /// For each line of the ring the choices left, the smallest bore first.
    pub(crate) sizes: Vec<Vec<usize>>,
    /// Head of each node.
    pub(crate) head: Vec<[f64; 2]>,
    /// Water level of each tank; `None` where it stands empty.
    pub(crate) water: Vec<Option<[f64; 2]>>,
}

impl Bounds {
    /// The bounds of all solutions.
    pub(crate) fn new(frame: &Frame<'_>) -> Self {
        let most = frame.most_flow();
        let lines = frame.ends.len();
        let mut bounds = Self {
            flow: vec![[-most, most]; lines],
            sizes: (0..lines).map(|index| (0..frame.choices(index).len()).collect()).collect(),
            head: vec![[f64::NEG_INFINITY, f64::INFINITY]; frame.at_node.len()],
            water: Vec::new(),
        };
        bounds.fill(frame);
        // No moving water stands lower than the lowest end of a line at a tank.
        let mut lowest_m = f64::INFINITY;
        for (tank, lines) in frame.at_tank.iter().enumerate() {
            for &(index, side) in lines {
                let level = frame.line(index).end_level(side);
                let water_m = bounds.water[tank].map_or(f64::NEG_INFINITY, |w| w[0]);
                lowest_m = lowest_m.min(level.to_m().max(water_m));
            }
        }
        for node in 0..frame.at_node.len() {
            if frame.falling && !frame.at_node[node].is_empty() {
                if frame.layout.gathered_m3_per_s[node] > 0.0 {
                    bounds.head[node][0] = lowest_m;
                }
                bounds.head[node][1] = frame.front(node, f64::INFINITY).most_m();
            }
        }
        bounds
    }

    /// How many words of memory it takes, about.
    pub(crate) fn words(&self) -> usize {
        const LIST: usize = 5; // a list's own words, and what the allocator adds
        let sizes: usize = self.sizes.iter().map(|sizes| sizes.capacity() + LIST).sum();
        sizes + 2 * self.flow.len() + 2 * self.head.len() + 3 * self.water.len() + 4 * LIST
    }

    /// Cuts the bounds down for solutions cheaper than `best`; false where there is none.
    pub(crate) fn tighten(&mut self, frame: &Frame<'_>, best: f64) -> bool {
        for _ in 0..ROUNDS {
            let low_m = |tank: usize| Some(self.water[tank]?[0]);
            if over_a_rim(&frame.problem.network, low_m) || !self.cheaper(frame, best) {
                return false;
            }
            if !frame.falling {
                return true;
            }
            let (flow, head) = (self.flow.clone(), self.head.clone());
            let sizes: usize = self.sizes.iter().map(Vec::len).sum();
            for index in 0..self.flow.len() {
                for upstream in [LineEnd::From, LineEnd::To] {
                    if !self.cut(frame, index, upstream) {
                        return false;
                    }
                }
            }
            if !self.balance(frame) || !self.widens(frame) {
                return false;
            }
            self.fill(frame);
            let far = |a: &[f64; 2], b: &[f64; 2], scale: f64| {
                (0..2).any(|side| (a[side] - b[side]).abs() > LITTLE * scale)
            };
            let total = frame.total_m3_per_s;
            let moved = flow.iter().zip(&self.flow).any(|(a, b)| far(a, b, total))
                || head.iter().zip(&self.head).any(|(a, b)| far(a, b, 1.0))
                || sizes != self.sizes.iter().map(Vec::len).sum::<usize>();
            if !moved {
                break;
            }
        }
        true
    }

    /// The least that the lines themselves, and what hangs on the nodes, can cost.
    pub(crate) fn floor(&self, frame: &Frame<'_>) -> Option<f64> {
        let mut cost = frame.cost_alone()?;
        cost += frame.cost_at_tanks(|tank| self.water[tank].map(|water| water[0]))?;
        for node in 0..frame.at_node.len() {
            if !frame.at_node[node].is_empty() {
                let front = frame.front(node, f64::INFINITY);
                cost += front.at(self.head[node][0])?.cost;
            }
        }
        for index in 0..self.sizes.len() {
            cost += self.cheapest(frame, index)?;
        }
        Some(cost)
    }

    /// The least cost of a line's choices left.
    pub(crate) fn cheapest(&self, frame: &Frame<'_>, index: usize) -> Option<f64> {
        let choices = frame.choices(index);
        let costs = self.sizes[index].iter().map(|&choice| choices[choice].cost);
        costs.min_by(f64::total_cmp)
    }

    /// Bounds of a line's flow, positive away from its end `upstream`.
    pub(crate) fn run_flow(&self, index: usize, upstream: LineEnd) -> [f64; 2] {
        let [low, high] = self.flow[index];
        match upstream {
            LineEnd::From => [low, high],
            LineEnd::To => [-high, -low],
        }
    }

    /// The end that water surely enters a line by.
    pub(crate) fn upstream(&self, frame: &Frame<'_>, index: usize) -> Option<LineEnd> {
        let sure = SURE * frame.total_m3_per_s;
        match self.flow[index] {
            [low, _] if low > sure => Some(LineEnd::From),
            [_, high] if high < -sure => Some(LineEnd::To),
            _ => None,
        }
    }

    /// What stands below a line at its least or most.
    pub(crate) fn below(&self, end: Toward, side: usize) -> Below {
        match end {
            Toward::Node(node) => Below::Head(self.head[node][side]),
            Toward::Tank(tank) => Below::Tank(self.water[tank].map(|water| water[side])),
        }
    }

    /// Cuts by one line's law, as it runs from the end `upstream`.
    fn cut(&mut self, frame: &Frame<'_>, index: usize, upstream: LineEnd) -> bool {
        let run = frame.run(index, upstream);
        let (up, down) = frame.along(index, upstream);
        let [mut least, mut most] = self.run_flow(index, upstream);
        if most <= 0.0 {
            return true;
        }
        let sizes = self.sizes[index].clone();
        let (wide, narrow) = (frame.widest(index, &sizes), frame.narrowest(index, &sizes));
        let [up_low_m, up_high_m] = match up {
            Toward::Node(node) => self.head[node],
            // Feeding, a tank's head is its water level; an empty tank feeds nothing.
            Toward::Tank(tank) => self.water[tank].unwrap_or([f64::NEG_INFINITY; 2]),
        };
        let (low, high) = (self.below(down, 0), self.below(down, 1));
        let slack = SLACK * frame.total_m3_per_s;
        // The most that this difference of head can drive.
        if matches!(up, Toward::Tank(_)) && up_high_m < f64::INFINITY {
            most = most.min(run.feed_limit(wide, up_high_m + SLACK) + slack);
        }
        if up_high_m < f64::INFINITY && low.is_known() {
            let head_m = up_high_m + SLACK;
            let within = [run.steps.down(least.max(0.0)), run.steps.up(most)];
            let first = run.first_above(wide, head_m, low, within);
            if first == within[0] && run.least_rise_m(wide, first, low) > head_m {
                // Where not even the least flow is driven, none is.
                most = 0.0;
            } else {
                most = most.min(run.steps.flow(first));
            }
        }
        if most < least - slack {
            return false;
        }
        self.set_run_flow(index, upstream, [least, most]);
        let most = most.max(0.0);
        let Toward::Node(node) = up else {
            return self.loses(frame, index, upstream);
        };
        // The least that it must drive, since no line holds up more than its narrowest pipe does.
        let up_to = run.steps.up(most);
        if up_low_m.is_finite() && high.is_known() {
            let head_m = up_low_m - SLACK;
            let within = [run.steps.down(least.clamp(0.0, most)), up_to];
            let first = run.first_reaching(narrow, head_m, high, within);
            if first == up_to && run.most_rise_m(narrow, first, high) < head_m {
                return false;
            }
            if first > within[0] {
                least = least.max(run.steps.flow(first - 1));
                self.set_run_flow(index, upstream, [least, most]);
            }
        }
        if high.is_known() {
            let rise_m = run.most_rise_m(narrow, up_to, high);
            self.head[node][1] = self.head[node][1].min(rise_m + SLACK);
        }
        if let Toward::Node(below) = down
            && up_low_m.is_finite()
        {
            let passages = || narrow.iter().map(|&choice| run.at(choice, up_to));
            let crest_m = passages().map(|p| p.crest().to_m()).fold(f64::NEG_INFINITY, f64::max);
            if up_low_m > crest_m + SLACK {
                let loss_m = passages().map(|p| p.loss().to_m()).fold(f64::NEG_INFINITY, f64::max);
                self.head[below][0] = self.head[below][0].max(up_low_m - loss_m - SLACK);
            }
        }
        self.loses(frame, index, upstream) && self.fits(frame, index, upstream)
    }

    /// Cuts by the least that a sure flow loses.
    fn loses(&mut self, frame: &Frame<'_>, index: usize, upstream: LineEnd) -> bool {
        let least = self.run_flow(index, upstream)[0] - SLACK * frame.total_m3_per_s;
        if least <= 0.0 {
            return true;
        }
        let run = frame.run(index, upstream);
        let (up, down) = frame.along(index, upstream);
        let wide = frame.widest(index, &self.sizes[index]);
        let step = run.steps.down(least);
        let low = self.below(down, 0);
        let up_high_m = match up {
            Toward::Node(node) => self.head[node][1],
            Toward::Tank(tank) => self.water[tank].map_or(f64::NEG_INFINITY, |water| water[1]),
        };
        if low.is_known() {
            let rise_m = run.least_rise_m(wide, step, low) - SLACK;
            if let Toward::Node(node) = up {
                self.head[node][0] = self.head[node][0].max(rise_m);
            }
            if rise_m > up_high_m + SLACK {
                return false;
            }
        }
        if let Toward::Node(node) = down {
            let losses = wide.iter().map(|&choice| run.at(choice, step).loss().to_m());
            let loss_m = losses.fold(f64::INFINITY, f64::min);
            self.head[node][1] = self.head[node][1].min(up_high_m - loss_m + SLACK);
            if !self.stands(node) {
                return false;
            }
        }
        match up {
            Toward::Node(node) => self.stands(node),
            Toward::Tank(_) => true,
        }
    }

    /// What runs into a node runs out of it.
    fn balance(&mut self, frame: &Frame<'_>) -> bool {
        let slack = SLACK * frame.total_m3_per_s;
        for node in 0..frame.at_node.len() {
            let here = &frame.at_node[node];
            let gathered = frame.layout.gathered_m3_per_s[node];
            for this in 0..here.len() {
                let others = here.iter().enumerate().filter(|(other, _)| *other != this);
                let (mut least, mut most) = (0.0, 0.0);
                for (_, &(index, side)) in others {
                    let [low, high] = self.run_flow(index, side);
                    least += low;
                    most += high;
                }
                let (index, side) = here[this];
                let [low, high] = self.run_flow(index, side);
                let bounds = [low.max(gathered - most - slack), high.min(gathered - least + slack)];
                if bounds[0] > bounds[1] + slack {
                    return false;
                }
                self.set_run_flow(index, side, bounds);
            }
        }
        true
    }

    /// The water of the tanks, by what they may receive.
    fn fill(&mut self, frame: &Frame<'_>) {
        let network = &frame.problem.network;
        let hanging = frame.layout.inflows_m3_per_s();
        let levels = [0, 1].map(|bound| {
            let inflows: Vec<f64> = (hanging.iter().zip(&frame.at_tank))
                .map(|(hanging, lines)| {
                    let slack = SLACK * frame.total_m3_per_s;
                    let brings = lines.iter().map(|&(index, side)| {
                        let [low, high] = self.run_flow(index, side);
                        if bound == 0 { -high - slack } else { -low + slack }
                    });
                    hanging + brings.sum::<f64>()
                })
                .collect();
            water_levels(network, &frame.problem.scenario, &inflows)
        });
        let each = levels[0].iter().zip(&levels[1]);
        self.water =
            each.map(|(low, high)| low.zip(*high).map(|(low, high)| [low, high])).collect();
    }

    fn set_run_flow(&mut self, index: usize, upstream: LineEnd, [low, high]: [f64; 2]) {
        self.flow[index] = match upstream {
            LineEnd::From => [low, high],
            LineEnd::To => [-high, -low],
        };
    }

    /// Whether a node's bounds of head leave anything.
    pub(super) fn stands(&self, node: usize) -> bool {
        self.head[node][0] <= self.head[node][1] + SLACK
    }
}
