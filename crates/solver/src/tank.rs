//! One tank: the level it takes for what it receives, and what its overflow lets go below the rim.

use crate::gap::HEAD_M;
use crate::laws::critical;
use crate::line::MIN_RESISTANCE;

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
    /// What it lets go with a metre of water over it.
    under_a_metre: f64,
}

impl OverflowPipe {
    pub(crate) fn new(bore_m: f64, k: f64) -> Self {
        Self { bore_m, k, under_a_metre: critical::overflow_flow(bore_m, k, 1.0).0 }
    }
}

/// What leaves a full tank, and how that answers to its level and to that of the water beyond.
///
/// Besides its overflow a tank has a way to the ground: over the rim, and, against it, what a tank
/// that receives nothing gives to its lines without falling below its overflow.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Letting {
    pub(crate) pipe: f64,
    pub(crate) d_pipe: [f64; 2],
    pub(crate) ground: f64,
    pub(crate) d_ground: [f64; 2],
}

impl Letting {
    /// Of a tank whose level is held, whatever it receives.
    pub(crate) fn held() -> Self {
        Self { d_ground: [HELD, 0.0], ..Self::default() }
    }

    /// What of it, read as the level at the rim, runs over that.
    pub(crate) fn over(&self, level_change_m: f64, beyond_change_m: f64) -> f64 {
        self.d_ground[0] * level_change_m + self.d_ground[1] * beyond_change_m
    }
}

/// An overflow's pipe that lets go less than this share of the scale with a metre of water over it is
/// clogged.
const CLOGGED: f64 = 1e-6;

/// How much a level that is held lets go for each metre that it is moved.
const HELD: f64 = 1.0 / MIN_RESISTANCE;

impl TankModel {
    /// The level of a full tank that receives this much, the water where it overflows into standing
    /// at `beyond`; `None` where the tank does not stand full.
    pub(crate) fn level(&self, received: f64, beyond: Option<f64>) -> Option<f64> {
        Some(self.unwalled(received, beyond)?.min(self.rim_m))
    }

    /// The level below which a full tank does not fall, and whether the water beyond says so.
    fn lowest(&self, beyond: Option<f64>) -> Option<(f64, bool)> {
        let full_m = self.full_m?;
        let backed = or_none(beyond) > full_m && or_none(beyond) < self.rim_m;
        Some((full_m.max(or_none(beyond)).min(self.rim_m), backed))
    }

    /// The level nearest to this one that the tank can take.
    pub(crate) fn within(&self, level_m: f64, beyond: Option<f64>) -> f64 {
        self.lowest(beyond).map_or(level_m, |(lowest_m, _)| level_m.max(lowest_m).min(self.rim_m))
    }

    /// What leaves by the overflow's pipe at a level, read off that level; at its lowest and at the
    /// rim, as closely as heads are told, the ground gives or takes what else it needs.
    pub(crate) fn by_level(&self, level_m: f64, received: f64, beyond: Option<f64>) -> Letting {
        let (Some((lowest_m, backed)), Some(full_m), Some(pipe)) =
            (self.lowest(beyond), self.full_m, self.pipe)
        else {
            return Letting::default();
        };
        let mut out = Letting::default();
        let across_m = level_m - or_none(beyond);
        let drowned = critical::drowned_overflow_flow(pipe.bore_m, pipe.k, across_m);
        let free = critical::overflow_flow(pipe.bore_m, pipe.k, level_m - full_m);
        (out.pipe, out.d_pipe) = if free.0 <= drowned {
            (free.0, [free.1, 0.0])
        } else {
            let slope = (0.5 * drowned / across_m).min(HELD);
            (drowned, [slope, -slope])
        };
        if level_m <= lowest_m + HEAD_M && received <= out.pipe {
            out.ground = received - out.pipe;
            out.d_ground = [HELD, if backed { -HELD } else { 0.0 }];
        } else if level_m >= self.rim_m - HEAD_M && received >= out.pipe {
            out.ground = received - out.pipe;
            out.d_ground = [HELD, 0.0];
        }
        out
    }

    /// What leaves a tank that receives this much and lets `overflow` of it go by its pipe, as a
    /// straight line of its level: the level that this asks for is met where the line is followed.
    /// What is received below `trickle` answers as that does.
    pub(crate) fn by_flow(
        &self,
        level_m: f64,
        received: f64,
        overflow: f64,
        beyond: Option<f64>,
        trickle: f64,
    ) -> Letting {
        let Some((lowest_m, backed)) = self.lowest(beyond) else { return Letting::default() };
        let mut out = Letting::default();
        // A level well above where a tank that receives nothing stands says that it will receive.
        let by_bore = self.pipe.map_or(0.0, |pipe| {
            critical::overflow_flow(pipe.bore_m, pipe.k, pipe.bore_m).0 / pipe.bore_m
        });
        if received <= 0.0 && received + by_bore * (level_m - lowest_m) > 0.0 {
            return self.by_level(level_m, received, beyond);
        }
        if received <= 0.0 {
            out.ground = received + HELD * (level_m - lowest_m);
            out.d_ground = [HELD, if backed { -HELD } else { 0.0 }];
            return out;
        }
        let asks_m = self.unwalled(received, beyond).unwrap_or(lowest_m);
        let drowned = self.pipe.is_none_or(|pipe| {
            let across_m = critical::drowned_overflow_head(pipe.bore_m, pipe.k, received);
            or_none(beyond) + across_m >= asks_m
        }) && or_none(beyond) >= self.full_m.unwrap_or(f64::INFINITY);
        // Where two waters stand level at the rim, what passes says more than a last digit of them.
        let over_rim = if self.pipe.is_some() { asks_m > self.rim_m } else { overflow < received };
        if over_rim {
            out.pipe = overflow;
            let across_m = self.rim_m - or_none(beyond);
            // What rules there is told by the rim, not by all that is received.
            if across_m > 0.0 && self.pipe.is_some() && overflow < self.passes(self.rim_m, None) {
                let slope = (0.5 * overflow / across_m).min(HELD);
                out.pipe += slope * (level_m - self.rim_m);
                out.d_pipe = [slope, -slope];
            }
            let open = self.full_m.is_some_and(|full_m| full_m <= self.rim_m)
                && (overflow > 0.0 || level_m > or_none(beyond));
            if self.pipe.is_none() && open {
                out.pipe += HELD * (level_m - or_none(beyond));
                out.d_pipe = [HELD, -HELD];
            }
            out.ground = received - overflow + HELD * (level_m - self.rim_m);
            out.d_ground = [HELD, 0.0];
            return out;
        }
        let much = received.max(trickle);
        let resistance = self.pipe.map_or(0.0, |pipe| {
            if drowned {
                2.0 * critical::drowned_overflow_head(pipe.bore_m, pipe.k, much) / much
            } else {
                critical::overflow_head(pipe.bore_m, pipe.k, much).1
            }
        });
        let conductance = 1.0 / resistance.max(MIN_RESISTANCE);
        out.pipe = received + conductance * (level_m - asks_m);
        out.d_pipe = [conductance, if drowned { -conductance } else { 0.0 }];
        out
    }

    /// The level with a wall of any height.
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

    /// Whether what its overflow lets pass tells nothing of its level, so that the lines do.
    pub(crate) fn is_clogged(&self, scale: f64) -> bool {
        self.pipe.is_some_and(|pipe| pipe.under_a_metre <= CLOGGED * scale)
    }

    /// Whether what it or another tank receives can move its level.
    pub(crate) fn moves(&self) -> bool {
        self.pipe.is_some() || self.to.is_some()
    }
}

fn or_none(level_m: Option<f64>) -> f64 {
    level_m.unwrap_or(f64::NEG_INFINITY)
}
