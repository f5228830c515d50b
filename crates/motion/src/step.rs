//! One step in time: a trapezoid to an inner moment, then a backward difference to the end.
//!
//! TR-BDF2 (R. E. Bank and others, 1985; with the error estimate of M. E. Hosea and L. F. Shampine,
//! 1996; from memory): of second order, and it damps what is faster than the step. Stored volumes
//! are what is integrated, so that water is kept to the last digits of each stage, whatever the step.

use crate::plant::Plant;
use crate::record::highest;
use crate::runoff::Runoff;
use crate::stage::{self, Base, Found};
use crate::state::State;
use core::f64::consts::{FRAC_1_SQRT_2, SQRT_2};
use wetrun_solver::laws::G;

/// The inner moment, as a share of the step.
pub(crate) const INNER: f64 = 2.0 - SQRT_2;
/// Weight of the stage at hand.
pub(crate) const OWN: f64 = 1.0 - FRAC_1_SQRT_2;
/// Weight of the start and of the inner moment at the end.
pub(crate) const BEFORE: f64 = 0.5 * FRAC_1_SQRT_2;

/// By how much the weights of the third-order companion differ: start, inner moment, end.
const COMPANION: [f64; 3] =
    [BEFORE - (1.0 - BEFORE) / 3.0, BEFORE - (3.0 * BEFORE + 1.0) / 3.0, OWN - OWN / 3.0];

/// What a step left over at a node comes back within so long, s: in no burst.
const COMES_BACK_S: f64 = 1.0;

/// A step that was tried.
pub(crate) struct Trial {
    pub(crate) seconds: f64,
    pub(crate) inner: Found,
    pub(crate) end: State,
    pub(crate) error: Estimate,
    /// How much the start, the inner moment and the end count.
    weights: [f64; 3],
}

/// Estimated error of a step.
#[derive(Clone, Debug, Default)]
pub(crate) struct Estimate {
    /// Of levels, by the volumes that move them, m.
    pub(crate) levels_m: f64,
    /// Of heads, by the flows that these drive, m.
    pub(crate) heads_m: f64,
    /// The same without what speeds the columns up while the step lasts.
    pub(crate) lasting_m: f64,
}

impl Estimate {
    pub(crate) fn most_m(&self) -> f64 {
        self.levels_m.max(self.heads_m)
    }

    /// Takes in what a flow errs by, how the head that drives it answers, and how much of that is inertia.
    fn drives(&mut self, flow: f64, resistance: f64, inertance: f64) {
        self.heads_m = self.heads_m.max(flow * OWN * resistance);
        self.lasting_m = self.lasting_m.max(flow * OWN * (resistance - inertance).max(0.0));
    }
}

impl Trial {
    /// The step's own sum over its length of what flows at its start, its inner moment and its end.
    pub(crate) fn over(&self, flows: [f64; 3]) -> f64 {
        let mean: f64 = flows.iter().zip(self.weights).map(|(flow, weight)| flow * weight).sum();
        self.seconds * mean
    }

    /// The flow of a reach that is greatest in size over the step, with its sign, and where in the
    /// step it is first so great.
    pub(crate) fn fastest(&self, from: &State, reach: usize) -> (f64, f64) {
        let flows = [from, &self.end].map(|state| state.found.reaches[reach].flow);
        let gains = [from, &self.end].map(|state| state.reach_gains[reach]);
        let [onward, back] = [1.0, -1.0].map(|sign| {
            let gains = gains.map(|gain| sign * gain);
            highest(sign * flows[0], sign * flows[1], gains, self.seconds)
        });
        if onward.0 >= back.0 { onward } else { (-back.0, back.1) }
    }
}

/// What the steps of a run share.
#[derive(Debug, Default)]
pub(crate) struct Workshop {
    base: Base,
    spare: Found,
    /// The inner moment of the step before, and how long before its end, s: they tell where the next
    /// one leads.
    before: Option<(Found, f64)>,
}

impl Workshop {
    /// Keeps what a step tells of the next; nothing where that starts afresh.
    pub(crate) fn keep(&mut self, inner: Found, seconds: f64) {
        self.before = Some((inner, (1.0 - INNER) * seconds));
    }

    pub(crate) fn start_afresh(&mut self) {
        self.before = None;
    }
}

/// A state is carried on over so many times the time that tells where it leads at the most.
const FARTHEST: f64 = 3.0;

/// Tries a step; `None` where a stage does not settle.
pub(crate) fn attempt(
    plant: &mut Plant,
    runoff: &Runoff,
    from: &State,
    seconds: f64,
    scale: f64,
    shop: &mut Workshop,
) -> Option<Trial> {
    let delta = OWN * seconds;
    let start = &from.found;
    let gone = runoff.gone(from.at_s);
    let added = |at_s: f64| -> Vec<f64> {
        runoff.gone(at_s).iter().zip(&gone).map(|(then, now)| then - now).collect()
    };

    // The trapezoid: what happened at the start counts as much as what happens at its end.
    let rain = added(from.at_s + INNER * seconds);
    fill(&mut shop.base, plant, from, (delta, seconds), |place| {
        runoff.of(place, &rain) - delta * out(start, place)
    });
    for (place, past) in shop.base.reaches.iter_mut().enumerate() {
        past.flow = start.reaches[place].flow + delta * from.reach_gains[place];
        for side in 0..2 {
            past.void[side] = from.voids[place][side] + delta * opening(start, place, side);
        }
    }
    for (place, (_, flow)) in shop.base.columns.iter_mut().enumerate() {
        *flow = start.columns[place].flow + delta * from.column_gains[place];
    }
    for (place, tank) in shop.base.tanks.iter_mut().enumerate() {
        *tank = from.tanks[place] + delta * filling(start, place);
    }
    let past = gains_base(&shop.base);
    let on = shop.before.as_ref().map(|(before, ago)| (before, INNER * seconds / ago));
    let guess = on.map(|(before, more)| foreseen(before, start, more.min(FARTHEST)));
    let guess = guess.as_ref().unwrap_or(start);
    let inner = stage::solve(plant, &shop.base, guess, scale, &mut shop.spare)?;
    let inner_gains = gains(&inner, &past, delta);

    // The backward difference.
    let weight = BEFORE * seconds;
    let rain = added(from.at_s + seconds);
    fill(&mut shop.base, plant, from, (delta, seconds), |place| {
        runoff.of(place, &rain) - weight * (out(start, place) + out(&inner, place))
    });
    for (place, past) in shop.base.reaches.iter_mut().enumerate() {
        let gained = from.reach_gains[place] + inner_gains.1[place];
        past.flow = start.reaches[place].flow + weight * gained;
        for side in 0..2 {
            let opened = opening(start, place, side) + opening(&inner, place, side);
            past.void[side] = from.voids[place][side] + weight * opened;
        }
    }
    for (place, (_, flow)) in shop.base.columns.iter_mut().enumerate() {
        let gained = from.column_gains[place] + inner_gains.0[place];
        *flow = start.columns[place].flow + weight * gained;
    }
    for (place, tank) in shop.base.tanks.iter_mut().enumerate() {
        *tank = from.tanks[place] + weight * (filling(start, place) + filling(&inner, place));
    }
    let past = gains_base(&shop.base);
    let guess = foreseen(start, &inner, (1.0 - INNER) / INNER);
    let end = stage::solve(plant, &shop.base, &guess, scale, &mut shop.spare)?;
    let end_gains = gains(&end, &past, delta);

    let tanks = (shop.base.tanks.iter().enumerate())
        .map(|(place, tank)| tank + delta * filling(&end, place))
        .collect();
    let nodes = (0..from.nodes.len()).map(|node| {
        let before = BEFORE * (start.stays[node] + inner.stays[node]);
        from.nodes[node] + seconds * (before + OWN * end.stays[node])
    });
    let nodes = nodes.collect();
    let next = ended(from.at_s + seconds, end, (tanks, nodes), end_gains);
    let error = error(plant, from, &inner, &inner_gains, &next, seconds);
    Some(Trial { seconds, inner, end: next, error, weights: [BEFORE, BEFORE, OWN] })
}

/// One backward Euler step, for a start that jumps: it needs no rates of before. Its error, where that is
/// `told`, is what it is apart from two of half the length, twice, as of a method of first order.
pub(crate) fn leap(
    plant: &mut Plant,
    runoff: &Runoff,
    from: &State,
    (seconds, told): (f64, bool),
    scale: f64,
    shop: &mut Workshop,
) -> Option<Trial> {
    let end = backward(plant, runoff, from, seconds, scale, shop)?;
    let mut levels_m = 0.0;
    if told {
        let half = backward(plant, runoff, from, 0.5 * seconds, scale, shop);
        let finer =
            half.and_then(|half| backward(plant, runoff, &half, 0.5 * seconds, scale, shop));
        // Where the halves do not settle nothing tells how far off the whole is, but for how far it goes.
        levels_m = match finer {
            Some(finer) => 2.0 * apart(plant, &end, &finer),
            None => apart(plant, &end, from),
        };
    }
    let error = Estimate { levels_m, ..Estimate::default() };
    Some(Trial { seconds, inner: end.found.clone(), end, error, weights: [0.0, 0.0, 1.0] })
}

/// One backward Euler step by itself.
pub(crate) fn backward(
    plant: &mut Plant,
    runoff: &Runoff,
    from: &State,
    seconds: f64,
    scale: f64,
    shop: &mut Workshop,
) -> Option<State> {
    let gone = runoff.gone(from.at_s);
    let rain: Vec<f64> =
        runoff.gone(from.at_s + seconds).iter().zip(&gone).map(|(b, a)| b - a).collect();
    fill(&mut shop.base, plant, from, (seconds, seconds), |place| runoff.of(place, &rain));
    let past = gains_base(&shop.base);
    let end = stage::solve(plant, &shop.base, &from.found, scale, &mut shop.spare)?;
    let end_gains = gains(&end, &past, seconds);
    let tanks = (from.tanks.iter().enumerate())
        .map(|(place, tank)| tank + seconds * filling(&end, place))
        .collect();
    let nodes = from.nodes.iter().zip(&end.stays).map(|(node, stays)| node + seconds * stays);
    let nodes = nodes.collect();
    Some(ended(from.at_s + seconds, end, (tanks, nodes), end_gains))
}

/// How far the surfaces of two states are apart at most, m.
fn apart(plant: &Plant, a: &State, b: &State) -> f64 {
    let columns = a.found.columns.iter().zip(&b.found.columns);
    let columns = columns.map(|(a, b)| a.level - b.level);
    let stores = plant.vessels.iter().map(|vessel| vessel.store.as_ref());
    let tanks = stores.zip(a.tanks.iter().zip(&b.tanks));
    let tanks = tanks.filter_map(|(store, (a, b))| Some((a - b) / store?.area_m2));
    columns.chain(tanks).fold(0.0_f64, |most, apart| most.max(apart.abs()))
}

/// The state that a step ends in.
fn ended(
    at_s: f64,
    found: Found,
    (tanks, nodes): (Vec<f64>, Vec<f64>),
    gains: (Vec<f64>, Vec<f64>),
) -> State {
    State {
        at_s,
        columns: found.columns.iter().map(|stood| stood.volume).collect(),
        voids: found.reaches.iter().map(|moved| moved.void).collect(),
        tanks,
        nodes,
        column_gains: gains.0,
        reach_gains: gains.1,
        found,
    }
}

/// A base that starts from a state as it stands.
fn fill(
    base: &mut Base,
    plant: &Plant,
    from: &State,
    (delta, seconds): (f64, f64),
    column: impl Fn(usize) -> f64,
) {
    base.delta = delta;
    base.nodes.clear();
    base.nodes.extend(from.nodes.iter().map(|node| node / seconds.max(COMES_BACK_S)));
    base.columns.clear();
    base.columns.extend(
        (0..plant.columns.len())
            .map(|place| (from.columns[place] + column(place), from.found.columns[place].flow)),
    );
    base.reaches.clear();
    base.reaches.extend(
        (from.voids.iter().zip(&from.found.reaches))
            .map(|(void, moved)| crate::reach::Past { flow: moved.flow, void: *void }),
    );
    base.tanks.clear();
    base.tanks.extend_from_slice(&from.tanks);
}

/// What leaves a column, down and over its lip.
pub(crate) fn out(found: &Found, column: usize) -> f64 {
    found.columns[column].flow + found.columns[column].spill
}

/// How fast what is missing at an end of a reach grows.
pub(crate) fn opening(found: &Found, reach: usize, side: usize) -> f64 {
    let moved = &found.reaches[reach];
    let grows = moved.flow - moved.passes[side];
    if side == 0 { grows } else { -grows }
}

/// What a tank keeps of what it receives.
pub(crate) fn filling(found: &Found, tank: usize) -> f64 {
    found.received[tank] - found.overflows[tank] - found.over_rim[tank]
}

fn gains_base(base: &Base) -> (Vec<f64>, Vec<f64>) {
    let columns = base.columns.iter().map(|(_, flow)| *flow).collect();
    (columns, base.reaches.iter().map(|past| past.flow).collect())
}

/// How fast the flows of columns and reaches grow at the end of a stage.
fn gains(found: &Found, past: &(Vec<f64>, Vec<f64>), delta: f64) -> (Vec<f64>, Vec<f64>) {
    let columns =
        found.columns.iter().zip(&past.0).map(|(stood, past)| (stood.flow - past) / delta);
    let reaches =
        found.reaches.iter().zip(&past.1).map(|(moved, past)| (moved.flow - past) / delta);
    (columns.collect(), reaches.collect())
}

/// Heads and flows carried on in a straight line from a moment by a later one, by so many times the
/// time between these.
fn foreseen(start: &Found, inner: &Found, more: f64) -> Found {
    let mut guess = inner.clone();
    for (x, before) in guess.x.iter_mut().zip(&start.x) {
        *x += more * (*x - before);
    }
    for (moved, before) in guess.reaches.iter_mut().zip(&start.reaches) {
        moved.flow += more * (moved.flow - before.flow);
        for (outer, before) in moved.outer.iter_mut().zip(before.outer) {
            *outer += more * (*outer - before);
        }
    }
    for (stood, before) in guess.columns.iter_mut().zip(&start.columns) {
        stood.level += more * (stood.level - before.level);
        stood.flow += more * (stood.flow - before.flow);
        stood.foot += more * (stood.foot - before.foot);
    }
    guess
}

/// Estimated error of levels over a step: volumes by the surfaces that they move, flows by the
/// heads that they move.
fn error(
    plant: &Plant,
    from: &State,
    inner: &Found,
    inner_gains: &(Vec<f64>, Vec<f64>),
    end: &State,
    seconds: f64,
) -> Estimate {
    let off = |values: [f64; 3]| {
        let sum: f64 = values.iter().zip(COMPANION).map(|(value, weight)| weight * value).sum();
        (seconds * sum).abs()
    };
    let (start, last) = (&from.found, &end.found);
    // What has to be overcome to speed up a column of so many metres, by its flow.
    let inertance = |length_m: f64, area_m2: f64| length_m / (G * area_m2 * OWN * seconds);
    let mut error = Estimate::default();
    for (place, stood) in last.columns.iter().enumerate() {
        let volume = off([out(start, place), out(inner, place), out(last, place)]);
        error.levels_m = error.levels_m.max(volume / stood.surface);
        let gains = [from.column_gains[place], inner_gains.0[place], end.column_gains[place]];
        let column = &plant.columns[place];
        let wet_m = stood.level - column.foot;
        error.drives(off(gains), stood.resistance, inertance(wet_m, column.area_m2));
    }
    for (place, moved) in last.reaches.iter().enumerate() {
        let gains = [from.reach_gains[place], inner_gains.1[place], end.reach_gains[place]];
        let reach = &plant.reaches[place];
        let wet_m = reach.water(moved.void) / reach.area_m2;
        error.drives(off(gains), moved.resistance, inertance(wet_m, reach.area_m2));
        for side in 0..2 {
            if moved.void[side] > 0.0 && from.voids[place][side] > 0.0 {
                let rates = [
                    opening(start, place, side),
                    opening(inner, place, side),
                    opening(last, place, side),
                ];
                let slope = reach.surface(side, moved.void[side]).1.abs();
                error.levels_m = error.levels_m.max(off(rates) * slope);
            }
        }
    }
    for (place, vessel) in plant.vessels.iter().enumerate() {
        if let Some(store) = &vessel.store {
            let rates = [filling(start, place), filling(inner, place), filling(last, place)];
            error.levels_m = error.levels_m.max(off(rates) / store.area_m2);
        }
    }
    error
}
