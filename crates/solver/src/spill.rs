//! The rain at which water first leaves each lip, and runs over each tank's rim.
//!
//! Steady states under lighter and heavier rains bracket every spill: here the downspout holds,
//! there it spills. Below its spill the height that it lacks falls smoothly with the rain, above it
//! what it spills grows smoothly: a secant through the two states below and one through the two
//! above each say where the spill is. Where the two disagree another rain is tried between. So a
//! state tells of all downspouts at once, and the number of states hangs on how closely the rains
//! are to be known, not on how many downspouts there are.

use crate::lip::Lip;
use crate::model::{Iterate, Model};
use crate::steady::{Failed, Solver};
use crate::tank::TankModel;
use ordered_float::OrderedFloat;

/// Up to this many times the rain of the scenario is looked at.
pub const RAINS_UP_TO: f64 = 10.0;
/// A heavier rain, for the upper secant of what spills just below [`RAINS_UP_TO`].
const BEYOND: f64 = 10.5;
/// What spills at so little a share of the rain spills in any rain: still water stands at its lip.
/// The second and the third are for where no steady state is found for the one before.
const DRIZZLES: [f64; 3] = [1e-4, 3e-4, 1e-3];
/// The height that a downspout lacks falls about as this power of the rain: secants are drawn in it.
const POWER: f64 = 1.85;
/// The two secants of a spill agree where they differ by no more than this share of the rain.
const AGREE: f64 = 4e-4;
/// Rains closer than this share are as good as one.
const ONE: f64 = 1e-3;
/// Two secants may agree and err together, for what else begins between two rains bends both: they
/// are trusted where these are no further apart than this share.
const TRUSTED: f64 = 3e-3;
/// The same where no other spill begins between them or in the rains beside: then only the smooth
/// bend of a law is left, which errs with the square of the distance.
const ALONE: f64 = 1e-2;

/// States are led on by no more than so many times the distance of the last two.
const LEAP: f64 = 3.0;

/// For each lip, then for each tank's rim, the multiple of the model's rain at which water first
/// leaves there, to 0.1 %; `None` where it does not up to [`RAINS_UP_TO`] times that rain.
pub(crate) fn factors(solver: &mut Solver) -> Result<Vec<Option<f64>>, Failed> {
    let mut rains = Rains::new(solver);
    let rest = rains.sample(0.0)?;
    let drizzle = rains.drizzle()?;
    let any = |d: usize| rest.spare[d] < 0.0 || drizzle.spare[d] < 0.0;
    let in_any: Vec<bool> = (0..rest.spare.len()).map(any).collect();
    let mut samples = vec![rest, drizzle];
    if rains.design.iter().sum::<f64>() > 0.0 {
        samples.push(rains.sample(RAINS_UP_TO)?);
        samples.push(rains.sample(BEYOND)?);
        while rains.refine(&mut samples)? {}
    }
    let found = |(d, any): (usize, bool)| {
        if any { Some(0.0) } else { first_spill(&samples, d) }
    };
    Ok(in_any.into_iter().enumerate().map(found).collect())
}

/// The model under a rain of any multiple of the scenario's.
struct Rains<'a> {
    solver: &'a mut Solver,
    design: Vec<f64>,
    /// States found with their rains, to start the next from: all where there may be several of one
    /// rain, else the last two.
    seen: Vec<(f64, Iterate)>,
}

/// A rain tried.
struct Sample {
    factor: f64,
    /// For each lip the height below it that it lacks of its spill, for each tank what its water
    /// lacks of its rim, m; where water leaves, how much, m³/s, negative.
    spare: Vec<f64>,
}

impl<'a> Rains<'a> {
    fn new(solver: &'a mut Solver) -> Self {
        let design = solver.model.lips.iter().map(Lip::demand).collect();
        Self { solver, design, seen: Vec::new() }
    }

    fn drizzle(&mut self) -> Result<Sample, Failed> {
        let [least, more, most] = DRIZZLES;
        self.sample(least).or_else(|_| self.sample(more)).or_else(|_| self.sample(most))
    }

    /// Solves one rain, starting from the last state.
    fn sample(&mut self, factor: f64) -> Result<Sample, Failed> {
        self.solver.model.set_demands(|d| self.design[d] * factor);
        let lighter = self.seen.iter().filter(|(seen, _)| *seen < factor);
        let near = if self.solver.may_have_several() {
            lighter.max_by(|a, b| a.0.total_cmp(&b.0)).cloned()
        } else {
            self.ahead(factor)
        };
        let near = near.as_ref().map(|(seen, at)| (at, seen / factor));
        let solved = match self.solver.solve(near) {
            Err(_) if near.is_some() => self.solver.solve(None)?,
            solved => solved?,
        };
        let model = &self.solver.model;
        let mut spare: Vec<f64> = (model.lips.iter().enumerate())
            .map(|(d, downspout)| {
                let spilled = downspout.demand() - solved.at.admitted[d];
                if spilled > 0.0 {
                    -spilled
                } else {
                    (downspout.spill_head() - solved.at.head[d]).max(0.0)
                }
            })
            .collect();
        spare.extend(over_rims(model, &solved.at));
        if !self.solver.may_have_several() && self.seen.len() > 1 {
            self.seen.remove(0);
        }
        let passed = self.solver.passed.drain(..);
        self.seen.extend(passed.map(|(share, at)| (share * factor, at)));
        self.seen.push((factor, solved.at));
        Ok(Sample { factor, spare })
    }

    /// The last state, led on to another rain along the straight line from the one before it, where
    /// that is no leap.
    fn ahead(&self, factor: f64) -> Option<(f64, Iterate)> {
        let (from, last) = self.seen.last()?;
        let mut led = last.clone();
        if let [(before, first), _] = self.seen.as_slice() {
            let share = (factor - from) / (from - before);
            if share.abs() <= LEAP {
                let lead = |now: &mut [f64], then: &[f64]| {
                    for (now, then) in now.iter_mut().zip(then) {
                        *now += share * (*now - then);
                    }
                };
                lead(&mut led.head, &first.head);
                lead(&mut led.flow, &first.flow);
                for ((now, then), lip) in
                    led.admitted.iter_mut().zip(&first.admitted).zip(&self.design)
                {
                    if *now < from * lip && *then < before * lip {
                        *now += share * (*now - then);
                    }
                }
                let levels = led.water.iter_mut().flatten().zip(first.water.iter().flatten());
                for (now, then) in levels {
                    *now += share * (*now - then);
                }
            }
        }
        Some((*from, led))
    }

    /// Tries a rain between every two between which a spill is not yet known well enough. Whether
    /// there were any.
    fn refine(&mut self, samples: &mut Vec<Sample>) -> Result<bool, Failed> {
        let wanted: Vec<f64> = (1..samples.len() - 2).filter_map(|i| between(samples, i)).collect();
        for &factor in &wanted {
            let sample = self.sample(factor)?;
            samples.push(sample);
        }
        samples.sort_by_key(|sample| OrderedFloat(sample.factor));
        Ok(!wanted.is_empty())
    }
}

/// For each tank what its water lacks of its rim; where it runs over, how much, negative.
fn over_rims(model: &Model, at: &Iterate) -> Vec<f64> {
    let receipts = model.receipts(at);
    let levels = model.levels(&receipts.net);
    let tanks = model.tanks.iter().zip(levels).zip(receipts.net).zip(receipts.overflow);
    let spare = |(((tank, level), received), overflow): (((&TankModel, Option<f64>), f64), f64)| {
        let Some(level_m) = level else { return f64::INFINITY };
        let over = received.max(0.0) - overflow;
        if over > 0.0 { -over } else { tank.rim_m - level_m }
    };
    tanks.map(spare).collect()
}

/// A rain to try between a sample and the next, if a spill between them is not well known.
fn between(samples: &[Sample], low: usize) -> Option<f64> {
    let (from, to) = (samples[low].factor, samples[low + 1].factor);
    if to <= from * (1.0 + ONE) {
        return None;
    }
    let beside = (low - 1).max(1)..=(low + 1).min(samples.len() - 2);
    let others = (0..samples[low].spare.len())
        .map(|d| beside.clone().filter(|&low| turns(samples, low, d)).count())
        .sum::<usize>();
    let near = to <= from * (1.0 + if others > 1 { TRUSTED } else { ALONE });
    let vague: Vec<f64> = (0..samples[low].spare.len())
        .filter(|&d| turns(samples, low, d))
        .map(|d| Spill::between(samples, low, d))
        .filter(|spill| !(near && spill.agreed()))
        .map(|spill| spill.factor())
        .collect();
    if vague.is_empty() {
        return None;
    }
    let middle = vague.iter().sum::<f64>() / vague.len() as f64;
    // A little beyond or before, so that a single spill is soon shut in from both sides.
    let aside = if to - middle > middle - from { 0.45 * ONE } else { -0.45 * ONE };
    let edge = 0.05 * (to - from);
    Some((middle * (1.0 + aside)).max(from + edge).min(to - edge))
}

/// Whether a downspout holds in a sample and spills in the next.
fn turns(samples: &[Sample], low: usize, d: usize) -> bool {
    samples[low].spare[d] >= 0.0 && samples[low + 1].spare[d] < 0.0
}

/// The rain at which a downspout first spills.
fn first_spill(samples: &[Sample], d: usize) -> Option<f64> {
    let low = (0..samples.len() - 2).find(|&low| turns(samples, low, d))?;
    Some(Spill::between(samples, low, d).factor())
}

/// Where a spill between two rains is, as the states below and above it have it.
struct Spill {
    below: Option<f64>,
    above: Option<f64>,
    /// How far each secant's two rains are apart.
    apart: [f64; 2],
    within: [f64; 2],
}

impl Spill {
    /// The spill of a downspout that holds at the sample `low` and spills at the next.
    fn between(samples: &[Sample], low: usize, d: usize) -> Self {
        let [before, from, to, after] = [low - 1, low, low + 1, low + 2].map(|i| &samples[i]);
        let below = root([before, from], d, POWER);
        let above = (after.spare[d] < 0.0).then(|| root([to, after], d, 1.0)).flatten();
        let apart = [from.factor - before.factor, after.factor - to.factor];
        Self { below, above, apart, within: [from.factor, to.factor] }
    }

    fn held(&self, factor: f64) -> f64 {
        factor.max(self.within[0]).min(self.within[1])
    }

    fn agreed(&self) -> bool {
        match (self.below, self.above) {
            (Some(below), Some(above)) => {
                (self.held(below) - self.held(above)).abs() <= AGREE * self.within[0]
            }
            _ => false,
        }
    }

    /// The two estimates weighed: the closer two rains are, the better their secant.
    fn factor(&self) -> f64 {
        match (self.below, self.above) {
            (Some(below), Some(above)) => {
                let share = self.apart[0] / (self.apart[0] + self.apart[1]);
                self.held(below) + share * (self.held(above) - self.held(below))
            }
            _ => 0.5 * (self.within[0] + self.within[1]),
        }
    }
}

/// Where a straight line through a downspout's spare in two samples is zero, drawn in a power of
/// the rain; `None` where the spare does not fall as the rain grows.
fn root([one, other]: [&Sample; 2], d: usize, power: f64) -> Option<f64> {
    let (from, to) = (libm::pow(one.factor, power), libm::pow(other.factor, power));
    let fall = (one.spare[d] - other.spare[d]) / (to - from);
    let root = to + other.spare[d] / fall;
    (fall > 0.0 && root.is_finite()).then(|| libm::pow(root.max(0.0), 1.0 / power))
}
