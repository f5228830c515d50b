//! A network and a scenario prepared for solving: bare numbers in SI above one reference level.

use crate::incidence::Incidence;
use crate::junction::JunctionModel;
use crate::laws::friction::Friction;
use crate::laws::friction::G as GRAVITY;
use crate::laws::water;
use crate::line::{Far, Invert, Joint, LineModel};
use crate::lip::Lip;
use crate::scenario::{FrictionLaw, Scenario, TankState};
use crate::state::PipeLacks;
use crate::tank::{OverflowPipe, TankModel};
use wetrun_network::{Downspout, End, Line, Network, Pipe, Point, TankId, cascade};
use wetrun_units::{Intensity, Length};

/// Everything the equations need.
#[derive(Clone, Debug)]
pub(crate) struct Model {
    /// Downspout feet first, then points with an opening, then the others.
    pub(crate) nodes: usize,
    /// The full tanks whose level hangs on what they receive: their levels are unknowns after the
    /// nodes' heads.
    pub(crate) moving: Vec<usize>,
    pub(crate) lines: Vec<LineModel>,
    /// The downspouts, then the openings of points: the lip of each of the first nodes.
    pub(crate) lips: Vec<Lip>,
    /// How many of the lips are downspouts.
    pub(crate) downspouts: usize,
    /// The node of each point.
    pub(crate) points: Vec<usize>,
    pub(crate) tanks: Vec<TankModel>,
    /// Tanks in the order in which they overflow.
    pub(crate) cascade: Vec<usize>,
    /// For each tank those that overflow into it: through pipes, then from the highest rim down, for
    /// what a lower one can let go hangs on what the others do.
    givers: Vec<Vec<usize>>,
    pub(crate) junctions: Vec<JunctionModel>,
    /// Lines at each node with the end that is there.
    pub(crate) incidence: Incidence,
    pub(crate) measure: Measure,
    /// A flow of the size of the problem's: the total demand, or a trickle where there is none.
    pub(crate) scale: f64,
}

/// How what is drawn becomes bare numbers.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Measure {
    law: FrictionLaw,
    viscosity_m2_per_s: f64,
    /// The level that every number is measured from.
    pub(crate) reference_m: f64,
}

/// The unknowns, as far as they are known.
#[derive(Clone, Debug)]
pub(crate) struct Iterate {
    /// Total head at each node.
    pub(crate) head: Vec<f64>,
    /// Flow of each line, positive from its first end.
    pub(crate) flow: Vec<f64>,
    /// What each lip takes.
    pub(crate) admitted: Vec<f64>,
    /// Water level of each tank, where it has one.
    pub(crate) water: Vec<Option<f64>>,
    /// What a wye or tee adds to the node's head as each end of a line sees it.
    pub(crate) offset: Vec<[f64; 2]>,
}

impl Iterate {
    /// The largest flow of all lines, either way, m³/s.
    pub(crate) fn largest_flow(&self) -> f64 {
        self.flow.iter().fold(0.0, |most, flow| most.max(flow.abs()))
    }
}

/// What tanks receive and pass on.
#[derive(Clone, Debug)]
pub(crate) struct Receipts {
    /// Net inflow of each tank's lines and what overflows into it.
    pub(crate) net: Vec<f64>,
    /// What leaves each by its overflow.
    pub(crate) overflow: Vec<f64>,
}

impl Model {
    /// Prepares a network for a scenario.
    ///
    /// # Errors
    /// [`PipeLacks`] where a pipe lacks what the law in use needs.
    pub(crate) fn new(network: &Network, scenario: &Scenario) -> Result<Self, PipeLacks> {
        let viscosity_m2_per_s = water::viscosity_m2_per_s(scenario.temperature.to_celsius());
        let reference_m =
            network.tanks().iter().map(|t| t.inlet.to_m()).fold(f64::INFINITY, f64::min);
        let reference_m = if reference_m.is_finite() { reference_m } else { 0.0 };
        let measure = Measure { law: scenario.law, viscosity_m2_per_s, reference_m };
        let points = nodes_of_points(network);
        let joint = |end: End| match end {
            End::Downspout(id) => Joint::Node(id.index()),
            End::Point(id) => Joint::Node(points[id.index()]),
            End::Tank(id) => Joint::Tank(id.index()),
        };
        let downspouts =
            network.downspouts().iter().map(|d| measure.downspout(d, scenario.intensity));
        let openings = network.openings().map(|(_, o)| Lip::opening(o.level.to_m() - reference_m));
        let lips: Vec<_> = downspouts.chain(openings.map(Ok)).collect::<Result<_, _>>()?;
        let lines: Vec<_> = network
            .lines()
            .iter()
            .map(|l| measure.line(l, [joint(l.from), joint(l.to)]))
            .collect::<Result<_, _>>()?;
        let full = scenario.tanks == TankState::Full;
        let tanks: Vec<_> = network
            .tanks()
            .iter()
            .map(|t| {
                let overflow = t.overflow.as_ref().filter(|_| full);
                TankModel {
                    full_m: overflow.map(|o| o.level.to_m() - reference_m),
                    pipe: overflow
                        .and_then(|o| Some(OverflowPipe::new(o.pipe.as_ref()?.inside.to_m(), o.k))),
                    to: overflow.and_then(|o| Some(o.to?.index())),
                    rim_m: t.rim.map_or(f64::INFINITY, |rim| rim.to_m() - reference_m),
                }
            })
            .collect();
        let nodes = network.downspouts().len() + network.points().len();
        let incidence = Incidence::new(nodes, &lines);
        let junctions = junctions(network, &points, &incidence, &lines);
        let moving =
            (0..tanks.len()).filter(|&t| tanks[t].full_m.is_some() && tanks[t].moves()).collect();
        Ok(Self {
            nodes,
            moving,
            scale: scale(&lips),
            cascade: {
                let to: Vec<_> = tanks.iter().map(|tank| tank.to.map(TankId::new)).collect();
                cascade(&to).into_iter().map(TankId::index).collect()
            },
            givers: givers(&tanks),
            lips,
            downspouts: network.downspouts().len(),
            points,
            lines,
            tanks,
            junctions,
            incidence,
            measure,
        })
    }

    /// How many heads and levels are unknown.
    pub(crate) fn unknowns(&self) -> usize {
        self.nodes + self.moving.len()
    }

    /// The number of the head or level at an end of a line, where it is unknown.
    pub(crate) fn unknown(&self, end: Joint) -> Option<usize> {
        match end {
            Joint::Node(node) => Some(node),
            Joint::Tank(tank) => {
                let place = self.moving.binary_search(&tank).ok()?;
                Some(self.nodes + place)
            }
        }
    }

    /// Moves all heads and levels by a share of a step.
    pub(crate) fn step(&self, at: &mut Iterate, step: &[f64], share: f64) {
        for (head, step) in at.head.iter_mut().zip(step) {
            *head += share * step;
        }
        for (&tank, step) in self.moving.iter().zip(&step[self.nodes..]) {
            if let Some(level) = &mut at.water[tank] {
                *level += share * step;
            }
        }
    }

    /// Holds the moving tanks' levels between the lowest and the highest that each can take.
    pub(crate) fn hold_levels(&self, at: &mut Iterate) {
        if self.moving.is_empty() {
            return;
        }
        for &tank in self.cascade.iter().rev() {
            let beyond = self.beyond(at, tank);
            at.water[tank] = at.water[tank].map(|level| self.tanks[tank].within(level, beyond));
        }
    }

    /// The level of the water into which a tank overflows, if it stands full.
    pub(crate) fn beyond(&self, at: &Iterate, tank: usize) -> Option<f64> {
        self.tanks[tank].to.and_then(|to| at.water[to])
    }

    /// Puts lines in the place of others with the same ends; the network has them already.
    pub(crate) fn set_lines(&mut self, network: &Network, lines: Vec<(usize, LineModel)>) {
        for (index, line) in lines {
            self.lines[index] = line;
        }
        self.junctions = junctions(network, &self.points, &self.incidence, &self.lines);
    }

    /// Puts another downspout in the place of one.
    pub(crate) fn set_downspout(&mut self, index: usize, lip: Lip) {
        self.lips[index] = lip;
        self.scale = scale(&self.lips);
    }

    /// Sets the rain that falls on every downspout's roofs.
    pub(crate) fn set_demands(&mut self, demand: impl Fn(usize) -> f64) {
        for (d, lip) in self.lips[..self.downspouts].iter_mut().enumerate() {
            lip.set_demand(demand(d));
        }
        self.scale = scale(&self.lips);
    }

    /// A first guess: nothing flows, the tanks are at rest.
    pub(crate) fn still(&self) -> Iterate {
        Iterate {
            head: vec![0.0; self.nodes],
            flow: vec![0.0; self.lines.len()],
            admitted: self.lips.iter().map(Lip::plausible).collect(),
            water: self.levels(&vec![0.0; self.tanks.len()]),
            offset: vec![[0.0; 2]; self.lines.len()],
        }
    }

    /// Whether a line joins two nodes and neither a crest nor an invert stands over both.
    pub(crate) fn is_full(&self, at: &Iterate, line: usize) -> bool {
        (0..2).all(|from| match self.far(at, line, 1 - from) {
            far @ Far::Node(head) => self.lines[line].threshold(from, far) <= head,
            Far::Tank(_) => false,
        })
    }

    /// What stands at an end of a line.
    pub(crate) fn far(&self, at: &Iterate, line: usize, side: usize) -> Far {
        match self.lines[line].ends[side] {
            Joint::Node(node) => Far::Node(at.head[node] + at.offset[line][side]),
            Joint::Tank(tank) => Far::Tank(at.water[tank]),
        }
    }

    /// What the tanks receive and what their overflows let go, their levels being those held.
    pub(crate) fn receipts(&self, at: &Iterate) -> Receipts {
        let mut net = vec![0.0; self.tanks.len()];
        for (line, flow) in self.lines.iter().zip(&at.flow) {
            for (side, end) in line.ends.iter().enumerate() {
                if let Joint::Tank(tank) = *end {
                    net[tank] += if side == 1 { *flow } else { -*flow };
                }
            }
        }
        let mut overflow = vec![0.0; self.tanks.len()];
        for &tank in &self.cascade {
            let this = &self.tanks[tank];
            for &giver in &self.givers[tank] {
                let from = &self.tanks[giver];
                overflow[giver] = if from.pipe.is_some() {
                    from.overflows(net[giver], at.water[tank])
                } else {
                    let past = self.beyond(at, tank);
                    from.joins(net[giver], this, net[tank], past)
                };
                net[tank] += overflow[giver];
            }
            if this.to.is_none() {
                overflow[tank] = this.overflows(net[tank], None);
            }
        }
        Receipts { net, overflow }
    }

    /// The levels that tanks take for what they receive; `None` where one does not stand full.
    pub(crate) fn levels(&self, received: &[f64]) -> Vec<Option<f64>> {
        let mut levels = vec![None; self.tanks.len()];
        for &tank in self.cascade.iter().rev() {
            let this = &self.tanks[tank];
            let beyond = this.to.and_then(|to| levels[to]);
            levels[tank] = this.level(received[tank], beyond);
        }
        levels
    }

    /// Inflow less outflow at each node.
    pub(crate) fn imbalance(&self, at: &Iterate) -> Vec<f64> {
        let mut net = vec![0.0; self.nodes];
        net[..self.lips.len()].copy_from_slice(&at.admitted);
        for (line, flow) in self.lines.iter().zip(&at.flow) {
            for (side, end) in line.ends.iter().enumerate() {
                if let Joint::Node(node) = *end {
                    net[node] += if side == 1 { *flow } else { -*flow };
                }
            }
        }
        net
    }
}

impl Measure {
    /// A downspout in a rain.
    pub(crate) fn downspout(&self, d: &Downspout, rain: Intensity) -> Result<Lip, PipeLacks> {
        let friction = self.friction(&d.tag, &d.pipe)?;
        let mut downspout = Lip::downspout(
            friction,
            fitting(d.total_k(), friction.area_m2()),
            self.above_m(d.spill_level()),
            self.above_m(d.foot),
        );
        downspout.set_demand(d.catchment.to_m2() * rain.to_m_per_s());
        Ok(downspout)
    }

    /// A line between two ends.
    pub(crate) fn line(&self, l: &Line, ends: [Joint; 2]) -> Result<LineModel, PipeLacks> {
        let friction = self.friction(&l.tag, &l.pipe)?;
        Ok(LineModel {
            ends,
            friction,
            bore_m: l.pipe.inside.to_m(),
            length_m: l.length.to_m(),
            fitting_s2_m5: fitting(l.total_k(), friction.area_m2()),
            inverts: (l.profile.iter())
                .map(|s| Invert { at_m: s.at.to_m(), level_m: self.above_m(s.level) })
                .collect(),
        })
    }

    fn friction(&self, tag: &str, pipe: &Pipe) -> Result<Friction, PipeLacks> {
        let known = match self.law {
            FrictionLaw::DarcyWeisbach => pipe.roughness.is_some(),
            FrictionLaw::HazenWilliams => pipe.c.is_some(),
        };
        if !known {
            return Err(PipeLacks { tag: tag.to_owned(), law: self.law });
        }
        let roughness_m = pipe.roughness.map_or(0.0, Length::to_m);
        let c = pipe.c.unwrap_or(f64::NAN);
        Ok(Friction::new(self.law, pipe.inside.to_m(), roughness_m, c, self.viscosity_m2_per_s))
    }

    fn above_m(&self, level: Length) -> f64 {
        level.to_m() - self.reference_m
    }
}

/// What fittings lose over the square of the flow.
fn fitting(k: f64, area_m2: f64) -> f64 {
    k / (2.0 * GRAVITY * area_m2 * area_m2)
}

fn junctions(
    network: &Network,
    nodes: &[usize],
    incidence: &Incidence,
    lines: &[LineModel],
) -> Vec<JunctionModel> {
    let points = network.points().iter().zip(nodes);
    points
        .filter_map(|(point, &node)| JunctionModel::new(point.fitting?, incidence.at(node), lines))
        .collect()
}

/// The node of each point: after the downspouts those with an opening, then the others.
fn nodes_of_points(network: &Network) -> Vec<usize> {
    let (mut open, mut shut) = (network.downspouts().len(), 0);
    shut += open + network.openings().count();
    let node = |point: &Point| {
        let next = if point.opening.is_some() { &mut open } else { &mut shut };
        *next += 1;
        *next - 1
    };
    network.points().iter().map(node).collect()
}

/// The total demand, or a trickle where there is none.
fn scale(lips: &[Lip]) -> f64 {
    let total: f64 = lips.iter().map(Lip::plausible).sum();
    if total > 0.0 { total } else { 1e-4 }
}

/// For each tank those that overflow into it, in the order in which their flows are told.
fn givers(tanks: &[TankModel]) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..tanks.len()).collect();
    order.sort_by(|&a, &b| {
        let (a, b) = (&tanks[a], &tanks[b]);
        a.pipe.is_none().cmp(&b.pipe.is_none()).then(b.rim_m.total_cmp(&a.rim_m))
    });
    let mut givers = vec![Vec::new(); tanks.len()];
    for giver in order {
        if let Some(to) = tanks[giver].to {
            givers[to].push(giver);
        }
    }
    givers
}
