//! One tank: the level it takes for what it receives, and what its overflow lets go below the rim.

use crate::laws::critical;

/// A tank prepared for solving.
#[derive(Clone, Debug)]
pub(crate) struct TankModel {
    /// Level of the overflow where the tank stands full, else `None`.
    pub(crate) full_m: Option<f64>,
    /// The overflow's pipe.
    pub(crate) pipe: Option<OverflowPipe>,
    /// The tank it overflows into.
    pub(crate) to: Option<usize>,
    /// The top of the wall; infinite where none is shown.
    pub(crate) rim_m: f64,
}

/// The bore and the entrance loss of an overflow's pipe.
#[derive(Clone, Copy, Debug)]
pub(crate) struct OverflowPipe {
    pub(crate) bore_m: f64,
    pub(crate) k: f64,
}

impl TankModel {
    /// The level of a full tank that receives this much, the water where it overflows into standing
    /// at `beyond`; `None` where the tank does not stand full.
    pub(crate) fn level(&self, received: f64, beyond: Option<f64>) -> Option<f64> {
        Some(self.unwalled(received, beyond)?.min(self.rim_m))
    }

    /// The same with a wall of any height.
    fn unwalled(&self, received: f64, beyond: Option<f64>) -> Option<f64> {
        let full_m = self.full_m?;
        let received = received.max(0.0);
        let Some(pipe) = self.pipe else { return Some(full_m.max(or_none(beyond))) };
        let free_m = full_m + critical::overflow_head(pipe.bore_m, pipe.k, received).0;
        let across_m = critical::drowned_overflow_head(pipe.bore_m, pipe.k, received);
        let drowned_m = or_none(beyond) + across_m;
        Some(free_m.max(drowned_m))
    }

    /// What a full tank that receives this much lets go by its overflow into the ground, or by its
    /// overflow's pipe into a tank whose water stands at `beyond`; the rest runs over its rim.
    pub(crate) fn overflows(&self, received: f64, beyond: Option<f64>) -> f64 {
        let received = received.max(0.0);
        match self.unwalled(received, beyond) {
            None => 0.0,
            Some(level_m) if level_m <= self.rim_m => received,
            Some(_) if self.pipe.is_none() => 0.0,
            Some(_) => self.passes(self.rim_m, beyond).min(received),
        }
    }

    /// The same into another tank without a pipe. The two waters stand level then, so it is no more
    /// than that tank can take besides `other` before it stands at this one's rim.
    pub(crate) fn joins(&self, received: f64, next: &Self, other: f64, past: Option<f64>) -> f64 {
        let received = received.max(0.0);
        let Some(full_m) = self.full_m else { return 0.0 };
        let Some(base_m) = next.full_m.map(|next_m| next_m.max(or_none(past)).min(next.rim_m))
        else {
            return self.overflows(received, None);
        };
        if full_m.max(base_m) > self.rim_m {
            0.0
        } else if next.rim_m <= self.rim_m {
            received
        } else {
            (next.passes(self.rim_m, past) - other).max(0.0).min(received)
        }
    }

    /// What the overflow's pipe lets go at a level of the tank; any flow where it has none.
    pub(crate) fn passes(&self, level_m: f64, beyond: Option<f64>) -> f64 {
        let (Some(full_m), Some(pipe)) = (self.full_m, self.pipe) else { return f64::INFINITY };
        let free = critical::overflow_flow(pipe.bore_m, pipe.k, level_m - full_m).0;
        let across_m = level_m - or_none(beyond);
        free.min(critical::drowned_overflow_flow(pipe.bore_m, pipe.k, across_m))
    }

    /// Whether what it or another tank receives can move its level.
    pub(crate) fn moves(&self) -> bool {
        self.pipe.is_some() || self.to.is_some()
    }

    /// The lowest and the highest level that a full tank can take.
    pub(crate) fn bounds(&self) -> Option<[f64; 2]> {
        Some([self.full_m?.min(self.rim_m), self.rim_m])
    }
}

fn or_none(level_m: Option<f64>) -> f64 {
    level_m.unwrap_or(f64::NEG_INFINITY)
}
