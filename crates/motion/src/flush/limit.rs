//! What the sags keep for good once drains stand open.

use super::{OpenDrain, ShutInlet};
use crate::plant::Plant;
use crate::scene::Scene;
use crate::state::{State, still};
use std::ops::Range;
use wetrun_network::{DownspoutId, LineId, Network, Opening, OpeningKind, Overflow};
use wetrun_solver::{Prepared, Rest};
use wetrun_units::Length;

/// What stays when all has run out that can, m³.
#[derive(Clone, Debug)]
pub(super) struct Limit {
    pub(super) lines: Vec<f64>,
    pub(super) downspouts: Vec<f64>,
}

impl Limit {
    /// All that stays.
    pub(super) fn all(&self) -> f64 {
        self.lines.iter().chain(&self.downspouts).sum()
    }

    /// What of lines and downspouts stands above it, the lines apart that hang from a shut end.
    pub(super) fn above(&self, stands: &Stands) -> f64 {
        stands.with(self).map(|(stands, kept)| (stands - kept).max(0.0)).sum()
    }

    /// Where water stands when all has run out that can: at rest with the drains for openings, dry tanks,
    /// and the shut inlets out of reach.
    pub(super) fn new(
        scene: &Scene<'_>,
        drains: &[OpenDrain],
        shut: &[ShutInlet],
        before: &Rest,
    ) -> Option<Self> {
        let mut parts = scene.network.to_parts();
        for tank in &mut parts.tanks {
            tank.overflow = None;
        }
        for inlet in shut {
            let level = inlet.water + OUT_OF_REACH;
            parts.tanks[inlet.tank.index()].overflow =
                Some(Overflow { level, pipe: None, to: None, k: 0.0 });
        }
        for drain in drains {
            let point = &mut parts.points[drain.at.index()];
            let level = drain.outlet.max(point.level);
            let level = point.opening.map_or(level, |opening| opening.level.min(level));
            point.opening = Some(Opening { kind: OpeningKind::Vent, level });
        }
        let network = Network::build(parts).ok()?;
        let prepared = Prepared::new(&network, &still(scene)).ok()?;
        let after = prepared.rest();
        let lines = (0..network.lines().len()).map(LineId::new).map(|id| {
            let held = |rest: &Rest| -> f64 {
                rest.in_line(&network, id).iter().map(|water| water.volume.to_m3()).sum()
            };
            held(after).min(held(before))
        });
        let downspouts = (0..network.downspouts().len()).map(DownspoutId::new).map(|id| {
            let held = |rest: &Rest| {
                rest.in_downspout(&network, id).map_or(0.0, |water| water.volume.to_m3())
            };
            held(after).min(held(before))
        });
        Some(Self { lines: lines.collect(), downspouts: downspouts.collect() })
    }
}

/// So much higher than its water a tank is taken to stand whose inlet is shut: nothing runs there.
const OUT_OF_REACH: Length = Length::m(1000.0);

/// What stands in each line and in each downspout, m³.
#[derive(Clone, Debug)]
pub(super) struct Stands {
    pub(super) lines: Vec<f64>,
    pub(super) downspouts: Vec<f64>,
    /// Whether a line hangs from a shut end.
    hangs: Vec<bool>,
}

impl Stands {
    pub(super) fn new(plant: &Plant, state: &State) -> Self {
        let reaches =
            |line: &Range<usize>| line.clone().map(|reach| (&plant.reaches[reach], reach));
        let held = |line| reaches(line).map(|(reach, at)| reach.water(state.voids[at])).sum();
        let hangs = |line| reaches(line).any(|(reach, _)| reach.shut.is_some());
        Self {
            lines: plant.of_line.iter().map(held).collect(),
            downspouts: state.columns.clone(),
            hangs: plant.of_line.iter().map(hangs).collect(),
        }
    }

    /// All of it.
    pub(super) fn all(&self) -> f64 {
        self.lines.iter().chain(&self.downspouts).sum()
    }

    /// Each part with what the sags keep of it.
    fn with<'a>(&'a self, limit: &'a Limit) -> impl Iterator<Item = (f64, f64)> + 'a {
        let lines = self.lines.iter().zip(&limit.lines).zip(&self.hangs);
        let lines =
            lines.map(|((stands, kept), hangs)| (*stands, if *hangs { *stands } else { *kept }));
        let downspouts = self.downspouts.iter().copied().zip(limit.downspouts.iter().copied());
        lines.chain(downspouts)
    }

    /// The same where all that the sags do not keep has gone.
    pub(super) fn settled(self, limit: &Limit) -> Self {
        let kept: Vec<f64> = self.with(limit).map(|(stands, kept)| stands.min(kept)).collect();
        let (lines, downspouts) = kept.split_at(self.lines.len());
        Self { lines: lines.to_vec(), downspouts: downspouts.to_vec(), ..self }
    }
}
