//! A ring in one set of sizes: solved for its flows and heads, with the exact costs of what hangs.
//!
//! Only the lines on loops, between tanks, or from there to a tank are in the small network that
//! is solved. What hangs on them brings a known flow, and its least cost for the head that the
//! solve finds is read off its front. So what a set of sizes costs is exact.

use super::Problem;
use super::design::{DesignError, build};
use super::frame::Frame;
use super::law::{speed_m_per_s, still_m3_per_s};
use super::layout::{Layout, Toward, place};
use super::pipes::Picks;
use std::collections::BTreeMap;
use wetrun_network::{
    Downspout, DownspoutId, End, Junction, Line, LineEnd, LineId, Parts, Pipe, Point, PointId,
    Station, Tank, TankId,
};
use wetrun_solver::{NotTaken, Prepared, Scenario, Steady};
use wetrun_units::{Area, Flow, Intensity, Length};
use wetrun_verdict::leaves;

/// What a set of sizes comes to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Judged {
    /// It works, at the least cost of all that hangs on it.
    Works(f64),
    /// It does not; the number falls towards 0 as it comes near: metres of head too many, with
    /// the broken rules weighed in.
    Fails(f64),
    /// It could not be solved.
    Unknown,
}

/// The small network of a ring, and what is known of its sets of sizes.
pub(crate) struct Ring<'f, 'p> {
    frame: &'f Frame<'p>,
    /// The small network with any pipes, and the storm it is solved in.
    parts: Parts,
    scenario: Scenario,
    /// The same prepared, and the choices that its lines have: known from the first solve on.
    prepared: Option<(Prepared<'static>, Vec<usize>)>,
    /// For each kept node its end in the small network.
    ends: Vec<Option<End>>,
    still_m3_per_s: f64,
    seen: BTreeMap<Vec<usize>, Judged>,
    solves: usize,
}

/// No more words than this are kept of sets that were solved: 40 MB.
const SEEN_WORDS: usize = 5_000_000;
/// What a set takes besides one word for each line.
const KEY_WORDS: usize = 12;

/// A broken rule of bores weighs as much as this many times the difference, in metres of head.
const NARROWS: f64 = 10.0;
/// And anything else that cannot be weighed, this much.
const BROKEN_M: f64 = 5.0;

impl<'f, 'p> Ring<'f, 'p> {
    pub(crate) fn new(frame: &'f Frame<'p>) -> Self {
        let (parts, ends) = small(frame.problem, frame.layout);
        let scenario = Scenario { intensity: Intensity::m_per_s(1.0), ..frame.problem.scenario };
        let still_m3_per_s = still_m3_per_s(frame.problem);
        let (prepared, seen) = (None, BTreeMap::new());
        Self { frame, parts, scenario, prepared, ends, still_m3_per_s, seen, solves: 0 }
    }

    /// How many sets were solved.
    pub(crate) fn solves(&self) -> usize {
        self.solves
    }

    /// Solves the ring with these choices of its lines, and adds what hangs on it.
    pub(crate) fn judge(&mut self, sizes: &[usize]) -> Result<Judged, DesignError> {
        if let Some(&known) = self.seen.get(sizes) {
            return Ok(known);
        }
        let state = self.state(sizes)?;
        let judged = state.map_or(Judged::Unknown, |state| self.weigh(sizes, &state));
        self.solves += 1;
        // What is no longer known is solved again: the bound of memory comes first.
        if (self.seen.len() + 1) * (sizes.len() + KEY_WORDS) <= SEEN_WORDS {
            self.seen.insert(sizes.to_vec(), judged);
        }
        Ok(judged)
    }

    /// The cheapest picks for all pipes with these choices of the ring's lines; `None` where they
    /// do not work.
    pub(crate) fn picks(&mut self, sizes: &[usize]) -> Result<Option<Picks>, DesignError> {
        let Some(state) = self.state(sizes)? else { return Ok(None) };
        let (limits_m, _) = self.limits_m(sizes, &state);
        let layout = self.frame.layout;
        let tree = self.frame.tree;
        let mut picks = self.frame.choices.largest();
        for (&line, &choice) in layout.ring.iter().zip(sizes) {
            picks.lines[line] = choice;
        }
        let nodes = layout.kept().map(|node| {
            tree.pick_node(node, self.head_m(&state, node), limits_m[node], &mut picks)
        });
        let served = nodes.collect::<Option<Vec<f64>>>().is_some();
        let tanks = layout.behind_tank.iter().enumerate().flat_map(|(tank, behind)| {
            let water_m = state.tanks[tank].water_level.map(|level| level.to_m());
            behind.iter().map(move |&node| (node, water_m))
        });
        let mut all = served;
        for (node, water_m) in tanks {
            all &= tree.pick_at_tank(node, water_m, &mut picks).is_some();
        }
        Ok(all.then_some(picks))
    }

    /// The small network's state with these choices of its lines; `None` where it was not found.
    fn state(&mut self, sizes: &[usize]) -> Result<Option<Steady>, DesignError> {
        let line = |index: usize| Line {
            pipe: self.frame.choices(index)[sizes[index]].pipe.clone(),
            ..self.parts.lines[index].clone()
        };
        let Some((prepared, now)) = &mut self.prepared else {
            let mut parts = self.parts.clone();
            for index in 0..sizes.len() {
                parts.lines[index] = line(index);
            }
            let network = build(parts)?;
            let Ok(prepared) = Prepared::new(&network, &self.scenario) else { return Ok(None) };
            let first = (prepared.into_owned(), sizes.to_vec());
            return Ok(self.prepared.insert(first).0.steady().ok());
        };
        let others = (0..sizes.len()).filter(|&index| now[index] != sizes[index]);
        let others: Vec<_> = others.map(|index| (LineId::new(index), line(index))).collect();
        match prepared.set_lines(others) {
            Ok(()) => *now = sizes.to_vec(),
            Err(refused) => {
                // Some of them are taken.
                self.prepared = None;
                return match refused {
                    NotTaken::Lacks(_) => Ok(None),
                    refused => Err(DesignError::Invalid(refused.to_string())),
                };
            }
        }
        Ok(prepared.steady().ok())
    }

    fn weigh(&self, sizes: &[usize], state: &Steady) -> Judged {
        let frame = self.frame;
        let total = Flow::m3_per_s(frame.total_m3_per_s);
        if state.downspouts.iter().any(|d| leaves(d.spilled, total)) {
            return Judged::Fails(f64::INFINITY);
        }
        let (limits_m, mut wrong) = self.limits_m(sizes, state);
        if state.tanks.iter().any(|tank| leaves(tank.over_rim, total)) {
            wrong += BROKEN_M;
        }
        let own = sizes.iter().enumerate().map(|(index, &c)| frame.choices(index)[c].cost);
        let mut cost: f64 = own.sum();
        for node in frame.layout.kept() {
            if frame.at_node[node].is_empty() {
                match frame.tree.floor_of_node(node) {
                    Some(more) => cost += more,
                    None => wrong += BROKEN_M,
                }
                continue;
            }
            let front = frame.front(node, limits_m[node]);
            let head_m = self.head_m(state, node);
            match front.at(head_m) {
                Some(corner) => cost += corner.cost,
                None => wrong += (head_m - front.most_m()).min(BROKEN_M),
            }
        }
        let water_m = |tank: usize| state.tanks[tank].water_level.map(|level| level.to_m());
        match frame.cost_at_tanks(water_m) {
            Some(more) => cost += more,
            None => wrong += BROKEN_M,
        }
        if wrong > 0.0 { Judged::Fails(wrong) } else { Judged::Works(cost) }
    }

    /// The head at a kept node; a node on its own asks for none.
    fn head_m(&self, state: &Steady, node: usize) -> f64 {
        match self.ends[node] {
            Some(End::Downspout(id)) => state.downspouts[id.index()].foot_head.to_m(),
            Some(End::Point(id)) => state.points[id.index()].head.to_m(),
            _ => f64::NEG_INFINITY,
        }
    }

    /// For each kept node the largest bore that may feed it: the least of those that leave; and
    /// how far the lines of the ring break that themselves, or a limit of speed.
    fn limits_m(&self, sizes: &[usize], state: &Steady) -> (Vec<f64>, f64) {
        let targets = &self.frame.problem.targets;
        let mut limits_m = vec![f64::INFINITY; self.frame.at_node.len()];
        let mut feeds = Vec::new();
        let mut wrong = 0.0;
        for (index, &choice) in sizes.iter().enumerate() {
            let flow = state.lines[index].flow.to_m3_per_s();
            let choice = &self.frame.choices(index)[choice];
            if flow.abs() <= self.still_m3_per_s {
                continue;
            }
            let speed = speed_m_per_s(&choice.pipe, flow);
            let above = targets.most_speed.map_or(0.0, |most| speed / most.to_m_per_s() - 1.0);
            let under = targets.least_speed.map_or(0.0, |least| least.to_m_per_s() / speed - 1.0);
            wrong += above.max(under).clamp(0.0, BROKEN_M);
            let upstream = if flow > 0.0 { LineEnd::From } else { LineEnd::To };
            let (up, down) = self.frame.along(index, upstream);
            if let Toward::Node(node) = up {
                limits_m[node] = choice.bore_m.min(limits_m[node]);
            }
            if let Toward::Node(node) = down {
                feeds.push((node, choice.bore_m));
            }
        }
        for (node, bore_m) in feeds {
            wrong += NARROWS * (bore_m - limits_m[node]).max(0.0);
        }
        (limits_m, wrong)
    }
}

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
    let source = |tag: String, foot: Length, flow_m3_per_s: f64| Downspout {
        tag,
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
                // What an opening there allows stands in the front of the node.
                parts.points.push(Point { opening: None, ..network.point(id).clone() });
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
                parts.downspouts.push(source(network.end_tag(other).to_owned(), foot, flow));
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
            .and_then(|j| Some(Junction { branch: LineId::new(place_in_ring(j)?), ..j }));
    }
    for (tank, flow) in layout.inflows_m3_per_s().into_iter().enumerate() {
        if flow > 0.0 {
            let Tank { tag, inlet, .. } = &network.tanks()[tank];
            let inlet = *inlet;
            // No tag of a file begins with a blank.
            parts.downspouts.push(source(format!(" what {tag} gathers"), inlet, flow));
            let station = |at_m| Station { at: Length::m(at_m), level: inlet, ground: None };
            parts.lines.push(Line {
                tag: format!(" into {tag}"),
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
