//! A reach of a line between two crests: one rigid column of water, each end of it joined to what
//! lies beyond or gone back into the pipe.
//!
//! All levels are above the plant's reference, flows positive from the first end to the second.

use crate::bed::Bed;
use crate::film::Weir;
use crate::part_full::PartFull;
use core::cell::Cell;
use wetrun_solver::laws::G;
use wetrun_solver::laws::pipe::PipeLaw;
use wetrun_units::Flow;

/// What a reach's end meets, by its place among the unknown heads and levels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Outer {
    /// A node.
    Node(usize),
    /// A tank, by its own number.
    Tank(usize),
}

/// A reach.
#[derive(Clone, Debug)]
pub(crate) struct Reach {
    pub(crate) ends: [Outer; 2],
    pub(crate) law: PipeLaw,
    pub(crate) weir: Weir<PipeLaw>,
    pub(crate) area_m2: f64,
    pub(crate) bore_m: f64,
    pub(crate) length_m: f64,
    /// Head lost in fittings over the square of the flow for each metre, s²/m⁶.
    pub(crate) fitting_per_m: f64,
    /// The bed as seen from either end.
    pub(crate) beds: [Bed; 2],
    /// Velocity head over the square of the flow, s²/m⁵.
    pub(crate) per_flow2: f64,
    /// An end that is shut: the water hangs from it.
    pub(crate) shut: Option<usize>,
    /// The law of what is left where the surface goes back from an end to run empty at the other.
    pub(crate) runs_empty: [Option<PartFull>; 2],
}

/// What a reach starts a stage from, its own history folded in.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Past {
    pub(crate) flow: f64,
    /// Water missing at either end, m³.
    pub(crate) void: [f64; 2],
}

/// A reach at the end of a stage.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Moved {
    /// Flow of the column.
    pub(crate) flow: f64,
    /// The heads that drive it, and its derivatives by them.
    pub(crate) outer: [f64; 2],
    pub(crate) by_outer: [f64; 2],
    /// Flow out of what lies beyond the first end, and into what lies beyond the second.
    pub(crate) passes: [f64; 2],
    pub(crate) void: [f64; 2],
    /// Derivatives of each of `passes` by the head beyond either end.
    pub(crate) slopes: [[f64; 2]; 2],
    /// How the head that the column loses answers to its flow.
    pub(crate) resistance: f64,
    /// Whether each end takes no more than falls over its invert.
    pub(crate) weir: [bool; 2],
    /// The end that takes all that what lies beyond can supply, and yet stays full.
    choked: Option<usize>,
}

/// The heads beyond both ends, with the most that they supply once that was asked for.
struct Beyond {
    heads: [f64; 2],
    most: [Cell<Option<(f64, f64)>>; 2],
}

/// One end for a flow of the column away from it.
#[derive(Clone, Copy, Debug)]
struct EndState {
    head: f64,
    by_flow: f64,
    by_outer: f64,
    /// Flow into the reach, and its derivatives.
    supply: f64,
    supply_by_flow: f64,
    supply_by_outer: f64,
    void: f64,
    apart: bool,
}

/// The head that a column needs.
struct Needs {
    head: f64,
    /// Derivative by the flow, and the part of it that is never negative.
    slope: f64,
    own: f64,
    /// Derivative by what an end that came apart takes in: the column grows by it.
    by_supply: f64,
}

/// A Newton step of so small a share of the flow leaves less than anything asks for: its square.
pub(crate) const LAST_STEP: f64 = 1e-6;
/// Volumes are told to so small a share of all that a reach holds.
const ROUNDING: f64 = 1e-13;
/// Levels closer than this are one, m.
const SAME_M: f64 = 1e-9;
/// A column shorter than this still has the inertia of so much, m.
const SHORTEST_M: f64 = 2e-3;

impl Moved {
    /// The flow that other heads would drive, in a straight line from here.
    fn foreseen(&self, outer: [f64; 2]) -> f64 {
        let more = (0..2).map(|side| self.by_outer[side] * (outer[side] - self.outer[side]));
        self.flow + more.sum::<f64>()
    }
}

impl Reach {
    /// Water in it, m³, with so much missing at its ends.
    pub(crate) fn water(&self, void: [f64; 2]) -> f64 {
        self.area_m2 * self.length_m - void[0] - void[1]
    }

    /// The higher of the surfaces of the water in it, with so much missing at its ends.
    pub(crate) fn top(&self, void: [f64; 2]) -> Option<f64> {
        let tops = [0, 1].map(|side| self.surface(side, void[side]).0);
        (self.water(void) > 0.0).then(|| tops[0].max(tops[1]))
    }

    /// Level of the surface at an end with so much missing there, and the derivative by that.
    pub(crate) fn surface(&self, side: usize, void: f64) -> (f64, f64) {
        let (level, slope) = self.beds[side].level(void / self.area_m2);
        let plug = (level, slope / self.area_m2);
        let Some(part_full) = &self.runs_empty[side] else { return plug };
        if self.invert(1 - side) + part_full.most() <= plug.0 {
            return plug;
        }
        let (head, slope) = part_full.head((self.area_m2 * self.length_m - void).max(0.0));
        let spread = self.invert(1 - side) + head;
        if spread > plug.0 { (spread, -slope) } else { plug }
    }

    /// Lets what is left run out part full, by either end that all of the reach falls to.
    pub(crate) fn run_empty(&mut self) {
        for side in [0, 1] {
            let fall = self.invert(side) - self.invert(1 - side);
            let (length, last) = self.beds[side].last();
            self.runs_empty[side] =
                (fall >= 0.0 && last <= self.invert(1 - side) + SAME_M).then(|| {
                    let from = self.beds[side].level(self.length_m - length).0;
                    let falls = from - self.invert(1 - side);
                    PartFull::new(&self.law, &self.weir, length, falls, fall)
                });
        }
    }

    /// Invert at an end.
    pub(crate) fn invert(&self, side: usize) -> f64 {
        self.beds[side].top()
    }

    /// The most that what lies beyond an end can supply, and the derivative by its head.
    fn capacity(&self, side: usize, beyond: &Beyond) -> (f64, f64) {
        let known = beyond.most[side].get();
        known.unwrap_or_else(|| {
            let most = self.weir.flow(beyond.heads[side] - self.invert(side));
            beyond.most[side].set(Some(most));
            most
        })
    }

    /// The energy above the invert with which a flow passes an end.
    pub(crate) fn energy(&self, flow: f64) -> (f64, f64) {
        self.weir.energy(flow)
    }

    /// A head above the invert that no flow's energy reaches.
    fn energy_bound(&self, flow: f64) -> f64 {
        self.bore_m + self.per_flow2 * flow * flow
    }

    /// The head in the column where `flow` leaves it at an end, by the flow and by what is beyond.
    fn leaving(&self, side: usize, flow: f64, outer: f64) -> (f64, f64, f64) {
        let invert = self.invert(side);
        let (drowned, d_drowned) = match self.ends[side] {
            Outer::Node(_) => (outer, 0.0),
            Outer::Tank(_) => (outer + self.per_flow2 * flow * flow, 2.0 * self.per_flow2 * flow),
        };
        if drowned >= invert + self.energy_bound(flow) {
            return (drowned, d_drowned, 1.0);
        }
        let (energy, d_energy) = self.energy(flow);
        if drowned >= invert + energy {
            (drowned, d_drowned, 1.0)
        } else {
            (invert + energy, d_energy, 0.0)
        }
    }

    /// An end for a flow `away` from it; `apart` decides at the very flow where both hold.
    fn end(
        &self,
        side: usize,
        away: f64,
        beyond: &Beyond,
        (past_void, delta): (f64, f64),
        prefer_apart: bool,
    ) -> EndState {
        let outer = beyond.heads[side];
        let joined = EndState {
            head: outer,
            by_flow: 0.0,
            by_outer: 1.0,
            supply: away + past_void / delta,
            supply_by_flow: 1.0,
            supply_by_outer: 0.0,
            void: 0.0,
            apart: false,
        };
        let supply = joined.supply;
        if supply < 0.0 {
            let (head, by_flow, by_outer) = self.leaving(side, -supply, outer);
            return EndState { head, by_flow: -by_flow, by_outer, ..joined };
        }
        let over = outer - self.invert(side);
        if !prefer_apart && over >= self.energy_bound(supply) {
            return joined;
        }
        let (most, d_most) = self.capacity(side, beyond);
        if over > 0.0 && (supply < most || supply == most && !prefer_apart) {
            return joined;
        }
        let void = (past_void + delta * (away - most)).max(0.0);
        let (head, slope) = self.surface(side, void);
        EndState {
            head,
            by_flow: slope * delta,
            by_outer: -slope * delta * d_most,
            supply: most,
            supply_by_flow: 0.0,
            supply_by_outer: d_most,
            void,
            apart: true,
        }
    }

    /// The head that the column needs for a flow.
    fn needs(&self, flow: f64, past: &Past, delta: f64, ends: &[EndState; 2]) -> Needs {
        let voids = ends[0].void + ends[1].void;
        let wet = self.length_m - voids / self.area_m2;
        let size = flow.abs();
        let (friction, d_friction) = self.law.gradient(Flow::m3_per_s(size));
        let loss = (friction + self.fitting_per_m * size * size).copysign(flow);
        let d_loss = d_friction + 2.0 * self.fitting_per_m * size;
        let inertance = 1.0 / (G * self.area_m2 * delta);
        let per_m = inertance * (flow - past.flow) + loss;
        let d_per_m = inertance + d_loss;
        let length = wet.max(SHORTEST_M);
        // A void grows with the flow away from it.
        let d_wet = if wet > SHORTEST_M {
            let grows = |end: &EndState, sign: f64| if end.apart { sign * delta } else { 0.0 };
            -(grows(&ends[0], 1.0) + grows(&ends[1], -1.0)) / self.area_m2
        } else {
            0.0
        };
        let by_supply = if wet > SHORTEST_M { per_m * delta / self.area_m2 } else { 0.0 };
        Needs {
            head: length * per_m,
            slope: length * d_per_m + d_wet * per_m,
            own: length * d_per_m,
            by_supply,
        }
    }

    /// Both ends at a flow.
    fn ends(
        &self,
        flow: f64,
        beyond: &Beyond,
        past: &Past,
        delta: f64,
        apart: [bool; 2],
    ) -> [EndState; 2] {
        [
            self.end(0, flow, beyond, (past.void[0], delta), apart[0]),
            self.end(1, -flow, beyond, (past.void[1], delta), apart[1]),
        ]
    }

    /// What is left of the head between the ends at a flow, and the derivative (a loss: positive).
    fn left(&self, flow: f64, beyond: &Beyond, past: &Past, delta: f64, apart: [bool; 2]) -> Tried {
        let ends = self.ends(flow, beyond, past, delta, apart);
        let needs = self.needs(flow, past, delta, &ends);
        // `by_flow` is by the flow away from each end, and never above 0.
        let resistance = needs.slope - ends[0].by_flow - ends[1].by_flow;
        Tried {
            left: ends[0].head - ends[1].head - needs.head,
            resistance: resistance.max(0.25 * needs.own),
            by_supply: needs.by_supply,
            ends,
        }
    }

    /// The flows that leave nothing in the reach by the end of a stage, out by its first end and out
    /// by its second.
    fn emptied(&self, beyond: &Beyond, past: &Past, delta: f64) -> [f64; 2] {
        let all = self.area_m2 * self.length_m;
        let by = |side: usize| {
            ((all - past.void[side]).max(0.0) / delta) + self.capacity(side, beyond).0
        };
        [-by(1), by(0)]
    }

    /// The flow that what stands beyond the two ends drives by the end of a stage; the search starts
    /// from how it moved near by.
    pub(crate) fn moves(&self, outer: [f64; 2], past: &Past, delta: f64, near: &Moved) -> Moved {
        if self.shut.is_some() {
            return Moved { void: past.void, ..Moved::default() };
        }
        let noise = 4.0 * f64::EPSILON * (outer[0].abs().max(outer[1].abs()) + self.bore_m);
        let beyond = Beyond { heads: outer, most: Default::default() };
        // A level reach that is full and dry beyond its end may rest or run: it runs.
        if near.flow == 0.0 && self.runs_empty.iter().any(Option::is_some) {
            return self.moves_surely(&beyond, past, delta, near.flow, noise);
        }
        if let Some(side) = near.choked {
            let leap = self.leap(side, &beyond, past, delta);
            if leap.holds() {
                return self.choked(side, &beyond, &leap);
            }
        }
        let mut flow = near.foreseen(outer);
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut tried = self.left(flow, &beyond, past, delta, [false; 2]);
        let first = tried.kinds();
        for _ in 0..8 {
            if tried.holds(flow, noise) {
                if !self.lasts(flow, &tried, past, delta) {
                    break;
                }
                return tried.moved(flow, outer);
            }
            if tried.left > 0.0 {
                low = flow;
            } else {
                high = flow;
            }
            let next = flow + tried.left / tried.resistance;
            if !(next > low && next < high) || next == flow {
                break;
            }
            let step = (next - flow).abs();
            if step <= LAST_STEP * next.abs() && first == [false; 2] {
                let ends = self.ends(next, &beyond, past, delta, first);
                flow = next;
                tried = Tried { ends, ..tried };
                if tried.kinds() == first {
                    return tried.moved(flow, outer);
                }
                break;
            }
            flow = next;
            tried = self.left(flow, &beyond, past, delta, [false; 2]);
            if tried.kinds() != first {
                break;
            }
            if step <= 4.0 * f64::EPSILON * next.abs() && self.lasts(flow, &tried, past, delta) {
                return tried.moved(flow, outer);
            }
        }
        self.moves_surely(&beyond, past, delta, flow, noise)
    }

    /// Whether it surely does not run out: both its ends stay joined, or less leaves than is in it.
    fn lasts(&self, flow: f64, tried: &Tried, past: &Past, delta: f64) -> bool {
        let all = self.area_m2 * self.length_m;
        tried.kinds() == [false; 2]
            || (flow > (past.void[1] - all) / delta && flow < (all - past.void[0]) / delta)
    }

    /// The same by a bracket, the leaps of the head where an end comes apart looked at first.
    fn moves_surely(
        &self,
        outer: &Beyond,
        past: &Past,
        delta: f64,
        near: f64,
        noise: f64,
    ) -> Moved {
        let [mut low, mut high] = self.emptied(outer, past, delta);
        let last = [low, high].map(|flow| self.left(flow, outer, past, delta, [false; 2]));
        if last[1].left >= 0.0 {
            return self.runs_out(1, high, outer, (past, delta), &last[1]);
        }
        if last[0].left <= 0.0 {
            return self.runs_out(0, low, outer, (past, delta), &last[0]);
        }
        for side in [0, 1] {
            let leap = self.leap(side, outer, past, delta);
            let (flow, [_, greater]) = (leap.flow, &leap.tried);
            if leap.holds() {
                return self.choked(side, outer, &leap);
            }
            if greater.left > 0.0 {
                low = low.max(flow);
            } else {
                high = high.min(flow);
            }
        }
        let mut flow = near.max(low).min(high);
        let inside = |flow: f64, low: f64, high: f64| flow > low && flow < high;
        if !inside(flow, low, high) {
            flow = 0.5 * (low + high);
        }
        let mut tried = self.left(flow, outer, past, delta, [false; 2]);
        for _ in 0..120 {
            if tried.holds(flow, noise) {
                break;
            }
            if tried.left > 0.0 {
                low = flow;
            } else {
                high = flow;
            }
            let mut next = flow + tried.left / tried.resistance;
            if !inside(next, low, high) {
                next = 0.5 * (low + high);
            }
            let still = (next - flow).abs() <= 2.0 * f64::EPSILON * flow.abs();
            flow = next;
            tried = self.left(flow, outer, past, delta, [false; 2]);
            if still {
                break;
            }
        }
        tried.moved(flow, outer.heads)
    }

    /// How the head leaps where an end comes apart.
    fn leap(&self, side: usize, outer: &Beyond, past: &Past, delta: f64) -> Leap {
        let (most, d_most) = self.capacity(side, outer);
        let away = most - past.void[side] / delta;
        let flow = if side == 0 { away } else { -away };
        let mut apart = [false; 2];
        let joined = self.left(flow, outer, past, delta, apart);
        apart[side] = true;
        let parted = self.left(flow, outer, past, delta, apart);
        // The joined end holds for lesser flows away from it.
        let tried = if side == 0 { [joined, parted] } else { [parted, joined] };
        Leap { flow, most, d_most, tried }
    }

    /// All that is in it leaves by one end, with what the other takes in. What more had left than was in
    /// it stays missing.
    fn runs_out(
        &self,
        side: usize,
        flow: f64,
        outer: &Beyond,
        (past, delta): (&Past, f64),
        tried: &Tried,
    ) -> Moved {
        let other = 1 - side;
        let (_, d_most) = self.capacity(other, outer);
        let sign = if side == 1 { 1.0 } else { -1.0 };
        let mut moved = tried.moved(flow, outer.heads);
        let all = self.area_m2 * self.length_m;
        let lacks =
            past.void[other] - all + past.void[side] + delta * (moved.passes[1] - moved.passes[0]);
        moved.void[other] = all;
        moved.void[side] = if lacks > ROUNDING * all { lacks } else { 0.0 };
        moved.slopes = [[0.0; 2]; 2];
        moved.slopes[side][other] = sign * d_most;
        moved.slopes[other][other] = sign * d_most;
        moved
    }

    /// An end that takes all that what lies beyond can supply, and yet stays full.
    fn choked(&self, side: usize, outer: &Beyond, leap: &Leap) -> Moved {
        let &Leap { flow, most, d_most, ref tried } = leap;
        let joined = &tried[side];
        let mut moved = joined.moved(flow, outer.heads);
        moved.choked = Some(side);
        let other = 1 - side;
        let sign = if side == 0 { 1.0 } else { -1.0 };
        // The flow hangs on what is beyond this end alone.
        moved.slopes = [[0.0; 2]; 2];
        moved.slopes[side][side] = sign * d_most;
        moved.passes[side] = sign * most;
        moved.void[side] = 0.0;
        let end = &joined.ends[other];
        let by_flow = end.supply_by_flow;
        moved.slopes[other][side] = by_flow * sign * d_most;
        moved.slopes[other][other] = -sign * end.supply_by_outer;
        moved.weir[side] = true;
        moved
    }
}

/// The flow at which an end comes apart, with what is left of the head just below it and just above.
struct Leap {
    flow: f64,
    /// What the end takes in there, and the derivative by the head beyond.
    most: f64,
    d_most: f64,
    tried: [Tried; 2],
}

impl Leap {
    /// Whether the reach stays at it: less would be driven on and more held back.
    fn holds(&self) -> bool {
        self.tried[0].left >= 0.0 && self.tried[1].left <= 0.0
    }
}

/// A flow tried.
#[derive(Clone, Copy, Debug)]
struct Tried {
    left: f64,
    resistance: f64,
    by_supply: f64,
    ends: [EndState; 2],
}

impl Tried {
    /// Whether nothing is left but the noise of the heads and of the flow's last digits.
    fn holds(&self, flow: f64, noise: f64) -> bool {
        self.left.abs() <= noise.max(4.0 * f64::EPSILON * flow.abs() * self.resistance)
    }

    fn kinds(&self) -> [bool; 2] {
        [self.ends[0].apart, self.ends[1].apart]
    }

    fn moved(&self, flow: f64, outer: [f64; 2]) -> Moved {
        let [a, b] = &self.ends;
        let conductance = 1.0 / self.resistance;
        let grows = |end: &EndState| end.supply_by_outer * self.by_supply;
        let by = [
            (a.by_outer - grows(a)).max(0.0) * conductance,
            -(b.by_outer + grows(b)).max(0.0) * conductance,
        ];
        Moved {
            flow,
            outer,
            by_outer: by,
            passes: [a.supply, -b.supply],
            void: [a.void, b.void],
            slopes: [
                [a.supply_by_flow * by[0] + a.supply_by_outer, a.supply_by_flow * by[1]],
                [b.supply_by_flow * by[0], b.supply_by_flow * by[1] - b.supply_by_outer],
            ],
            resistance: self.resistance,
            weir: [a.apart, b.apart],
            choked: None,
        }
    }
}

#[cfg(test)]
#[path = "../../../tests/dice.rs"]
mod dice;

#[cfg(test)]
mod tests {
    #![allow(clippy::disallowed_methods)]

    use super::dice::Dice;
    use super::*;
    use wetrun_network::Pipe;
    use wetrun_solver::FrictionLaw;
    use wetrun_units::{Length, Temperature};

    fn reach(dice: &mut Dice) -> Reach {
        let bore_m = dice.between(0.05, 0.2);
        let pipe = Pipe { inside: Length::m(bore_m), c: Some(150.0), ..Pipe::default() };
        let law = PipeLaw::new(FrictionLaw::HazenWilliams, Temperature::celsius(10.0), &pipe);
        let area_m2 = law.area().to_m2();
        let per_flow2 = 0.5 / (G * area_m2 * area_m2);
        let length_m = dice.between(0.5, 40.0);
        let mut bed = vec![(0.0, dice.between(-1.0, 1.0))];
        if dice.chance(0.4) {
            bed.push((0.5 * length_m, -1.2));
        }
        bed.push((length_m, dice.between(-1.0, 1.0)));
        let back: Vec<_> = bed.iter().rev().map(|&(at, z)| (length_m - at, z)).collect();
        let beyond = |dice: &mut Dice| {
            if dice.chance(0.7) { Outer::Node(0) } else { Outer::Tank(0) }
        };
        Reach {
            ends: [beyond(dice), beyond(dice)],
            law,
            weir: Weir::new(law),
            area_m2,
            bore_m,
            length_m,
            fitting_per_m: dice.between(0.0, 4.0) * per_flow2 / length_m,
            beds: [Bed::new(&bed), Bed::new(&back)],
            per_flow2,
            shut: None,
            runs_empty: [None, None],
        }
    }

    /// What a reach passes never falls as the water before it rises, nor rises as that behind it
    /// does; and it has no leaps: the largest of its steps, looked at ever more closely, goes to nothing.
    #[test]
    fn what_passes_follows_the_heads_evenly() {
        for seed in 0..100 {
            let mut dice = Dice::new(seed);
            let reach = reach(&mut dice);
            let all = reach.area_m2 * reach.length_m;
            let mut void = [0.0; 2];
            for void in &mut void {
                if dice.chance(0.5) {
                    *void = all * dice.between(0.0, 0.5);
                }
            }
            if dice.chance(0.1) {
                void = [0.3 * all, 0.7 * all];
            }
            let top = dice.between(-3.0, 0.0);
            let past = Past { flow: dice.between(-1.0, 1.0) * 0.02 * libm::exp(top), void };
            let delta = libm::exp(dice.between(-14.0, 6.0));
            let side = usize::from(dice.chance(0.5));
            let outer = [0, 1].map(|side| reach.invert(side) + dice.between(-0.01, 1.0).max(0.0));
            // The largest step of what passes an end, and between which heads over its invert, over so
            // many steps between two.
            let largest = |end: usize, [from, to]: [f64; 2], steps: u32| {
                let over = |k: u32| from + (to - from) * f64::from(k) / f64::from(steps);
                let passes = |k: u32| {
                    let mut outer = outer;
                    outer[side] = reach.invert(side) + over(k);
                    let near = Moved { flow: past.flow, ..Moved::default() };
                    reach.moves(outer, &past, delta, &near).passes[end]
                };
                let mut most = (0.0_f64, [from, to]);
                let mut before = passes(0);
                for k in 1..=steps {
                    let here = passes(k);
                    // Out of the end whose head rises, and into the other.
                    let rise = if side == 0 { here - before } else { before - here };
                    assert!(rise >= -1e-12 - 1e-9 * here.abs(), "{seed} end {end}: {rise:e}");
                    if rise > most.0 {
                        most = (rise, [over(k - 1), over(k)]);
                    }
                    before = here;
                }
                most
            };
            for end in 0..2 {
                let (step, mut between) = largest(end, [0.0, 2.0], 1000);
                let mut finest = step;
                // Where an end passes what falls over its invert the flow rises so steeply, within
                // less than a step, that it looks like a leap. The steepest law is a root: of a sixteenth
                // it leaves a quarter.
                for _ in 0..6 {
                    (finest, between) = largest(end, between, 16);
                }
                assert!(finest <= 1e-3 * step + 1e-10, "{seed} end {end}: {step:e} {finest:e}");
            }
        }
    }
}
