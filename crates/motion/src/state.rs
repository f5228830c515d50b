//! A plant at a moment: what it stores, how it flows, and how both change.

use crate::plant::{NOWHERE, Plant};
use crate::reach::Reach;
use crate::scene::{Scene, TankStart};
use crate::stage::Found;
use wetrun_network::{DownspoutId, LineId, Network, Overflow, PointId, TankId};
use wetrun_solver::{Prepared, Rest, Scenario, TankState};
use wetrun_units::{Intensity, Length};

/// A plant at a moment.
#[derive(Clone, Debug, Default)]
pub(crate) struct State {
    pub(crate) at_s: f64,
    /// In each column, m³.
    pub(crate) columns: Vec<f64>,
    /// Missing at either end of each reach, m³.
    pub(crate) voids: Vec<[f64; 2]>,
    /// In each tank that stores, m³.
    pub(crate) tanks: Vec<f64>,
    /// Left over at each node by the steps so far, m³.
    pub(crate) nodes: Vec<f64>,
    /// Rates of change of the flows of columns and reaches, m³/s².
    pub(crate) column_gains: Vec<f64>,
    pub(crate) reach_gains: Vec<f64>,
    /// Heads, flows and what leaves at this moment.
    pub(crate) found: Found,
}

/// The network with its tanks' overflows at the levels at which their water stands.
fn standing(scene: &Scene<'_>) -> Option<Network> {
    let mut parts = scene.network.to_parts();
    for (tank, start) in parts.tanks.iter_mut().zip(&scene.tanks) {
        let level = match start {
            TankStart::Full => continue,
            TankStart::Empty => None,
            TankStart::Level(level) => Some(*level),
            TankStart::Share(share) => {
                let overflow = tank.overflow.as_ref().map(|overflow| overflow.level);
                let depth = overflow.zip(tank.floor);
                depth.map(|(overflow, floor)| floor + (overflow - floor) * share.to_ratio())
            }
        };
        tank.overflow = level.map(|level| Overflow { level, pipe: None, to: None, k: 0.0 });
    }
    Network::build(parts).ok()
}

/// Where water stands before the rain; `None` where the tanks cannot stand as the scene has them, or a
/// pipe lacks what the friction law needs.
pub(crate) fn rest(scene: &Scene<'_>) -> Option<Rest> {
    let network = standing(scene)?;
    Some(Prepared::new(&network, &still(scene)).ok()?.rest().clone())
}

/// Dry weather, every tank at its overflow.
pub(crate) fn still(scene: &Scene<'_>) -> Scenario {
    Scenario {
        law: scene.law,
        temperature: scene.temperature,
        intensity: Intensity::ZERO,
        tanks: TankState::Full,
    }
}

impl State {
    /// Everything at its rest level.
    pub(crate) fn at_rest(scene: &Scene<'_>, plant: &Plant, rest: &Rest) -> Self {
        let network = scene.network;
        let level = |level: Length| level.to_m() - plant.reference_m;
        let mut x: Vec<f64> = plant.nodes.iter().map(|node| node.floor).collect();
        let mut columns = vec![0.0; plant.columns.len()];
        let mut levels = Vec::new();
        for (place, column) in plant.columns.iter().enumerate() {
            let stands = rest.downspout(DownspoutId::new(place)).map(level);
            let stands = stands.filter(|stands| *stands > column.foot);
            columns[place] = stands.map_or(0.0, |stands| column.volume(stands).0);
            levels.push(stands.unwrap_or(column.foot));
            x[place] = stands.unwrap_or(x[place]).max(x[place]);
        }
        for place in 0..network.points().len() {
            let node = plant.columns.len() + place;
            if let Some(stands) = rest.point(PointId::new(place)) {
                x[node] = x[node].max(level(stands));
            }
        }
        let mut voids = vec![[0.0; 2]; plant.reaches.len()];
        for (place, of) in plant.of_line.iter().enumerate() {
            let along: Vec<Option<f64>> =
                rest.along(LineId::new(place)).map(|held| held.map(level)).collect();
            line_at_rest(plant, network, place, of.clone(), &along, &mut x, &mut voids);
        }
        let mut tanks = vec![0.0; plant.vessels.len()];
        for (place, vessel) in plant.vessels.iter().enumerate() {
            let stands = rest.tank(TankId::new(place)).map(level);
            if let Some(store) = &vessel.store {
                tanks[place] = match scene.tanks.get(place) {
                    Some(TankStart::Share(share)) => store.volume_m3 * share.to_ratio(),
                    _ => stands.map_or(0.0, |stands| store.volume(stands)).max(0.0),
                };
                x.push(store.level(tanks[place]));
            } else {
                x.push(stands.filter(|_| vessel.stands).unwrap_or(NOWHERE));
            }
        }
        x.resize(plant.unknowns(), 0.0);
        let mut found = Found::still(plant, x);
        for (stood, level) in found.columns.iter_mut().zip(levels) {
            stood.level = level;
        }
        Self {
            at_s: 0.0,
            columns,
            voids,
            tanks,
            nodes: vec![0.0; plant.nodes.len()],
            column_gains: vec![0.0; plant.columns.len()],
            reach_gains: vec![0.0; plant.reaches.len()],
            found,
        }
    }

    /// The largest flow anywhere, m³/s.
    pub(crate) fn fastest(&self) -> f64 {
        let found = &self.found;
        let columns = found.columns.iter().map(|stood| stood.flow.abs().max(stood.spill));
        let reaches = found
            .reaches
            .iter()
            .flat_map(|moved| [moved.flow.abs(), moved.passes[0].abs(), moved.passes[1].abs()]);
        let lets = found.escapes.iter().chain(&found.overflows).chain(&found.over_rim);
        columns.chain(reaches).chain(lets.map(|flow| flow.abs())).fold(0.0, f64::max)
    }
}

/// The reaches of one line between storms.
fn line_at_rest(
    plant: &Plant,
    network: &Network,
    line: usize,
    of: std::ops::Range<usize>,
    along: &[Option<f64>],
    x: &mut [f64],
    voids: &mut [[f64; 2]],
) {
    let profile = &network.line(LineId::new(line)).profile;
    let mut start_m = 0.0;
    for place in of.clone() {
        let reach = &plant.reaches[place];
        let end_m = start_m + reach.length_m;
        let inside = |at_m: f64| at_m >= start_m - SAME_M && at_m <= end_m + SAME_M;
        let stations = profile.iter().zip(along).filter(|(s, _)| inside(s.at.to_m()));
        let lowest = stations.min_by(|(a, _), (b, _)| a.level.to_m().total_cmp(&b.level.to_m()));
        let stands = lowest.and_then(|(_, held)| *held);
        voids[place] = reach_at_rest(reach, stands);
        start_m = end_m;
        if place + 1 < of.end {
            let here =
                profile.iter().zip(along).find(|(s, _)| (s.at.to_m() - end_m).abs() < SAME_M);
            let node = plant.unknown(reach.ends[1]);
            if let Some(stands) = here.and_then(|(_, held)| *held) {
                x[node] = x[node].max(stands);
            }
        }
    }
}

/// What is missing at either end of a reach whose lowest place is under water up to a level.
fn reach_at_rest(reach: &Reach, stands: Option<f64>) -> [f64; 2] {
    match stands {
        Some(level) => [0, 1].map(|side| reach.area_m2 * reach.beds[side].distance(level + SAME_M)),
        // What comes in runs to its lower end.
        None => {
            let all = reach.area_m2 * reach.length_m;
            if reach.invert(0) < reach.invert(1) { [0.0, all] } else { [all, 0.0] }
        }
    }
}

/// Lengths and levels closer than this are one.
const SAME_M: f64 = 1e-9;
