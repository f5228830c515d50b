//! The exact optimum of what hangs: fronts from the leaves towards the tank, picks on the way back.
//!
//! A peeled line carries a known flow, so for each of its bores the head it adds is known. From
//! "this much head may stand at my upstream end" follows what may stand at the downstream end,
//! and two ways of sizing all that lies behind need to be compared by two numbers only: the
//! head they allow, and their cost. What is worse in both is dropped; nothing else is, so the
//! least cost at the tank is the optimum. That no pipe may be smaller than one that feeds it is
//! kept by holding a front for each bore of the last line.

use super::Problem;
use super::front::{Corner, Front};
use super::joined::{Leg, offsets_m};
use super::law::{SAME_M, allowed, allowed_at_foot, demand_m3_per_s, raise, speed_m_per_s};
use super::layout::Layout;
use super::pipes::{Choices, Picks};
use wetrun_network::LineId;
use wetrun_solver::Passage;
use wetrun_units::{Flow, Length};

/// What the fronts are for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Keep {
    /// The least cost at every head.
    All,
    /// Only whether, and how high, a head can be allowed at all.
    Highest,
}

/// The fronts of all that hangs.
pub(crate) struct Tree<'p> {
    problem: &'p Problem,
    choices: &'p Choices,
    layout: &'p Layout,
    /// For each line that was peeled and each of its choices: what it asks for.
    passages: Vec<Vec<Passage>>,
    /// For each such line and choice the front at its downstream end, as the line sees the head there.
    fronts: Vec<Vec<Front>>,
    /// For each downspout and each of its choices the head allowed at its foot.
    at_foot_m: Vec<Vec<f64>>,
}

impl<'p> Tree<'p> {
    /// Builds the fronts; `done` hears of every line, with the largest front so far.
    pub(crate) fn new(
        problem: &'p Problem,
        choices: &'p Choices,
        layout: &'p Layout,
        raised: &[f64],
        keep: Keep,
        done: &mut dyn FnMut(usize, usize),
    ) -> Self {
        let scenario = &problem.scenario;
        let network = &problem.network;
        let mut passages = vec![Vec::new(); network.lines().len()];
        for &node in &layout.order {
            let Some(out) = layout.out[node] else { continue };
            let line = network.line(LineId::new(out.line));
            let flow = Flow::m3_per_s(layout.gathered_m3_per_s[node]);
            passages[out.line] = (choices.lines[out.line].iter())
                .map(|c| Passage::new(scenario, line, &c.pipe, flow, out.upstream))
                .collect();
        }
        let at_foot_m = (network.downspouts().iter().zip(&choices.downspouts).zip(raised))
            .map(|((downspout, choices), raised_m)| {
                let mut higher = downspout.clone();
                raise(&mut higher, Length::m(*raised_m));
                let freeboard = problem.targets.freeboard;
                (choices.iter())
                    .map(|c| allowed_at_foot(scenario, &higher, &c.pipe, freeboard))
                    .collect()
            })
            .collect();
        let fronts = vec![Vec::new(); network.lines().len()];
        let mut tree = Self { problem, choices, layout, passages, fronts, at_foot_m };
        let mut largest = 0;
        for (count, &node) in layout.order.iter().enumerate() {
            if let Some(out) = layout.out[node] {
                tree.fronts[out.line] = tree.line_fronts(node, out.line, keep);
                let most = tree.fronts[out.line].iter().map(|f| f.corners().len()).max();
                largest = largest.max(most.unwrap_or(0));
                done(count + 1, largest);
            }
        }
        tree
    }

    /// What serving a node costs at every head there: its own downspout and all behind it, each
    /// with no last bore above `limit_m`. Not for a node with a wye or tee.
    pub(crate) fn at_node(&self, node: usize, limit_m: f64) -> Front {
        let mut fronts: Vec<Front> = Vec::new();
        if node < self.layout.downspouts {
            fronts.push(self.downspout(node, limit_m));
        }
        fronts.extend(self.opening_m(node).map(Front::below));
        for &behind in &self.layout.behind[node] {
            fronts.push(self.behind(behind, limit_m));
        }
        Front::sum(&fronts.iter().collect::<Vec<_>>())
    }

    /// Picks the cheapest for a node at a head, and for all behind it; `None` where nothing
    /// serves it there. Returns the cost.
    pub(crate) fn pick_node(
        &self,
        node: usize,
        head_m: f64,
        limit_m: f64,
        picks: &mut Picks,
    ) -> Option<f64> {
        let mut waiting = Vec::new();
        let mut cost = self.serve(node, head_m, limit_m, picks, &mut waiting)?;
        cost += self.work_off(waiting, picks)?;
        Some(cost)
    }

    /// Picks the cheapest for what hangs at a tank by the way out of `node`.
    pub(crate) fn pick_at_tank(
        &self,
        node: usize,
        water_m: Option<f64>,
        picks: &mut Picks,
    ) -> Option<f64> {
        let (choice, corner, head_m) = self.best_at_tank(node, water_m)?;
        self.work_off(vec![Waiting { node, choice, downstream_m: head_m }], picks)?;
        Some(corner.cost)
    }

    /// The least cost of what hangs at a tank by the way out of `node`.
    pub(crate) fn cost_at_tank(&self, node: usize, water_m: Option<f64>) -> Option<f64> {
        self.best_at_tank(node, water_m).map(|(_, corner, _)| corner.cost)
    }

    /// The least cost of a node's hanging pipes at any head.
    pub(crate) fn floor_of_node(&self, node: usize) -> Option<f64> {
        self.at_node(node, f64::INFINITY).cheapest()
    }

    fn best_at_tank(&self, node: usize, water_m: Option<f64>) -> Option<(usize, Corner, f64)> {
        let out = self.layout.out[node]?;
        let line = self.problem.network.line(LineId::new(out.line));
        let invert = line.end_level(out.upstream.other());
        let fronts = self.fronts[out.line].iter().zip(&self.passages[out.line]).enumerate();
        fronts
            .filter_map(|(choice, (front, passage))| {
                let head_m = passage.outfall(invert, water_m.map(Length::m)).to_m();
                Some((choice, front.at(head_m)?, head_m))
            })
            .min_by(|a, b| a.1.cost.total_cmp(&b.1.cost))
    }

    /// Works off lines whose choice and downstream head are known, and all behind them.
    fn work_off(&self, mut waiting: Vec<Waiting>, picks: &mut Picks) -> Option<f64> {
        let mut cost = 0.0;
        while let Some(Waiting { node, choice, downstream_m }) = waiting.pop() {
            let Some(out) = self.layout.out[node] else { continue };
            picks.lines[out.line] = choice;
            let chosen = &self.choices.lines[out.line][choice];
            cost += chosen.cost;
            let head_m = self.passages[out.line][choice].rise(Length::m(downstream_m)).to_m();
            if self.layout.joined[node].is_some() {
                self.serve_joined(node, choice, head_m, &mut waiting)?;
            } else {
                let limit_m = self.limit_m(node, chosen.bore_m);
                cost += self.serve(node, head_m, limit_m, picks, &mut waiting)?;
            }
        }
        Some(cost)
    }

    /// Picks a node's downspout, and queues what lies behind the node. Returns the downspout's cost.
    fn serve(
        &self,
        node: usize,
        head_m: f64,
        limit_m: f64,
        picks: &mut Picks,
        waiting: &mut Vec<Waiting>,
    ) -> Option<f64> {
        let mut cost = 0.0;
        if !self.stays_in(node, head_m) {
            return None;
        }
        if node < self.layout.downspouts {
            let allowed = self.downspout_choices(node, limit_m);
            let (choice, corner) = allowed
                .filter(|(_, corner)| corner.allowed_m >= head_m - SAME_M)
                .min_by(|a, b| a.1.cost.total_cmp(&b.1.cost))?;
            picks.downspouts[node] = choice;
            cost += corner.cost;
        }
        for &behind in &self.layout.behind[node] {
            let Some(out) = self.layout.out[behind] else { continue };
            let (choice, _) = self
                .within(behind, limit_m)
                .filter_map(|choice| Some((choice, self.fronts[out.line][choice].at(head_m)?)))
                .min_by(|a, b| a.1.cost.total_cmp(&b.1.cost))?;
            waiting.push(Waiting { node: behind, choice, downstream_m: head_m });
        }
        Some(cost)
    }

    /// Queues the two lines that come together at a wye or tee.
    fn serve_joined(
        &self,
        node: usize,
        choice: usize,
        head_m: f64,
        waiting: &mut Vec<Waiting>,
    ) -> Option<()> {
        let mut best: Option<(f64, [Waiting; 2])> = None;
        for pair in self.pairs(node, choice) {
            let at_m = head_m - pair.out_m;
            if !self.stays_in(node, at_m) {
                continue;
            }
            let ends = pair.behind.map(|(behind, line, choice, offset_m)| {
                let downstream_m = at_m + offset_m;
                let corner = self.fronts[line][choice].at(downstream_m);
                (corner, Waiting { node: behind, choice, downstream_m })
            });
            if let [(Some(a), left), (Some(b), right)] = ends {
                let cost = a.cost + b.cost;
                if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                    best = Some((cost, [left, right]));
                }
            }
        }
        waiting.extend(best?.1);
        Some(())
    }

    fn line_fronts(&self, node: usize, line: usize, keep: Keep) -> Vec<Front> {
        let choices = self.choices.lines[line].iter().zip(&self.passages[line]).enumerate();
        choices
            .map(|(index, (choice, passage))| {
                let flow = self.layout.gathered_m3_per_s[node];
                let targets = &self.problem.targets;
                if flow > 0.0 {
                    let speed = speed_m_per_s(&choice.pipe, flow);
                    let too_fast = targets.most_speed.is_some_and(|most| speed > most.to_m_per_s());
                    let too_slow =
                        targets.least_speed.is_some_and(|least| speed < least.to_m_per_s());
                    if too_fast || too_slow {
                        return Front::default();
                    }
                }
                let upstream = if self.layout.joined[node].is_some() {
                    self.at_joined(node, index, keep)
                } else {
                    self.at_node(node, self.limit_m(node, choice.bore_m))
                };
                let upstream = if keep == Keep::Highest { upstream.highest() } else { upstream };
                let allowed = upstream.corners().iter().filter_map(|corner| {
                    let allowed_m = allowed(passage, corner.allowed_m)?;
                    Some(Corner { allowed_m, cost: corner.cost + choice.cost })
                });
                Front::of(allowed.collect())
            })
            .collect()
    }

    /// The front of a node with a wye or tee, as the line that leaves it sees the head, for one
    /// choice of that line.
    fn at_joined(&self, node: usize, choice: usize, keep: Keep) -> Front {
        let mut all = Front::default();
        for pair in self.pairs(node, choice) {
            let [left, right] = pair.behind.map(|(_, line, choice, offset_m)| {
                Front::of(self.fronts[line][choice].shifted(-offset_m, 0.0).collect())
            });
            let opening = self.opening_m(node).map(Front::below);
            let all_here: Vec<&Front> = [&left, &right].into_iter().chain(&opening).collect();
            let sum = Front::sum(&all_here);
            let seen = Front::of(sum.shifted(pair.out_m, 0.0).collect());
            all = all.union(&if keep == Keep::Highest { seen.highest() } else { seen });
        }
        all
    }

    /// Every pair of choices for the two lines behind a wye or tee, with what each line sees.
    fn pairs(&self, node: usize, choice: usize) -> Vec<Pair> {
        let mut pairs = Vec::new();
        let (Some(out), Some(joined)) = (self.layout.out[node], self.layout.joined[node]) else {
            return pairs;
        };
        let [a, b] = self.layout.behind[node][..] else { return pairs };
        let (Some(line_a), Some(line_b)) = (self.layout.out[a], self.layout.out[b]) else {
            return pairs;
        };
        let lines = [line_a.line, line_b.line];
        let branch = lines.iter().position(|&line| line == joined.branch).unwrap_or(2);
        let chosen = &self.choices.lines[out.line][choice];
        let limit_m = self.limit_m(node, chosen.bore_m);
        let leg = |line: usize, choice: usize, behind: usize| Leg {
            pipe: &self.choices.lines[line][choice].pipe,
            flow_m3_per_s: self.layout.gathered_m3_per_s[behind],
        };
        for choice_a in self.within(a, limit_m) {
            for choice_b in self.within(b, limit_m) {
                let legs = [leg(lines[0], choice_a, a), leg(lines[1], choice_b, b)];
                let [at_a, at_b, out_m] = offsets_m(joined.kind, branch, legs, &chosen.pipe);
                let behind = [(a, lines[0], choice_a, at_a), (b, lines[1], choice_b, at_b)];
                pairs.push(Pair { out_m, behind });
            }
        }
        pairs
    }

    /// The level of an opening at a node: no head there may be above it.
    fn opening_m(&self, node: usize) -> Option<f64> {
        let point = node.checked_sub(self.layout.downspouts)?;
        Some(self.problem.network.points().get(point)?.opening?.level.to_m())
    }

    /// Whether a head at a node lets no water out of an opening there.
    fn stays_in(&self, node: usize, head_m: f64) -> bool {
        self.opening_m(node).is_none_or(|level_m| head_m <= level_m + SAME_M)
    }

    /// The largest bore that may feed the way out of a node: none where nothing runs there.
    fn limit_m(&self, node: usize, bore_m: f64) -> f64 {
        if self.layout.gathered_m3_per_s[node] > 0.0 { bore_m } else { f64::INFINITY }
    }

    /// The choices of a node's way out with a bore up to a limit, or all where it stands still.
    fn within(&self, node: usize, limit_m: f64) -> impl Iterator<Item = usize> + '_ {
        let moves = self.layout.gathered_m3_per_s[node] > 0.0;
        let choices: &[_] = match self.layout.out[node] {
            Some(out) => &self.choices.lines[out.line],
            None => &[],
        };
        let fits = move |bore_m: f64| !moves || bore_m <= limit_m;
        choices.iter().enumerate().filter(move |(_, c)| fits(c.bore_m)).map(|(index, _)| index)
    }

    fn behind(&self, node: usize, limit_m: f64) -> Front {
        let Some(line) = self.layout.out[node].map(|out| out.line) else { return Front::default() };
        let fronts = self.within(node, limit_m).map(|choice| &self.fronts[line][choice]);
        fronts.fold(Front::default(), |all, front| all.union(front))
    }

    fn downspout(&self, index: usize, limit_m: f64) -> Front {
        Front::of(self.downspout_choices(index, limit_m).map(|(_, corner)| corner).collect())
    }

    fn downspout_choices(
        &self,
        index: usize,
        limit_m: f64,
    ) -> impl Iterator<Item = (usize, Corner)> + '_ {
        let downspout = &self.problem.network.downspouts()[index];
        let moves = demand_m3_per_s(&self.problem.scenario, downspout) > 0.0;
        let choices = self.choices.downspouts[index].iter().zip(&self.at_foot_m[index]);
        choices
            .enumerate()
            .filter(move |(_, (c, _))| !moves || c.bore_m <= limit_m)
            .map(|(i, (c, head))| (i, Corner { allowed_m: *head, cost: c.cost }))
    }
}

/// A line whose choice and downstream head are settled, by the node it drains.
#[derive(Clone, Copy)]
struct Waiting {
    node: usize,
    choice: usize,
    downstream_m: f64,
}

/// A pair of choices at a wye or tee, and what the junction adds to the node's head as each line
/// sees it.
struct Pair {
    out_m: f64,
    /// Node behind, its line, the line's choice, what it sees.
    behind: [(usize, usize, usize, f64); 2],
}
