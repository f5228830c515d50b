//! What lies on loops or between tanks: its flows hang on its bores, so each set of bores is
//! solved, cheapest sets first, with the exact costs of all that hangs on it.
//!
//! Only the lines on loops, between tanks, or from there to a tank are gone through one by one.
//! What hangs on them brings a known flow, and its least cost for the head that a solve finds is
//! read off its front. Sets are taken in the order of a bound that no set of the same lines can
//! undercut: their own cost and the least that the rest can cost at any head. The first set
//! whose bound reaches the best design found ends the search with a proof; a search cut short
//! still leaves the bound of the first set not looked at.

use super::Problem;
use super::design::{DesignError, build};
use super::front::Front;
use super::law::{speed_m_per_s, still_m3_per_s};
use super::layout::{Layout, Toward, place};
use super::pipes::{Choices, Picks};
use super::tree::Tree;
use std::cmp::{Ordering, Reverse};
use std::collections::{BTreeMap, BinaryHeap};
use wetrun_network::{
    Downspout, DownspoutId, End, Junction, Line, LineId, Network, Parts, Pipe, PointId, Station,
    TankId,
};
use wetrun_solver::{Scenario, Steady};
use wetrun_units::{Area, Intensity, Length};

/// What a search over rings came to.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    /// The best design found.
    pub(crate) best: Option<(f64, Picks)>,
    /// No design costs less; infinite where none works.
    pub(crate) lower_bound: f64,
}

/// The lines that are gone through, and the small network that they are solved in.
pub(crate) struct Ring<'p> {
    problem: &'p Problem,
    choices: &'p Choices,
    layout: &'p Layout,
    tree: &'p Tree<'p>,
    /// The small network with any pipes, and the storm it is solved in.
    parts: Parts,
    scenario: Scenario,
    /// For each kept node its end in the small network.
    ends: Vec<Option<End>>,
    /// Choices of each line in the order of their costs.
    by_cost: Vec<Vec<usize>>,
    /// The least that everything hanging costs.
    floor: f64,
    fronts: BTreeMap<(usize, u64), Front>,
    solves: usize,
}

impl<'p> Ring<'p> {
    /// Prepares the search; `None` where it is sure without it that nothing works.
    pub(crate) fn new(
        problem: &'p Problem,
        choices: &'p Choices,
        layout: &'p Layout,
        tree: &'p Tree<'p>,
    ) -> Option<Self> {
        let mut floor = 0.0;
        for node in layout.kept() {
            floor += tree.floor_of_node(node)?;
        }
        for &node in layout.behind_tank.iter().flatten() {
            floor += tree.floor_at_tank(node)?;
        }
        let (parts, ends) = small(problem, layout);
        let possible = super::shave::possible(problem, choices, layout, tree)?;
        let by_cost = (layout.ring.iter().zip(&possible))
            .map(|(&line, possible)| {
                let mut order: Vec<usize> =
                    (0..choices.lines[line].len()).filter(|&choice| possible[choice]).collect();
                order.sort_by(|&a, &b| {
                    let (a, b) = (&choices.lines[line][a], &choices.lines[line][b]);
                    a.cost.total_cmp(&b.cost).then(b.bore_m.total_cmp(&a.bore_m))
                });
                order
            })
            .collect();
        let rain = Intensity::m_per_s(1.0);
        let scenario = Scenario { intensity: rain, ..problem.scenario };
        let fronts = BTreeMap::new();
        Some(Self {
            problem,
            choices,
            layout,
            tree,
            parts,
            scenario,
            ends,
            by_cost,
            floor,
            fronts,
            solves: 0,
        })
    }

    /// Searches with at most `most` solves; `tell` hears of solves, bound and best cost.
    pub(crate) fn search(
        mut self,
        most: usize,
        tell: &mut dyn FnMut(usize, f64, Option<f64>),
    ) -> Result<Found, DesignError> {
        let mut best = self.descend(most / 4)?;
        let mut unsolved = f64::INFINITY;
        let start = vec![0_u8; self.layout.ring.len()];
        let mut heap =
            BinaryHeap::from([Reverse(Set { bound: self.bound(&start), at: start, last: 0 })]);
        let mut open = f64::INFINITY;
        while let Some(Reverse(set)) = heap.pop() {
            if best.as_ref().is_some_and(|(cost, _)| set.bound >= *cost) {
                break;
            }
            if self.solves >= most {
                open = set.bound;
                break;
            }
            for line in set.last..set.at.len() {
                if usize::from(set.at[line]) + 1 < self.by_cost[line].len() {
                    let mut at = set.at.clone();
                    at[line] += 1;
                    let bound = self.bound(&at);
                    if best.as_ref().is_none_or(|(cost, _)| bound < *cost) {
                        heap.push(Reverse(Set { bound, at, last: line }));
                    }
                }
            }
            match self.judge(&self.bores(&set.at))? {
                Judged::Works(cost, picks) => {
                    if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                        best = Some((cost, picks));
                    }
                }
                Judged::Fails => {}
                Judged::Unknown => unsolved = unsolved.min(set.bound),
            }
            tell(self.solves, set.bound, best.as_ref().map(|(cost, _)| *cost));
        }
        let cost = best.as_ref().map_or(f64::INFINITY, |(cost, _)| *cost);
        let lower_bound = cost.min(open).min(unsolved);
        Ok(Found { lower_bound, best })
    }

    /// A good design quickly: from the widest that works downwards, one step of one line at a
    /// time, the one that saves most.
    fn descend(&mut self, most: usize) -> Result<Option<(f64, Picks)>, DesignError> {
        let mut start = None;
        for lines in self.starts() {
            if let Judged::Works(cost, picks) = self.judge(&lines)? {
                start = Some(((cost, picks), lines));
                break;
            }
        }
        let Some((mut best, mut at)) = start else { return Ok(None) };
        loop {
            let mut next: Option<(f64, Picks, Vec<usize>)> = None;
            for &line in &self.layout.ring {
                if at[line] == 0 || self.solves >= most {
                    continue;
                }
                let mut trial = at.clone();
                trial[line] -= 1;
                if let Judged::Works(cost, picks) = self.judge(&trial)?
                    && cost < next.as_ref().map_or(best.0, |(least, ..)| *least)
                {
                    next = Some((cost, picks, trial));
                }
            }
            let Some((cost, picks, trial)) = next else { return Ok(Some(best)) };
            (best, at) = ((cost, picks), trial);
        }
    }

    /// Sets to start from: every line as wide as it comes, but none above one common bore.
    fn starts(&self) -> Vec<Vec<usize>> {
        let widest = self.choices.largest().lines;
        let ring = &self.layout.ring;
        let all = ring.iter().flat_map(|&line| self.choices.lines[line].iter().map(|c| c.bore_m));
        let mut bores_m: Vec<f64> = all.collect();
        bores_m.sort_by(|a, b| b.total_cmp(a));
        bores_m.dedup();
        let capped = |&bore_m: &f64| {
            let mut at = widest.clone();
            for &line in ring {
                let fits = self.choices.lines[line].iter().rposition(|c| c.bore_m <= bore_m);
                at[line] = fits.unwrap_or(0);
            }
            at
        };
        bores_m.iter().map(capped).collect()
    }

    /// No design with these sizes on the ring costs less.
    fn bound(&self, at: &[u8]) -> f64 {
        let own =
            (self.layout.ring.iter().zip(&self.by_cost).zip(at)).map(|((&line, order), &place)| {
                self.choices.lines[line][order[usize::from(place)]].cost
            });
        own.sum::<f64>() + self.floor
    }

    fn bores(&self, at: &[u8]) -> Vec<usize> {
        let mut lines = vec![0; self.choices.lines.len()];
        for ((&line, order), &place) in self.layout.ring.iter().zip(&self.by_cost).zip(at) {
            lines[line] = order[usize::from(place)];
        }
        lines
    }

    /// Solves the ring with these choices of its lines, and adds what hangs on it.
    fn judge(&mut self, lines: &[usize]) -> Result<Judged, DesignError> {
        let mut parts = self.parts.clone();
        for (place, &line) in self.layout.ring.iter().enumerate() {
            parts.lines[place].pipe = self.choices.lines[line][lines[line]].pipe.clone();
        }
        let network = build(parts)?;
        self.solves += 1;
        let Ok(state) = wetrun_solver::solve(&network, &self.scenario) else {
            return Ok(Judged::Unknown);
        };
        if state.downspouts.iter().any(|d| d.spilled.to_m3_per_s() > 1e-12) {
            return Ok(Judged::Fails);
        }
        let Some(limits) = self.limits_m(&network, &state) else { return Ok(Judged::Fails) };
        let mut cost: f64 =
            self.layout.ring.iter().map(|&line| self.choices.lines[line][lines[line]].cost).sum();
        let kept: Vec<usize> = self.layout.kept().collect();
        for &node in &kept {
            let (head_m, limit_m) = (self.head_m(&state, node), limits[node]);
            let tree = self.tree;
            let front = (self.fronts.entry((node, limit_m.to_bits())))
                .or_insert_with(|| tree.at_node(node, limit_m));
            let Some(corner) = front.at(head_m) else { return Ok(Judged::Fails) };
            cost += corner.cost;
        }
        for (tank, behind) in self.layout.behind_tank.iter().enumerate() {
            let water_m = state.tanks[tank].water_level.map(|level| level.to_m());
            for &node in behind {
                let Some(more) = self.tree.cost_at_tank(node, water_m) else {
                    return Ok(Judged::Fails);
                };
                cost += more;
            }
        }
        let mut picks = self.choices.largest();
        picks.lines.clone_from_slice(lines);
        for &node in &kept {
            let head_m = self.head_m(&state, node);
            if self.tree.pick_node(node, head_m, limits[node], &mut picks).is_none() {
                return Ok(Judged::Fails);
            }
        }
        for (tank, behind) in self.layout.behind_tank.iter().enumerate() {
            let water_m = state.tanks[tank].water_level.map(|level| level.to_m());
            for &node in behind {
                if self.tree.pick_at_tank(node, water_m, &mut picks).is_none() {
                    return Ok(Judged::Fails);
                }
            }
        }
        Ok(Judged::Works(cost, picks))
    }

    /// The head at a kept node; a node on its own asks for none.
    fn head_m(&self, state: &Steady, node: usize) -> f64 {
        match self.ends[node] {
            Some(End::Downspout(id)) => state.downspouts[id.index()].foot_head.to_m(),
            Some(End::Point(id)) => state.points[id.index()].head.to_m(),
            _ => f64::NEG_INFINITY,
        }
    }

    /// For each kept node the largest bore that may feed it: the least of those that leave.
    /// `None` where a line of the ring breaks that itself, or a limit of speed.
    fn limits_m(&self, network: &Network, state: &Steady) -> Option<Vec<f64>> {
        let targets = &self.problem.targets;
        let nodes = self.layout.out.len();
        let mut limits = vec![f64::INFINITY; nodes];
        let mut feeds = Vec::new();
        let still = still_m3_per_s(self.problem);
        for (place_in_ring, &line) in self.layout.ring.iter().enumerate() {
            let flow = state.lines[place_in_ring].flow.to_m3_per_s();
            let pipe = &network.lines()[place_in_ring].pipe;
            if flow.abs() <= still {
                continue;
            }
            let speed = speed_m_per_s(pipe, flow);
            if targets.most_speed.is_some_and(|most| speed > most.to_m_per_s())
                || targets.least_speed.is_some_and(|least| speed < least.to_m_per_s())
            {
                return None;
            }
            let whole = self.problem.network.line(LineId::new(line));
            let (from, to) =
                if flow > 0.0 { (whole.from, whole.to) } else { (whole.to, whole.from) };
            let bore_m = pipe.inside.to_m();
            if let Toward::Node(node) = place(self.layout.downspouts, from) {
                limits[node] = limits[node].min(bore_m);
            }
            if let Toward::Node(node) = place(self.layout.downspouts, to) {
                feeds.push((node, bore_m));
            }
        }
        feeds.iter().all(|&(node, bore_m)| bore_m <= limits[node]).then_some(limits)
    }
}

enum Judged {
    Works(f64, Picks),
    Fails,
    Unknown,
}

/// A set of choices on the ring, by their places in the order of costs.
struct Set {
    bound: f64,
    at: Vec<u8>,
    /// Only lines from here on are raised from this set: so each set has one way to it.
    last: usize,
}

impl Ord for Set {
    fn cmp(&self, other: &Self) -> Ordering {
        self.bound.total_cmp(&other.bound).then_with(|| self.at.cmp(&other.at))
    }
}

impl PartialOrd for Set {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Set {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Set {}

/// The network of the ring alone, its lines first, with everything that hangs on it as sources
/// that never spill; and the end that each kept node has in it.
fn small(problem: &Problem, layout: &Layout) -> (Parts, Vec<Option<End>>) {
    let network = &problem.network;
    let spills = network.downspouts().iter().map(|d| d.spill_level().to_m());
    let inlets = network.tanks().iter().map(|t| t.inlet.to_m());
    let high = Length::m(spills.chain(inlets).fold(f64::NEG_INFINITY, f64::max) + 2.0);
    let wide = Pipe {
        inside: Length::m(10.0),
        roughness: Some(Length::ZERO),
        c: Some(150.0),
        ..Pipe::default()
    };
    let source = |foot: Length, flow_m3_per_s: f64| Downspout {
        outlet: high,
        lip: high,
        foot,
        pipe: wide.clone(),
        catchment: Area::m2(flow_m3_per_s),
        ..Downspout::default()
    };
    let mut parts = Parts { tanks: network.tanks().to_vec(), ..Parts::default() };
    let mut ends = vec![None; layout.out.len()];
    let on_ring = |node: usize| {
        let end = layout.end(node);
        layout.ring.iter().any(|&line| {
            let line = network.line(LineId::new(line));
            line.from == end || line.to == end
        })
    };
    for node in layout.kept().filter(|&node| on_ring(node)) {
        let flow = layout.gathered_m3_per_s[node];
        ends[node] = Some(match layout.end(node) {
            End::Point(id) if flow == 0.0 || network.point(id).fitting.is_some() => {
                parts.points.push(network.point(id).clone());
                End::Point(PointId::new(parts.points.len() - 1))
            }
            other => {
                let foot = match other {
                    End::Point(id) => network.point(id).level,
                    End::Downspout(id) => network.downspout(id).foot,
                    End::Tank(id) => network.tank(id).inlet,
                };
                // A foot above every gutter would be no downspout; its level bears on nothing here.
                let foot = if foot > high { high } else { foot };
                parts.downspouts.push(source(foot, flow));
                End::Downspout(DownspoutId::new(parts.downspouts.len() - 1))
            }
        });
    }
    let new_end = |end: End| match place(layout.downspouts, end) {
        Toward::Node(node) => ends[node].unwrap_or(end),
        Toward::Tank(_) => end,
    };
    for &line in &layout.ring {
        let line = network.line(LineId::new(line));
        parts.lines.push(Line { from: new_end(line.from), to: new_end(line.to), ..line.clone() });
    }
    for point in &mut parts.points {
        let place_in_ring =
            |j: Junction| layout.ring.iter().position(|&line| line == j.branch.index());
        point.fitting = point
            .fitting
            .and_then(|j| Some(Junction { kind: j.kind, branch: LineId::new(place_in_ring(j)?) }));
    }
    for (tank, flow) in layout.inflows_m3_per_s().into_iter().enumerate() {
        if flow > 0.0 {
            let inlet = network.tanks()[tank].inlet;
            parts.downspouts.push(source(inlet, flow));
            let station = |at_m| Station { at: Length::m(at_m), level: inlet, ground: None };
            parts.lines.push(Line {
                tag: String::new(),
                from: End::Downspout(DownspoutId::new(parts.downspouts.len() - 1)),
                to: End::Tank(TankId::new(tank)),
                pipe: wide.clone(),
                length: Length::m(1.0),
                fittings: Vec::new(),
                k: 0.0,
                profile: vec![station(0.0), station(1.0)],
            });
        }
    }
    (parts, ends)
}
