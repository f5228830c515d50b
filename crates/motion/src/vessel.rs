//! A tank in motion: a level pool, its overflow, its rim.

use crate::film::Weir;
use wetrun_solver::laws::pipe::OverflowLaw;

/// A tank. Levels are above the plant's reference.
#[derive(Clone, Debug)]
pub(crate) struct Vessel {
    /// Floor and plan area where it stores; `None` where it passes on at once what it receives.
    pub(crate) store: Option<Store>,
    /// Whether it has a level of its own: it stores, or stands full.
    pub(crate) stands: bool,
    pub(crate) overflow: f64,
    pub(crate) pipe: Option<Weir<OverflowLaw>>,
    pub(crate) to: Option<usize>,
    /// Whether the tank it runs to stores water that may come back.
    pub(crate) comes_back: bool,
    pub(crate) rim: f64,
}

/// What a tank stores.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Store {
    pub(crate) floor: f64,
    pub(crate) area_m2: f64,
    /// Up to the overflow.
    pub(crate) volume_m3: f64,
}

impl Store {
    pub(crate) fn level(&self, volume: f64) -> f64 {
        self.floor + volume / self.area_m2
    }

    pub(crate) fn volume(&self, level: f64) -> f64 {
        (level - self.floor) * self.area_m2
    }
}

/// Between waters closer than this the drowned overflow answers evenly, m.
const CLOSE: f64 = 1e-6;
/// What passes between two waters that an overflow without a pipe joins, m³/s for each metre.
const OPEN: f64 = 1e4;

impl Vessel {
    /// A level that water is never above: the rim, or the overflow where water leaves it at once.
    pub(crate) fn ceiling(&self) -> f64 {
        if self.spills_at_once() { self.overflow.min(self.rim) } else { self.rim }
    }

    /// Whether all above the overflow leaves the site at once.
    pub(crate) fn spills_at_once(&self) -> bool {
        self.pipe.is_none() && self.to.is_none()
    }

    /// What runs over into the next tank, whose water stands at `beyond`, or to the ground; and the
    /// derivatives by either level. Water comes back where it stands higher beyond, of a tank that has
    /// any: one that passes on at once what it receives has none to give.
    pub(crate) fn lets(&self, level: f64, beyond: Option<f64>) -> (f64, f64, f64) {
        let beyond = beyond.unwrap_or(f64::NEG_INFINITY);
        let top = level.max(beyond);
        if top <= self.overflow || (beyond > level && !self.comes_back) {
            return (0.0, 0.0, 0.0);
        }
        let Some(pipe) = &self.pipe else {
            if self.to.is_none() {
                return (0.0, 0.0, 0.0); // the ceiling sees to it
            }
            let held = |level: f64| if level > self.overflow { OPEN } else { 0.0 };
            let flow = OPEN * (level.max(self.overflow) - beyond.max(self.overflow));
            return (flow, held(level), -held(beyond));
        };
        let across = (level - beyond).abs();
        let (free, d_free) = pipe.free(top - self.overflow);
        let (drowned, d_drowned) = if across < CLOSE {
            let chord = pipe.drowned(CLOSE).0 / CLOSE;
            (chord * across, chord)
        } else {
            pipe.drowned(across)
        };
        match (free <= drowned, level >= beyond) {
            (true, true) => (free, d_free, 0.0),
            (true, false) => (-free, 0.0, -d_free),
            (false, true) => (drowned, d_drowned, -d_drowned),
            (false, false) => (-drowned, d_drowned, -d_drowned),
        }
    }
}
