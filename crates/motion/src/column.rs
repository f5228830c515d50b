//! The column in a downspout: a surface that rises and falls in its bore and its gutter.
//!
//! All levels are above the plant's reference; flow is positive down to the foot.

use crate::film::Weir;
use crate::gutter::Gutter;
use crate::reach::LAST_STEP;
use wetrun_solver::laws::G;
use wetrun_solver::laws::pipe::PipeLaw;
use wetrun_units::Flow;

/// A downspout.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    pub(crate) law: PipeLaw,
    pub(crate) weir: Weir<PipeLaw>,
    pub(crate) area_m2: f64,
    pub(crate) foot: f64,
    /// The gutter's floor, where its plan area begins to count.
    pub(crate) outlet: f64,
    /// The level that water never passes.
    pub(crate) lip: f64,
    pub(crate) gutter: Option<Gutter>,
    /// Head lost in fittings over the square of the flow, s²/m⁵.
    pub(crate) fitting: f64,
    /// What stands in it up to the lip, m³.
    pub(crate) full: f64,
}

/// A column at the end of a stage.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Stood {
    pub(crate) level: f64,
    pub(crate) flow: f64,
    /// The head at the foot that this goes with.
    pub(crate) foot: f64,
    pub(crate) spill: f64,
    pub(crate) volume: f64,
    /// Derivative of the flow by the head at the foot: 0 or less.
    pub(crate) slope: f64,
    /// How the head answers to the flow, and the area of the surface.
    pub(crate) resistance: f64,
    pub(crate) surface: f64,
}

/// What is left of the head over a flow's needs, and how that falls as the flow grows.
struct Over {
    value: f64,
    slope: f64,
    level: f64,
    by_flow: f64,
    surface: f64,
}

/// What a stage asks of a column.
struct Asked {
    foot: f64,
    volume: f64,
    past: f64,
    delta: f64,
}

/// Keeps a downspout of no length from being a connection of no loss, m of head for each m³/s.
const LEAST: f64 = 1e-9;

impl Column {
    /// Volume below a level, and the area of the surface.
    pub(crate) fn volume(&self, level: f64) -> (f64, f64) {
        let bore = self.area_m2 * (level - self.foot);
        match &self.gutter {
            Some(gutter) if level > self.outlet => {
                let (volume, area) = gutter.store(level - self.outlet);
                (bore + volume, self.area_m2 + area)
            }
            _ => (bore, self.area_m2),
        }
    }

    /// The level of a volume, and the area of the surface; carried on evenly beyond foot and lip.
    fn level(&self, volume: f64, near: f64) -> (f64, f64) {
        let bore = self.foot + volume / self.area_m2;
        let Some(gutter) = self.gutter.as_ref().filter(|_| bore > self.outlet) else {
            return (bore, self.area_m2);
        };
        // Over the outlet the section grows with the depth: Newton's steps, held by a bracket.
        let over = volume - self.area_m2 * (self.outlet - self.foot);
        let (mut low, mut high) = (0.0, over / self.area_m2);
        let mut depth = (near - self.outlet).max(low).min(high);
        let mut surface = self.area_m2;
        for _ in 0..100 {
            let (stored, plan) = gutter.store(depth);
            let miss = self.area_m2 * depth + stored - over;
            surface = self.area_m2 + plan;
            if miss > 0.0 {
                high = depth;
            } else {
                low = depth;
            }
            let newton = depth - miss / surface;
            let next = if newton >= low && newton <= high { newton } else { 0.5 * (low + high) };
            let still = (next - depth).abs() <= 2.0 * f64::EPSILON * (depth + 1e-3);
            depth = next;
            if still {
                break;
            }
        }
        (self.outlet + depth, surface)
    }

    /// Friction for each metre of water, and its derivative by the flow.
    fn friction(&self, flow: f64) -> (f64, f64) {
        let (per_m, slope) = self.law.gradient(Flow::m3_per_s(flow.abs()));
        (per_m.copysign(flow), slope)
    }

    /// Head lost in fittings, and its derivative by the flow.
    fn fittings(&self, flow: f64) -> (f64, f64) {
        let size = flow.abs();
        let head = self.fitting * size * size + LEAST * size;
        (head.copysign(flow), 2.0 * self.fitting * size + LEAST)
    }

    /// Where it stands at the end of a stage of `delta`, over a head at its foot: `volume` is what
    /// it would hold if nothing left it in the stage, `past` the flow the stage starts from; how it
    /// stood near by starts the search.
    pub(crate) fn stands(
        &self,
        foot: f64,
        volume: f64,
        past: f64,
        delta: f64,
        near: &Stood,
    ) -> Stood {
        // A foot in the open lets the column fall out of it, and nothing is drawn into it.
        let asked = Asked { foot: foot.max(self.foot), volume, past, delta };
        let stood = Stood { foot: asked.foot, ..self.driven(&asked, near) };
        if stood.flow >= 0.0 {
            return stood;
        }
        let (most, d_most) = self.weir.flow(foot - self.foot);
        if stood.flow >= -most {
            return stood;
        }
        let flow = -most;
        let spill = ((volume - self.full) / delta - flow).max(0.0);
        let held = volume - delta * (flow + spill);
        let (level, surface) = self.level(held, near.level);
        Stood { level, flow, spill, volume: held, slope: -d_most, surface, ..stood }
    }

    /// What is left of the head at a flow: it falls as the flow grows.
    fn over(&self, asked: &Asked, flow: f64, near_level: f64) -> Over {
        let delta = asked.delta;
        let inertance = 1.0 / (G * self.area_m2 * delta);
        let (level, surface) = self.level(asked.volume - delta * flow, near_level);
        let wet = (level - self.foot).max(0.0);
        let (per_m, d_per_m) = self.friction(flow);
        let (fittings, d_fittings) = self.fittings(flow);
        let inertia = inertance * (flow - asked.past);
        let by_flow = d_per_m * wet + d_fittings + wet * inertance;
        let falls = delta / surface;
        let slope = falls * (1.0 - inertia - per_m) + by_flow;
        let value = level - asked.foot - per_m * wet - fittings - wet * inertia;
        Over { value, slope: slope.max(0.25 * by_flow), level, by_flow, surface }
    }

    /// Where the foot's head alone decides.
    fn driven(&self, asked: &Asked, near: &Stood) -> Stood {
        if near.spill > 0.0 {
            let stood = self.at_the_lip(asked, near.flow);
            if stood.spill > 0.0 {
                return stood;
            }
        }
        let &Asked { foot, volume, past, delta } = asked;
        let noise = 4.0 * f64::EPSILON * (foot.abs() + self.lip.abs() + 1e-3);
        let (mut low, mut high) = ((volume - self.full) / delta, volume / delta);
        let within = |flow: f64, low: f64, high: f64| flow > low && flow < high;
        // A root within tells that neither lip nor foot is reached: these are looked at only where
        // the way to it leads out.
        let (mut below_lip, mut above_foot) = (false, false);
        let mut flow = near.flow + near.slope * (foot - near.foot);
        if !within(flow, low, high) {
            flow = past.max(low).min(high);
        }
        let mut now = self.over(asked, flow, near.level);
        for _ in 0..80 {
            // Heads and flow are told to their last digits.
            if now.value.abs() <= noise.max(4.0 * f64::EPSILON * flow.abs() * now.slope) {
                break;
            }
            if now.value > 0.0 {
                low = flow;
            } else {
                high = flow;
            }
            let newton = flow + now.value / now.slope;
            let next = if within(newton, low, high) {
                newton
            } else {
                if newton <= low && !below_lip {
                    if self.over(asked, low, near.level).value < 0.0 {
                        return self.at_the_lip(asked, low);
                    }
                    below_lip = true;
                }
                if newton >= high && !above_foot {
                    let at = self.over(asked, high, near.level);
                    if at.value >= 0.0 {
                        return self.run_out(high, &at);
                    }
                    above_foot = true;
                }
                0.5 * (low + high)
            };
            let step = (next - flow).abs();
            flow = next;
            if next == newton && step <= LAST_STEP * flow.abs() {
                (now.level, now.surface) = self.level(volume - delta * flow, near.level);
                break;
            }
            now = self.over(asked, flow, near.level);
        }
        Stood {
            level: now.level,
            flow,
            volume: volume - delta * flow,
            slope: -1.0 / now.slope,
            resistance: now.by_flow,
            surface: now.surface,
            ..Stood::default()
        }
    }

    /// All of it leaves.
    fn run_out(&self, flow: f64, at: &Over) -> Stood {
        Stood {
            level: self.foot,
            flow,
            resistance: at.by_flow,
            surface: self.area_m2,
            ..Stood::default()
        }
    }

    /// At the lip the head decides what goes down; the rest spills.
    fn at_the_lip(&self, asked: &Asked, near: f64) -> Stood {
        let &Asked { foot, volume, past, delta } = asked;
        let wet = self.lip - self.foot;
        let inertance = wet / (G * self.area_m2 * delta);
        let miss = |flow: f64| {
            let (per_m, d_per_m) = self.friction(flow);
            let (fittings, d_fittings) = self.fittings(flow);
            let head = per_m * wet + fittings + inertance * (flow - past);
            (self.lip - foot - head, d_per_m * wet + d_fittings + inertance)
        };
        let noise = 4.0 * f64::EPSILON * (foot.abs() + self.lip.abs());
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut flow = near;
        let mut now = miss(flow);
        for _ in 0..80 {
            if now.0.abs() <= noise.max(4.0 * f64::EPSILON * flow.abs() * now.1) {
                break;
            }
            if now.0 > 0.0 {
                low = flow;
            } else {
                high = flow;
            }
            let newton = flow + now.0 / now.1;
            let mut next = newton;
            if !(next > low && next < high) && low.is_finite() && high.is_finite() {
                next = 0.5 * (low + high);
            }
            let step = (next - flow).abs();
            flow = next;
            if next == newton && step <= LAST_STEP * flow.abs() {
                break;
            }
            now = miss(flow);
        }
        let spill = ((volume - self.full) / delta - flow).max(0.0);
        let (_, surface) = self.volume(self.lip);
        Stood {
            level: self.lip,
            flow,
            spill,
            volume: volume - delta * (flow + spill),
            slope: -1.0 / now.1,
            resistance: now.1,
            surface,
            ..Stood::default()
        }
    }
}
