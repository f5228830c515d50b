//! Water at rest: where it stands between storms, and how much of it.

use crate::line::Joint;
use crate::model::Model;
use crate::still;
use crate::tree::Forest;
use smallvec::SmallVec;
use std::f64::consts::FRAC_PI_4;
use wetrun_network::{DownspoutId, End, LineId, Network, Pipe, PointId, TankId};
use wetrun_units::{Length, Volume};

/// The levels at which water stands between storms: no higher than it can leave by an inlet, over
/// the inverts on the way, or over a lip or an opening; tanks stand as the scenario has them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rest {
    downspouts: Vec<Option<Length>>,
    points: Vec<Option<Length>>,
    tanks: Vec<Option<Length>>,
    lines: Vec<SmallVec<[AtStation; 2]>>,
}

/// A station of a line at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
struct AtStation {
    /// The level over which water would leave from here: the surface where it stands.
    held: Length,
    wet: bool,
}

/// Water that stands in a stretch of pipe: spread evenly over a height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StandingWater {
    /// Lowest invert under it.
    pub low: Length,
    /// Its surface, or the stretch's highest invert where that is lower.
    pub high: Length,
    /// Its volume in the round bore.
    pub volume: Volume,
}

impl Rest {
    /// The level in a downspout; `None` where its foot stands dry.
    pub fn downspout(&self, id: DownspoutId) -> Option<Length> {
        self.downspouts.get(id.index()).copied().flatten()
    }

    /// The level at a point; `None` where it stands dry.
    pub fn point(&self, id: PointId) -> Option<Length> {
        self.points.get(id.index()).copied().flatten()
    }

    /// The level in a tank; `None` where it stands empty, or has no level of its own.
    pub fn tank(&self, id: TankId) -> Option<Length> {
        self.tanks.get(id.index()).copied().flatten()
    }

    /// The level at a place.
    pub fn at(&self, end: End) -> Option<Length> {
        match end {
            End::Downspout(id) => self.downspout(id),
            End::Point(id) => self.point(id),
            End::Tank(id) => self.tank(id),
        }
    }

    /// The level at each station of a line, from its start to its finish; `None` where it stands
    /// dry. An invert that water just reaches is wet. Between two stations that differ the water
    /// stands at the lower level: the higher is that of a crest, beyond which it lies.
    pub fn along(&self, id: LineId) -> impl DoubleEndedIterator<Item = Option<Length>> {
        let stations = self.lines.get(id.index()).into_iter().flatten();
        stations.map(|station| station.wet.then_some(station.held))
    }

    /// The water that stands in a line, stretch by stretch.
    pub fn in_line(&self, network: &Network, id: LineId) -> Vec<StandingWater> {
        let line = network.line(id);
        let area_m2 = area_m2(&line.pipe);
        let held = self.lines.get(id.index()).map_or(&[][..], |stations| stations);
        let stretches = line.profile.windows(2).zip(held.windows(2));
        stretches
            .filter_map(|(stations, held)| {
                let rest = held[0].held.min(held[1].held);
                let levels = [stations[0].level, stations[1].level];
                let (low, high) = (levels[0].min(levels[1]), levels[0].max(levels[1]));
                let wet = share_below(low, high, rest);
                let length_m = (stations[1].at - stations[0].at).to_m();
                let volume = Volume::m3(area_m2 * length_m * wet);
                (wet > 0.0).then_some(StandingWater { low, high: high.min(rest), volume })
            })
            .collect()
    }

    /// The water that stands in a downspout, no higher than its opening.
    pub fn in_downspout(&self, network: &Network, id: DownspoutId) -> Option<StandingWater> {
        let downspout = network.downspout(id);
        let (low, high) = (downspout.foot, self.downspout(id)?.min(downspout.opening()));
        let volume = Volume::m3(area_m2(&downspout.pipe) * (high - low).to_m());
        (high > low).then_some(StandingWater { low, high, volume })
    }

    /// All water that stands in lines and downspouts.
    pub fn volume(&self, network: &Network) -> Volume {
        let lines = (0..network.lines().len()).map(LineId::new);
        let downspouts = (0..network.downspouts().len()).map(DownspoutId::new);
        let in_lines = lines.flat_map(|id| self.in_line(network, id));
        let in_downspouts = downspouts.filter_map(|id| self.in_downspout(network, id));
        in_lines.chain(in_downspouts).map(|water| water.volume).sum()
    }

    pub(crate) fn new(network: &Network, model: &Model, forest: &Forest) -> Self {
        let water = model.still().water;
        let held = held(model, forest, &water);
        let level = |level_m: f64| Length::m(level_m + model.measure.reference_m);
        let node = |node: usize, own: Length| {
            let rest_m = over(model, &held, &water, node, own.to_m() - model.measure.reference_m);
            rest_m.map(level)
        };
        let downspouts = (network.downspouts().iter().enumerate())
            .map(|(index, downspout)| node(index, downspout.foot))
            .collect();
        let points: Vec<_> = (network.points().iter().zip(&model.points))
            .map(|(point, &of_point)| node(of_point, point.level))
            .collect();
        let tanks = water.iter().map(|level_m| level_m.map(level)).collect();
        let mut rest = Self { downspouts, points, tanks, lines: Vec::new() };
        rest.lines =
            (0..model.lines.len()).map(|l| rest.stations(network, model, &held, l)).collect();
        rest
    }

    /// The stations of a line, climbed from both ends: water leaves by the lower of the two ways.
    fn stations(
        &self,
        network: &Network,
        model: &Model,
        held: &[f64],
        index: usize,
    ) -> SmallVec<[AtStation; 2]> {
        let (line, this) = (network.line(LineId::new(index)), &model.lines[index]);
        let start_m = |side: usize, end: End| match this.ends[side] {
            Joint::Node(node) => held[node],
            Joint::Tank(_) => {
                let water = self.at(end).map_or(f64::NEG_INFINITY, |level| level.to_m());
                water - model.measure.reference_m
            }
        };
        let mut highest_m = start_m(0, line.from);
        let mut levels_m: SmallVec<[f64; 2]> = SmallVec::new();
        for invert in &this.inverts {
            highest_m = highest_m.max(invert.level_m);
            levels_m.push(highest_m);
        }
        highest_m = start_m(1, line.to);
        for (level_m, invert) in levels_m.iter_mut().zip(&this.inverts).rev() {
            highest_m = highest_m.max(invert.level_m);
            *level_m = level_m.min(highest_m);
        }
        let last = levels_m.len() - 1;
        let invert_m = |i: usize| this.inverts[i].level_m;
        let stands_m =
            |end: End| self.at(end).map(|level| level.to_m() - model.measure.reference_m);
        let wet = |i: usize| {
            let level_m = levels_m[i];
            // Above its invert, or just up to it: out of a deeper neighbour, or from beyond the end.
            let beside =
                |j: usize| levels_m[j] >= level_m - SAME_M && invert_m(j) < level_m - SAME_M;
            let beyond = |end: End| stands_m(end).is_some_and(|m| (m - level_m).abs() <= SAME_M);
            level_m > invert_m(i) + SAME_M
                || i > 0 && beside(i - 1)
                || i < last && beside(i + 1)
                || i == 0 && beyond(line.from)
                || i == last && beyond(line.to)
        };
        (0..=last)
            .map(|i| AtStation {
                held: Length::m(levels_m[i] + model.measure.reference_m),
                wet: wet(i),
            })
            .collect()
    }
}

/// For each node the level at which water leaves from there, over its own inverts too.
fn held(model: &Model, forest: &Forest, water: &[Option<f64>]) -> Vec<f64> {
    let lips = || model.lips.iter().map(|l| l.lip_m).enumerate();
    let by_forest = forest.exact.then(|| forest.levels(model, water));
    match by_forest {
        Some(held) if lips().all(|(node, lip)| held[node] <= lip) => held,
        _ => {
            let none = vec![[0.0; 2]; model.lines.len()];
            still::levels(model, Vec::new(), lips().collect(), water, &none)
        }
    }
}

/// The level of still water over a node whose own level is `level_m`; `None` where that is above it.
fn over(
    model: &Model,
    held: &[f64],
    water: &[Option<f64>],
    node: usize,
    level_m: f64,
) -> Option<f64> {
    let lip = model.lips.get(node).map_or(f64::INFINITY, |l| l.lip_m);
    // A node's own invert holds no water over itself: only what stands higher does.
    let rest = (model.incidence.at(node).iter())
        .map(|&(line, side)| {
            let this = &model.lines[line];
            let far = match this.ends[1 - side] {
                Joint::Node(next) => held[next],
                Joint::Tank(tank) => {
                    this.end_level(1 - side).max(water[tank].unwrap_or(f64::NEG_INFINITY))
                }
            };
            let last = this.inverts.len() - 1;
            let tank_end = matches!(this.ends[1 - side], Joint::Tank(_));
            this.inverts.iter().enumerate().fold(far, |high, (i, station)| {
                let here = i == if side == 0 { 0 } else { last };
                let there = i == if side == 0 { last } else { 0 };
                if (here && station.level_m <= level_m + SAME_M) || (there && tank_end) {
                    high
                } else {
                    high.max(station.level_m)
                }
            })
        })
        .fold(lip, f64::min);
    (rest.is_finite() && rest >= level_m - SAME_M).then_some(rest)
}

/// The part of a straight pipe between two levels that lies below a third.
fn share_below(low: Length, high: Length, rest: Length) -> f64 {
    if rest >= high && rest > low {
        1.0
    } else if rest <= low {
        0.0
    } else {
        (rest - low).to_m() / (high - low).to_m()
    }
}

fn area_m2(pipe: &Pipe) -> f64 {
    FRAC_PI_4 * pipe.inside.to_m() * pipe.inside.to_m()
}

/// Levels closer than this are one.
const SAME_M: f64 = 1e-9;
