//! The rain at which water first leaves each lip, and runs over each tank's rim.
//!
//! The rain grows from a drizzle, and each state tells along its own straight lines where the next
//! places spill: a [`Path`]. So far as these are close it is followed past them, then a state is
//! solved just short of the next one. How far the path has gone astray there says how well the
//! spills on the way are known; where that is not well enough a state is solved in between. So a
//! state is needed for each spill that stands alone, and one for many that are close together.

mod path;

use crate::gap::{Flowing, rises};
use crate::line::Rise;
use crate::lip::Lip;
use crate::model::{Iterate, Model};
use crate::steady::{Failed, Solver};
use crate::tank::TankModel;
use path::Path;
use std::borrow::Cow;

/// Up to this many times the rain of the scenario is looked at.
pub const RAINS_UP_TO: f64 = 10.0;
/// What spills at so little a share of the rain spills in any rain: still water stands at its lip.
/// The second and the third are for where no steady state is found for the one before.
const DRIZZLES: [f64; 3] = [1e-4, 3e-4, 1e-3];
/// A spill is known where a path errs by no more than this share of the rain.
const KNOWN: f64 = 4e-4;
/// Rains closer than this share are as good as one.
const ONE: f64 = 1e-3;
/// The share of the rain by which a path is followed past spills at first, and its bounds: it grows
/// while paths err little, and shrinks where they err much. Where spills stand alone it does not grow:
/// each is better met from a state just short of it.
const REACH: f64 = 1e-2;
const REACHES: [f64; 2] = [ONE, 0.2];
/// A spill is close within this share of the rain: there a path hardly bends.
const CLOSE: f64 = 5e-3;
/// A state is solved so much of the way short of the next spill: a path errs by about so much.
const SHORT: f64 = 0.02;
/// Where the state may hang on the way there, it is followed by steps in which the rain does not
/// more than double.
const GROWTH: f64 = 2.0;
/// A spill this share of the way to a heavier rain is near.
const ASIDE: f64 = 0.1;
/// Where a path tells nothing of a spill between two rains that are further apart than this, the
/// lighter half is left to the next.
const FAR: f64 = 4.0;

/// For each lip, then for each tank's rim, the multiple of the model's rain at which water first
/// leaves there, to 0.1 %; `None` where it does not up to [`RAINS_UP_TO`] times that rain.
pub(crate) fn factors(solver: &mut Solver) -> Result<Vec<Option<f64>>, Failed> {
    let mut rains = Rains::new(solver);
    let rest = rains.sample(0.0, None, None)?;
    let drizzle = rains.drizzle()?;
    let any = |(rest, drizzle): (&f64, &f64)| *rest < 0.0 || *drizzle < 0.0;
    rains.found =
        rest.spare.iter().zip(&drizzle.spare).map(|both| any(both).then_some(0.0)).collect();
    if rains.design.iter().sum::<f64>() > 0.0 {
        rains.climb(drizzle)?;
    }
    Ok(rains.found)
}

/// A rain tried.
struct Sample {
    factor: f64,
    at: Iterate,
    /// Of the lines, where they are known.
    rises: Option<Vec<Flowing>>,
    /// For each lip the height below it that it lacks of its spill, for each tank what its water
    /// lacks of its rim, m; where water leaves, how much, m³/s, negative.
    spare: Vec<f64>,
}

/// The model under a rain of any multiple of the scenario's.
struct Rains<'a> {
    solver: &'a mut Solver,
    design: Vec<f64>,
    /// The lightest rain known to spill at each place.
    found: Vec<Option<f64>>,
    /// States known of heavier rains than where the climb is, the heaviest first.
    above: Vec<Sample>,
    /// The share of the rain by which a path is followed past spills.
    reach: f64,
}

impl<'a> Rains<'a> {
    fn new(solver: &'a mut Solver) -> Self {
        let design = solver.model.lips.iter().map(Lip::demand).collect();
        Self { solver, design, found: Vec::new(), above: Vec::new(), reach: REACH }
    }

    fn drizzle(&mut self) -> Result<Sample, Failed> {
        let [least, more, most] = DRIZZLES;
        let mut drizzle = |factor| self.sample(factor, None, None);
        drizzle(least).or_else(|_| drizzle(more)).or_else(|_| drizzle(most))
    }

    /// Lets the rain grow from a drizzle, and notes every spill on the way.
    fn climb(&mut self, drizzle: Sample) -> Result<(), Failed> {
        let mut from = drizzle;
        let design = self.sample(1.0, Some(&from), None)?;
        self.above.insert(0, design);
        while from.factor < RAINS_UP_TO {
            from = match self.above.pop() {
                Some(heavier) => self.up_to(from, heavier)?,
                None => self.ahead(from)?,
            };
        }
        Ok(())
    }

    /// Goes on to a heavier rain whose state is known, or nearer to it.
    fn up_to(&mut self, from: Sample, heavier: Sample) -> Result<Sample, Failed> {
        if self.turning(&from, &heavier).is_empty() {
            return Ok(heavier);
        }
        let limit = heavier.factor;
        let Some((mut path, next)) = self.path(&from, limit) else {
            let between = middle(&from, &heavier);
            self.above.push(heavier);
            return self.step(from, between, None);
        };
        let mut to = next.map(|next| short(&from, next));
        if let Some(far) = path.spilled_last().and_then(|last| beyond(&from, last))
            && far < to.unwrap_or(limit)
        {
            to = Some(far);
        }
        if to.is_none() {
            path.lead_to(limit, &self.solver.model);
            if self.told(Some(&path), &from, &heavier) {
                return Ok(heavier);
            }
            let first =
                self.turning(&from, &heavier).into_iter().filter_map(|d| path.spilled_at(d));
            let first = first.min_by(f64::total_cmp);
            // A spill that is near tells nothing of where else to look.
            let far = |first: &f64| first - from.factor > ASIDE * (limit - from.factor);
            to = first.filter(far).map(|first| short(&from, first));
        }
        let to = to.unwrap_or_else(|| middle(&from, &heavier));
        if to < path.factor {
            match self.path(&from, to) {
                Some((again, _)) => path = again,
                None => return self.step(from, to, None),
            }
        }
        self.above.push(heavier);
        self.step(from, to, Some(path))
    }

    /// Goes on where no heavier state is known.
    fn ahead(&mut self, from: Sample) -> Result<Sample, Failed> {
        let limit = if self.solver.may_have_several() {
            RAINS_UP_TO.min(GROWTH * from.factor)
        } else {
            RAINS_UP_TO
        };
        let Some((path, next)) = self.path(&from, limit) else {
            return self.step(from, limit, None);
        };
        let to = next.map_or(limit, |next| short(&from, next));
        let to =
            path.spilled_last().and_then(|last| beyond(&from, last)).map_or(to, |far| to.min(far));
        self.step(from, to, Some(path))
    }

    /// The path from a state past the spills that are close, and the next one before a limit.
    fn path(&mut self, from: &Sample, limit: f64) -> Option<(Path, Option<f64>)> {
        self.solver.model.set_demands(|d| from.factor * self.design[d]);
        let mut path = Path::new(self.solver, &self.design, from)?;
        let close = limit.min(from.factor * (1.0 + self.reach));
        let next = path.pass_up_to(close, self.solver, &self.design);
        Some((path, next.filter(|next| *next < limit)))
    }

    /// Solves a heavier rain, and goes on to it where all spills before it are known.
    fn step(&mut self, from: Sample, to: f64, mut path: Option<Path>) -> Result<Sample, Failed> {
        let known = self.above.len();
        if let Some(path) = &mut path {
            path.lead_to(to, &self.solver.model);
        }
        let led = path.as_ref().map(|path| path.led(&self.solver.model, &self.design));
        let sample = self.sample(to, Some(&from), led)?;
        if self.above.len() == known && self.told(path.as_ref(), &from, &sample) {
            return Ok(sample);
        }
        self.above.insert(known, sample);
        Ok(from)
    }

    /// The places where water leaves in the heavier of two rains and not in the lighter, nor, as far
    /// as is known, before.
    fn turning(&self, from: &Sample, to: &Sample) -> Vec<usize> {
        let turns = |&(d, found): &(usize, &Option<f64>)| {
            found.is_none() && from.spare[d] >= 0.0 && to.spare[d] < 0.0
        };
        self.found.iter().enumerate().filter(turns).map(|(d, _)| d).collect()
    }

    /// Whether all spills between two rains are known well enough; then they are noted.
    fn told(&mut self, path: Option<&Path>, from: &Sample, to: &Sample) -> bool {
        let one = to.factor <= from.factor * (1.0 + ONE);
        let mut spills = Vec::new();
        let mut worst = 0.0_f64;
        let turning = self.turning(from, to);
        let bends = !turning.is_empty() && self.bends(from, to);
        let told = |d: usize| path.and_then(|path| path.told(d, to.spare[d], bends));
        for d in turning {
            let spill = told(d);
            let miss = spill.map_or(f64::INFINITY, |(_, error)| error / (KNOWN * from.factor));
            if !one && (miss.is_nan() || miss > 1.0) {
                self.reach = (0.5 * self.reach).max(REACHES[0]);
                return false;
            }
            worst = worst.max(miss);
            spills.push((d, spill.map_or(0.5 * (from.factor + to.factor), |(factor, _)| factor)));
        }
        for (d, factor) in &spills {
            self.found[*d] = Some(factor.max(from.factor).min(to.factor));
        }
        if !spills.is_empty() {
            let more = (0.7 / worst.sqrt()).clamp(0.5, 2.0);
            let most = if spills.len() > 1 { REACHES[1] } else { REACH };
            self.reach = (more * self.reach).clamp(REACHES[0], most);
        }
        true
    }

    /// Whether a line changes its kind of flow between two states: it begins to flow or turns, or an
    /// outfall or a crest begins or ceases to rule it. There the laws have bends. Where the flow of a
    /// full line ends there is none, but at a wye or tee.
    fn bends(&self, from: &Sample, to: &Sample) -> bool {
        let model = &self.solver.model;
        let [one, other] = [from, to].map(|sample| match &sample.rises {
            Some(lines) => Cow::Borrowed(lines),
            None => Cow::Owned(rises(model, &sample.at)),
        });
        let smooth = !self.solver.may_have_several();
        let full = |sample: &Sample, line| smooth && model.is_full(&sample.at, line);
        one.iter().zip(other.iter()).enumerate().any(|(line, both)| match both {
            (Some((side, rise)), Some((other_side, other))) => {
                let ruled = |rise: &Rise| (rise.d_far == 0.0, rise.broken);
                side != other_side || ruled(rise) != ruled(other)
            }
            (Some((_, rise)), None) => rise.d_far == 0.0 || !full(to, line),
            (None, began) => began.is_some(),
        })
    }

    /// Solves one rain: from a state led on to it, from that of a lighter rain, or from nothing.
    fn sample(
        &mut self,
        factor: f64,
        from: Option<&Sample>,
        led: Option<Iterate>,
    ) -> Result<Sample, Failed> {
        self.solver.model.set_demands(|d| factor * self.design[d]);
        let near = from.map(|from| (&from.at, from.factor / factor));
        let close =
            near.is_some_and(|(_, share)| !self.solver.may_have_several() || share * GROWTH >= 1.0);
        let led = led.filter(|_| close).and_then(|led| self.solver.solve_led(led).ok());
        let solved = match led {
            Some(solved) => solved,
            None => match self.solver.solve(near) {
                Err(_) if near.is_some() => self.solver.solve(None)?,
                solved => solved?,
            },
        };
        let passed: Vec<(f64, Iterate)> = self.solver.passed.drain(..).collect();
        let lighter = from.map_or(f64::INFINITY, |from| from.factor);
        let sample = self.looked_at(factor, solved.at, Some(solved.survey.lines));
        for (share, at) in passed.into_iter().rev().filter(|(share, _)| share * factor > lighter) {
            self.solver.model.set_demands(|d| share * factor * self.design[d]);
            // There demands were rounded otherwise: a last digit missing is no spill.
            let at = self.solver.of_more_rain(&at, 1.0);
            let passed = self.looked_at(share * factor, at, None);
            self.above.push(passed);
        }
        Ok(sample)
    }

    /// A state under the rain that the model has.
    fn looked_at(&self, factor: f64, at: Iterate, rises: Option<Vec<Flowing>>) -> Sample {
        let model = &self.solver.model;
        let lacks = |(d, lip): (usize, &Lip)| {
            let spilled = lip.demand() - at.admitted[d];
            if spilled > 0.0 { -spilled } else { (lip.spill_head() - at.head[d]).max(0.0) }
        };
        let mut spare: Vec<f64> = model.lips.iter().enumerate().map(lacks).collect();
        spare.extend(over_rims(model, &at));
        Sample { factor, at, rises, spare }
    }
}

/// A rain that falls short of the next spill, so that most likely it spills beyond.
fn short(from: &Sample, next: f64) -> f64 {
    let ahead = next - from.factor;
    next - (SHORT * ahead).max(0.5 * KNOWN * from.factor).min(0.5 * ahead)
}

/// Where the last spill that a path passed is not close, the rain in which a state tells how far the
/// path goes astray there: much further on that may have made up for itself.
fn beyond(from: &Sample, last: f64) -> Option<f64> {
    let ahead = last - from.factor;
    (ahead > CLOSE * from.factor).then_some(last + 0.5 * ahead)
}

/// A rain between two of which nothing else is known.
fn middle(from: &Sample, to: &Sample) -> f64 {
    if to.factor > FAR * from.factor { to.factor / GROWTH } else { 0.5 * (from.factor + to.factor) }
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
