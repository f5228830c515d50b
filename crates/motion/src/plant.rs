//! A network as it moves: nodes without storage, columns, reaches, tanks, and how they are joined.

use crate::bed::Bed;
use crate::column::Column;
use crate::drain::DrainLaw;
use crate::film::Weir;
use crate::gutter::Gutter;
use crate::reach::{Outer, Reach};
use crate::scene::{Scene, TankStart};
use crate::sparse::Sparse;
use crate::state::State;
use crate::vessel::{Store, Vessel};
use std::ops::Range;
use wetrun_network::{End, LineEnd, LineId, Network, Pipe, TankId, cascade};
use wetrun_solver::laws::G;
use wetrun_solver::laws::junction::JunctionLaw;
use wetrun_solver::laws::pipe::{OverflowLaw, PipeLaw};
use wetrun_units::Length;

/// A network prepared for motion. Levels are above `reference_m`.
#[derive(Clone, Debug)]
pub(crate) struct Plant {
    pub(crate) reference_m: f64,
    /// One for each downspout; its foot is the node of the same number.
    pub(crate) columns: Vec<Column>,
    pub(crate) nodes: Vec<Node>,
    pub(crate) reaches: Vec<Reach>,
    /// The reaches of each line, from its start to its finish.
    pub(crate) of_line: Vec<Range<usize>>,
    pub(crate) vessels: Vec<Vessel>,
    /// Tanks in the order in which they overflow.
    pub(crate) cascade: Vec<usize>,
    /// For each tank that stores the levels at which it begins to give back to tanks that store
    /// nothing and run over into it, and these.
    pub(crate) edges: Vec<Vec<(f64, usize)>>,
    pub(crate) joints: Vec<Joint>,
    /// The ends of reaches that meet at each node, then at each tank.
    pub(crate) meets: Vec<Vec<(usize, usize)>>,
    /// The leg of a joint that each end of a reach is, as its place among all legs.
    pub(crate) leg_at: Vec<[Option<usize>; 2]>,
    /// The unknowns that an end of a reach sees, as slots of the matrix, reach by reach.
    pub(crate) matrix: Sparse,
    pub(crate) slots: Slots,
    /// Newton steps taken so far.
    pub(crate) iterations: u32,
}

/// A place without storage.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    /// The lowest invert there: no head is below it.
    pub(crate) floor: f64,
    /// The level of an opening there; infinite where there is none.
    pub(crate) opening: f64,
    /// Whether anything is joined to it.
    pub(crate) alive: bool,
    /// A drain that stands open there, and what a hose brings, m³/s.
    pub(crate) drain: Option<DrainLaw>,
    pub(crate) hose: f64,
}

impl Node {
    fn new(floor: f64, opening: f64, alive: bool) -> Self {
        Self { floor, opening, alive, drain: None, hose: 0.0 }
    }
}

/// A wye or tee: three ends of reaches, the branch first.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Joint {
    pub(crate) law: JunctionLaw,
    pub(crate) legs: [(usize, usize); 3],
}

/// Where the entries of the matrix stand.
#[derive(Clone, Debug, Default)]
pub(crate) struct Slots {
    /// Of each unknown on the diagonal.
    pub(crate) own: Vec<usize>,
    /// For each reach the slots of the rows (from, to) by the columns (from, to).
    pub(crate) reach: Vec<[[usize; 2]; 2]>,
    /// For each tank that overflows into another: own row by its column, then the other way round.
    pub(crate) overflow: Vec<Option<[usize; 2]>>,
    /// For each leg of a wye or tee.
    pub(crate) legs: Vec<LegSlots>,
}

/// Where a leg of a wye or tee bears on others, `flows` being those of its joint.
#[derive(Clone, Debug)]
pub(crate) struct LegSlots {
    /// Its own row by what its reach's two ends meet.
    pub(crate) own_by_ends: [usize; 2],
    /// For either end of its reach the row of what that meets, by the flows.
    pub(crate) ends_by_flows: [[usize; 3]; 2],
    /// The same for the row of the leg there, where that end is at a wye or tee too.
    pub(crate) legs_by_flows: [Option<[usize; 3]>; 2],
}

impl Plant {
    pub(crate) fn new(scene: &Scene<'_>) -> Self {
        let network = scene.network;
        let inlets = network.tanks().iter().map(|tank| tank.inlet.to_m());
        let reference_m = inlets.fold(f64::INFINITY, f64::min);
        let reference_m = if reference_m.is_finite() { reference_m } else { 0.0 };
        let level = |level: Length| level.to_m() - reference_m;
        let law = |pipe: &Pipe| PipeLaw::new(scene.law, scene.temperature, pipe);

        let columns = columns(scene, &level, &law);
        let mut nodes: Vec<Node> =
            (columns.iter()).map(|column| Node::new(column.foot, f64::INFINITY, true)).collect();
        nodes.extend(network.points().iter().map(|point| {
            let opening = point.opening.map_or(f64::INFINITY, |opening| level(opening.level));
            Node::new(f64::INFINITY, opening, false)
        }));
        let (reaches, of_line) = reaches(scene, &mut nodes, &level, &law);
        let mut meets = vec![Vec::new(); nodes.len() + network.tanks().len()];
        for (place, reach) in reaches.iter().enumerate() {
            for (side, end) in reach.ends.iter().enumerate() {
                match *end {
                    Outer::Node(node) => {
                        nodes[node].floor = nodes[node].floor.min(reach.invert(side));
                        nodes[node].alive = true;
                        meets[node].push((place, side));
                    }
                    Outer::Tank(tank) => meets[nodes.len() + tank].push((place, side)),
                }
            }
        }
        for node in &mut nodes {
            if !node.floor.is_finite() {
                node.floor = 0.0;
            }
        }
        let vessels: Vec<Vessel> =
            (0..network.tanks().len()).map(|t| vessel(scene, t, &level)).collect();
        let joints = joints(network, &reaches, &of_line);
        let mut leg_at = vec![[None; 2]; reaches.len()];
        for (place, joint) in joints.iter().enumerate() {
            for (leg, &(reach, side)) in joint.legs.iter().enumerate() {
                leg_at[reach][side] = Some(3 * place + leg);
            }
        }
        let mut plant = Self {
            reference_m,
            columns,
            nodes,
            reaches,
            of_line,
            cascade: {
                let to: Vec<_> = vessels.iter().map(|vessel| vessel.to.map(TankId::new)).collect();
                cascade(&to).into_iter().map(TankId::index).collect()
            },
            edges: edges(&vessels),
            vessels,
            joints,
            meets,
            leg_at,
            matrix: Sparse::new(0, []),
            slots: Slots::default(),
            iterations: 0,
        };
        plant.join();
        plant
    }

    /// Opens a drain at a node.
    pub(crate) fn open(&mut self, node: usize, drain: DrainLaw) {
        let node = &mut self.nodes[node];
        node.floor = node.floor.min(drain.invert);
        node.drain = Some(drain);
    }

    /// What runs out of drains with these heads at nodes, m³/s.
    pub(crate) fn runs_out(&self, heads: &[f64]) -> f64 {
        let drains = self.nodes.iter().zip(heads);
        drains.filter_map(|(node, head)| Some(node.drain.as_ref()?.flow(*head).0)).sum()
    }

    /// What each reach, each column and each node holds, m³.
    pub(crate) fn water<'a>(&'a self, state: &'a State) -> impl Iterator<Item = f64> + 'a {
        let lines = self.reaches.iter().zip(&state.voids).map(|(reach, void)| reach.water(*void));
        lines.chain(state.columns.iter().copied()).chain(state.nodes.iter().copied())
    }

    /// How many heads, levels and flows of legs are unknown.
    pub(crate) fn unknowns(&self) -> usize {
        self.nodes.len() + self.vessels.len() + 3 * self.joints.len()
    }

    /// The unknown that a reach's end meets.
    pub(crate) fn unknown(&self, end: Outer) -> usize {
        match end {
            Outer::Node(node) => node,
            Outer::Tank(tank) => self.nodes.len() + tank,
        }
    }

    /// The unknown flow of a leg.
    pub(crate) fn leg(&self, place: usize) -> usize {
        self.nodes.len() + self.vessels.len() + place
    }

    /// The unknowns whose equations an end of a reach bears on, and that it hears of: what it meets,
    /// and at a wye or tee the flows of its legs.
    pub(crate) fn around(&self, reach: usize, side: usize) -> impl Iterator<Item = usize> + '_ {
        let own = self.unknown(self.reaches[reach].ends[side]);
        let first = self.leg_at[reach][side].map(|leg| self.leg(leg - leg % 3));
        std::iter::once(own).chain(first.into_iter().flat_map(|first| first..first + 3))
    }

    /// The tanks into which one that a reach ends in runs over, one after the other.
    pub(crate) fn beyond(&self, end: Outer) -> impl Iterator<Item = usize> + '_ {
        let first = match end {
            Outer::Node(_) => None,
            Outer::Tank(tank) => self.vessels[tank].to,
        };
        std::iter::successors(first, |&tank| self.vessels[tank].to)
    }

    /// Works out the pattern of the matrix and where its entries stand.
    fn join(&mut self) {
        let mut pairs = Vec::new();
        for reach in 0..self.reaches.len() {
            let mut around: Vec<usize> = (0..2).flat_map(|side| self.around(reach, side)).collect();
            for end in self.reaches[reach].ends {
                around.extend(self.beyond(end).map(|tank| self.nodes.len() + tank));
            }
            around.sort_unstable();
            around.dedup();
            for (place, &a) in around.iter().enumerate() {
                pairs.extend(around[place + 1..].iter().map(|&b| (a, b)));
            }
        }
        let first = self.nodes.len();
        for (tank, vessel) in self.vessels.iter().enumerate() {
            pairs.extend(vessel.to.map(|to| (first + tank, first + to)));
        }
        let matrix = Sparse::new(self.unknowns(), pairs);
        let ends = |reach: &Reach| reach.ends.map(|end| self.unknown(end));
        let reach = (self.reaches.iter())
            .map(|reach| {
                let ends = ends(reach);
                ends.map(|row| ends.map(|column| matrix.slot(row, column)))
            })
            .collect();
        let overflow = (self.vessels.iter().enumerate())
            .map(|(tank, vessel)| {
                let (a, b) = (first + tank, first + vessel.to?);
                Some([matrix.slot(a, b), matrix.slot(b, a)])
            })
            .collect();
        let own = (0..self.unknowns()).map(|n| matrix.slot(n, n)).collect();
        let mut legs = Vec::with_capacity(3 * self.joints.len());
        for (joint, of) in self.joints.iter().enumerate() {
            let flows = [0, 1, 2].map(|leg| self.leg(3 * joint + leg));
            let by_flows = |row: usize| flows.map(|flow| matrix.slot(row, flow));
            for (&own, &(reach, _)) in flows.iter().zip(&of.legs) {
                let ends = ends(&self.reaches[reach]);
                legs.push(LegSlots {
                    own_by_ends: ends.map(|end| matrix.slot(own, end)),
                    ends_by_flows: ends.map(by_flows),
                    legs_by_flows: self.leg_at[reach]
                        .map(|leg| leg.map(|leg| by_flows(self.leg(leg)))),
                });
            }
        }
        self.slots = Slots { own, reach, overflow, legs };
        self.matrix = matrix;
    }
}

fn columns(
    scene: &Scene<'_>,
    level: &impl Fn(Length) -> f64,
    law: &impl Fn(&Pipe) -> PipeLaw,
) -> Vec<Column> {
    let column = |(place, downspout): (usize, &wetrun_network::Downspout)| {
        let law = law(&downspout.pipe);
        let area_m2 = law.area().to_m2();
        let gutter = scene.gutters.get(place).copied().flatten();
        let gutter = gutter.filter(|_| downspout.leaf_head.is_none());
        let mut column = Column {
            law,
            weir: Weir::new(law),
            area_m2,
            foot: level(downspout.foot),
            outlet: level(downspout.outlet),
            lip: level(downspout.spill_level()),
            gutter: gutter.map(|store| Gutter::new(&store)),
            fitting: downspout.total_k() / (2.0 * G * area_m2 * area_m2),
            full: 0.0,
        };
        column.full = column.volume(column.lip).0;
        column
    };
    scene.network.downspouts().iter().enumerate().map(column).collect()
}

/// Every line cut where its bed bends downward: there the pipe can break.
fn reaches(
    scene: &Scene<'_>,
    nodes: &mut Vec<Node>,
    level: &impl Fn(Length) -> f64,
    law: &impl Fn(&Pipe) -> PipeLaw,
) -> (Vec<Reach>, Vec<Range<usize>>) {
    let network = scene.network;
    let downspouts = network.downspouts().len();
    let outer = |end: End| match end {
        End::Downspout(id) => Outer::Node(id.index()),
        End::Point(id) => Outer::Node(downspouts + id.index()),
        End::Tank(id) => Outer::Tank(id.index()),
    };
    let (mut reaches, mut of_line) = (Vec::new(), Vec::new());
    for line in network.lines() {
        let first = reaches.len();
        let law = law(&line.pipe);
        let area_m2 = law.area().to_m2();
        let per_flow2 = 0.5 / (G * area_m2 * area_m2);
        let bed: Vec<(f64, f64)> =
            line.profile.iter().map(|s| (s.at.to_m(), level(s.level))).collect();
        let mut from = outer(line.from);
        for stretch in convex(&bed) {
            let along = &bed[stretch.clone()];
            let last = stretch.end == bed.len();
            let to = if last {
                outer(line.to)
            } else {
                nodes.push(Node::new(f64::INFINITY, f64::INFINITY, true));
                Outer::Node(nodes.len() - 1)
            };
            let (start, end) = (along[0].0, along[along.len() - 1].0);
            let there: Vec<_> = along.iter().map(|&(at, z)| (at - start, z)).collect();
            let back: Vec<_> = along.iter().rev().map(|&(at, z)| (end - at, z)).collect();
            reaches.push(Reach {
                ends: [from, to],
                law,
                weir: Weir::new(law),
                area_m2,
                bore_m: line.pipe.inside.to_m(),
                length_m: end - start,
                fitting_per_m: line.total_k() * per_flow2 / line.length.to_m(),
                beds: [Bed::new(&there), Bed::new(&back)],
                shut: None,
                runs_empty: [None, None],
                per_flow2,
            });
            from = to;
        }
        of_line.push(first..reaches.len());
    }
    (reaches, of_line)
}

/// The stretches of a bed along which it nowhere bends downward, each with both its ends.
fn convex(bed: &[(f64, f64)]) -> Vec<Range<usize>> {
    let slope = |a: (f64, f64), b: (f64, f64)| (b.1 - a.1) / (b.0 - a.0);
    let (mut stretches, mut first) = (Vec::new(), 0);
    for here in 1..bed.len().saturating_sub(1) {
        let (before, after) = (slope(bed[here - 1], bed[here]), slope(bed[here], bed[here + 1]));
        if after < before - SAME_SLOPE {
            stretches.push(first..here + 1);
            first = here;
        }
    }
    stretches.push(first..bed.len());
    stretches
}

/// Slopes closer than this are one.
const SAME_SLOPE: f64 = 1e-9;

/// A level far below everything, for a tank that has none.
pub(crate) const NOWHERE: f64 = -1e4;

fn vessel(scene: &Scene<'_>, index: usize, level: &impl Fn(Length) -> f64) -> Vessel {
    let tank = &scene.network.tanks()[index];
    let overflow = tank.overflow.as_ref();
    let store =
        overflow.zip(tank.floor).zip(tank.volume).and_then(|((overflow, floor), volume)| {
            let depth_m = (overflow.level - floor).to_m();
            (depth_m > 0.0).then(|| Store {
                floor: level(floor),
                area_m2: volume.to_m3() / depth_m,
                volume_m3: volume.to_m3(),
            })
        });
    let full = overflow.is_some() && scene.tanks.get(index) == Some(&TankStart::Full);
    let to = overflow.and_then(|overflow| overflow.to);
    let stores = |tank: TankId| {
        let next = scene.network.tank(tank);
        next.floor.is_some() && next.volume.is_some() && next.overflow.is_some()
    };
    Vessel {
        stands: store.is_some() || full,
        comes_back: to.is_some_and(stores),
        store,
        overflow: overflow.map_or(f64::INFINITY, |overflow| level(overflow.level)),
        pipe: overflow.and_then(|overflow| {
            let law = OverflowLaw::new(overflow.pipe.as_ref()?.inside, overflow.k);
            Some(Weir::of_overflow(law))
        }),
        to: to.map(TankId::index),
        rim: tank.rim.map_or(f64::INFINITY, level),
    }
}

/// For each tank that stores the overflows, just at its level, of those that store nothing and run over
/// into it, by others that store nothing and overflow no higher or at once.
fn edges(vessels: &[Vessel]) -> Vec<Vec<(f64, usize)>> {
    let mut edges = vec![Vec::new(); vessels.len()];
    for (giver, vessel) in vessels.iter().enumerate() {
        if vessel.store.is_some() || !vessel.stands {
            continue;
        }
        let stands = |tank: &usize| vessels[*tank].stands;
        let mut next = vessel.to.filter(stands);
        while let Some(tank) = next {
            if vessels[tank].store.is_some() {
                edges[tank].push((vessel.overflow, giver));
                break;
            }
            let lower = vessels[tank].overflow < vessel.overflow;
            next = vessels[tank].to.filter(|to| lower && stands(to));
        }
    }
    edges
}

/// The wyes and tees, at the ends of the reaches that their lines begin or end with.
fn joints(network: &Network, reaches: &[Reach], of_line: &[Range<usize>]) -> Vec<Joint> {
    let mut joints = Vec::new();
    for (place, point) in network.points().iter().enumerate() {
        let Some(junction) = point.fitting else { continue };
        let id = wetrun_network::PointId::new(place);
        let ends: Vec<(LineId, LineEnd)> = network.meets(End::Point(id)).collect();
        let Some(branch) = ends.iter().position(|(line, _)| *line == junction.branch) else {
            continue;
        };
        let mut run = (0..ends.len()).filter(|leg| *leg != branch);
        let (Some(one), Some(other)) = (run.next(), run.next()) else { continue };
        let leg = |place: usize| {
            let (line, end) = ends[place];
            let of = &of_line[line.index()];
            match end {
                LineEnd::From => (of.start, 0),
                LineEnd::To => (of.end - 1, 1),
            }
        };
        let legs = [leg(branch), leg(one), leg(other)];
        let bores = legs.map(|(reach, _)| reaches[reach].law.bore());
        joints.push(Joint { law: JunctionLaw::new(&junction, bores), legs });
    }
    joints
}
