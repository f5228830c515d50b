//! One buried line: the head its upstream end must have for a flow, and the flow that two heads drive.

use crate::laws::critical;
use crate::laws::friction::Friction;
use crate::laws::friction::G as GRAVITY;
use smallvec::SmallVec;

/// What a line's end is joined to, in the solver's numbering.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Joint {
    /// A downspout's foot or a point: an unknown head.
    Node(usize),
    /// A tank: a boundary.
    Tank(usize),
}

/// A station of the profile: distance from the start and invert above the reference level.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Invert {
    pub(crate) at_m: f64,
    pub(crate) level_m: f64,
}

/// A line prepared for solving.
#[derive(Clone, Debug)]
pub(crate) struct LineModel {
    pub(crate) ends: [Joint; 2],
    pub(crate) friction: Friction,
    pub(crate) bore_m: f64,
    pub(crate) length_m: f64,
    /// Head lost in fittings over the square of the flow, s²/m⁵.
    pub(crate) fitting_s2_m5: f64,
    pub(crate) inverts: SmallVec<[Invert; 2]>,
}

/// What a line meets at one of its ends.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Far {
    /// A node of this head (an offset of a wye or tee included).
    Node(f64),
    /// A tank with this water level, or none where the water is below every inlet.
    Tank(Option<f64>),
}

/// The head at the upstream end of a line for one flow, and how it moves.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rise {
    /// Total head at the upstream end.
    pub(crate) head_m: f64,
    /// Total head in the line at its downstream end.
    pub(crate) end_head_m: f64,
    /// Derivative of the head with respect to the flow.
    pub(crate) d_flow: f64,
    /// Derivative with respect to the far node's head or the far tank's level: 1, or 0 where
    /// an outfall or a crest stands between.
    pub(crate) d_far: f64,
    /// Friction per metre of full pipe.
    pub(crate) friction_per_m: f64,
    /// Length of the stretches that run full.
    pub(crate) full_m: f64,
    /// Whether an invert stands above what comes from downstream.
    pub(crate) broken: bool,
}

/// A flow through a line and how it answers to the two ends.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Through {
    /// Flow, positive from the first end to the second.
    pub(crate) flow: f64,
    /// Derivatives with respect to what stands at the first and the second end.
    pub(crate) d_end: [f64; 2],
}

impl LineModel {
    /// Invert at an end.
    pub(crate) fn end_level(&self, side: usize) -> f64 {
        let station = if side == 0 { self.inverts.first() } else { self.inverts.last() };
        station.map_or(0.0, |s| s.level_m)
    }

    /// The head at the tank end of the line when `flow` runs into the tank, with its
    /// derivatives by the flow and by the water level.
    fn outfall(&self, side: usize, flow: f64, water: Option<f64>) -> (f64, f64, f64) {
        let fall = critical::energy(self.bore_m, flow);
        let free = self.end_level(side) + fall.energy_m;
        if let Some(level) = water {
            let per_flow2 = 0.5 / (GRAVITY * self.friction.area_m2() * self.friction.area_m2());
            let submerged = level + per_flow2 * flow * flow;
            if submerged >= free {
                return (submerged, 2.0 * per_flow2 * flow, 1.0);
            }
        }
        (free, fall.d_energy_d_flow, 0.0)
    }

    /// Climbs from the downstream end to the upstream end against `flow` (not negative),
    /// which runs from end `from` to the other.
    pub(crate) fn rise(&self, flow: f64, from: usize, far: Far) -> Rise {
        let to = 1 - from;
        let (friction_per_m, d_slope) = self.friction.slope(flow);
        let per_m = self.fitting_s2_m5 / self.length_m;
        let slope = friction_per_m + per_m * flow * flow;
        let d_slope = d_slope + 2.0 * per_m * flow;
        // Critical energy never exceeds that of the full bore: a cheap bound that spares most evaluations.
        let speed = flow / self.friction.area_m2();
        let energy_bound = self.bore_m + speed * speed / (2.0 * GRAVITY);

        let mut out = Rise {
            head_m: 0.0,
            end_head_m: 0.0,
            d_flow: 0.0,
            d_far: 1.0,
            friction_per_m,
            full_m: self.length_m,
            broken: false,
        };
        let crest = |head: &mut f64, d_flow: &mut f64, d_far: &mut f64, level: f64| {
            if *head >= level + energy_bound {
                return false;
            }
            let fall = critical::energy(self.bore_m, flow);
            let over = level + fall.energy_m;
            let breaks = over > *head;
            if breaks {
                (*head, *d_flow, *d_far) = (over, fall.d_energy_d_flow, 0.0);
            }
            breaks
        };
        let (mut head, mut d_flow, mut d_far) = match far {
            Far::Node(head) => (head, 0.0, 1.0),
            Far::Tank(water) => self.outfall(to, flow, water),
        };
        if matches!(far, Far::Node(_)) {
            out.broken |= crest(&mut head, &mut d_flow, &mut d_far, self.end_level(to));
        }
        out.end_head_m = head;
        let last = self.inverts.len() - 1;
        let place = |i: usize| if from == 0 { last - i } else { i };
        for i in 1..=last {
            let (below, here) = (&self.inverts[place(i - 1)], &self.inverts[place(i)]);
            let stretch_m = (here.at_m - below.at_m).abs();
            head += slope * stretch_m;
            d_flow += d_slope * stretch_m;
            if i == last && matches!(self.ends[from], Joint::Tank(_)) {
                break;
            }
            if crest(&mut head, &mut d_flow, &mut d_far, here.level_m) {
                out.broken = true;
                out.full_m -= stretch_m;
            }
        }
        Rise { head_m: head, d_flow, d_far, ..out }
    }

    /// The head above which a source at end `from` starts to drive water to the other end.
    pub(crate) fn threshold(&self, from: usize, far: Far) -> f64 {
        let to = 1 - from;
        let mut head = match far {
            Far::Node(head) => head,
            Far::Tank(water) => self.end_level(to).max(water.unwrap_or(f64::NEG_INFINITY)),
        };
        let last = self.inverts.len() - 1;
        for (i, station) in self.inverts.iter().enumerate() {
            let end = if i == 0 {
                Some(0)
            } else if i == last {
                Some(1)
            } else {
                None
            };
            if !end.is_some_and(|side| matches!(self.ends[side], Joint::Tank(_))) {
                head = head.max(station.level_m);
            }
        }
        head
    }

    /// The most that a tank with this water can feed into the line at `side`, and its derivative
    /// by the water's level.
    pub(crate) fn feed_limit(&self, side: usize, water: Option<f64>) -> (f64, f64) {
        let depth = water.map_or(0.0, |w| w - self.end_level(side));
        critical::flow_at_energy(self.bore_m, depth)
    }

    /// The flow that what stands at the two ends drives, started from a near flow.
    pub(crate) fn through(&self, ends: [Far; 2], near: f64) -> Through {
        for from in [0, 1] {
            let (source, (limit, d_limit)) = match ends[from] {
                Far::Node(head) => (head, (f64::INFINITY, 0.0)),
                Far::Tank(None) => continue,
                Far::Tank(Some(level)) => (level, self.feed_limit(from, Some(level))),
            };
            let far = ends[1 - from];
            if limit <= 0.0 || source <= self.threshold(from, far) {
                continue;
            }
            let sign = if from == 0 { 1.0 } else { -1.0 };
            let start = (sign * near).max(0.0);
            let (flow, rise) = self.driven(source, from, far, start, limit);
            let mut d_end = [0.0; 2];
            if flow >= limit * (1.0 - 4.0 * f64::EPSILON) {
                d_end[from] = sign * d_limit;
                return Through { flow: sign * limit, d_end };
            }
            let conductance = 1.0 / rise.d_flow.max(MIN_RESISTANCE);
            d_end[from] = sign * conductance;
            d_end[1 - from] = -sign * conductance * rise.d_far;
            return Through { flow: sign * flow, d_end };
        }
        Through::default()
    }

    /// The flow at which the rise reaches `source`. In the square root of the flow the rise is
    /// convex, so Newton's steps come down to the root from above; a bracket guards them.
    fn driven(&self, source: f64, from: usize, far: Far, near: f64, limit: f64) -> (f64, Rise) {
        // A start far below the root would throw the first step far above it.
        let fall = source - self.threshold(from, far);
        let rough =
            (fall / rough_resistance(self.fitting_s2_m5, self.length_m, self.bore_m)).sqrt();
        let guess = near.max(0.05 * rough).min(20.0 * rough);
        let mut root = guess.min(limit).sqrt();
        let (mut low, mut high) = (0.0_f64, limit.sqrt());
        let mut rise = self.rise(root * root, from, far);
        // Heads are known to their last digit and no better.
        let noise = 4.0 * f64::EPSILON * source.abs().max(self.bore_m);
        for _ in 0..60 {
            let miss = rise.head_m - source;
            if miss.abs() <= noise {
                break;
            }
            if miss > 0.0 {
                high = high.min(root);
            } else {
                low = low.max(root);
                if root >= high {
                    break; // even the limit's rise stays below the source
                }
            }
            let slope = 2.0 * root * rise.d_flow;
            let step = -miss / slope;
            let mut next = root + step;
            if !next.is_finite() || next <= low || next >= high {
                next = if high.is_finite() { 0.5 * (low + high) } else { root * 4.0 + 1e-9 };
                if miss < 0.0 && root + step >= high {
                    next = high;
                }
            }
            let moved = (next - root).abs();
            root = next;
            rise = self.rise(root * root, from, far);
            if moved <= 2.0 * f64::EPSILON * root {
                break;
            }
        }
        (root * root, rise)
    }
}

/// Head over the square of the flow of a full pipe, s²/m⁵, for a friction factor of 0.02: good
/// enough to start from.
pub(crate) fn rough_resistance(fitting_s2_m5: f64, length_m: f64, bore_m: f64) -> f64 {
    let area_m2 = std::f64::consts::FRAC_PI_4 * bore_m * bore_m;
    fitting_s2_m5 + (1.0 + 0.02 * length_m / bore_m) / (2.0 * GRAVITY * area_m2 * area_m2)
}

/// Floor of a line's resistance, m of head per m³/s: keeps a still line's conductance finite.
pub(crate) const MIN_RESISTANCE: f64 = 1e-9;
