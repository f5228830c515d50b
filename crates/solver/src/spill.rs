//! The rain at which each downspout first spills.
//!
//! The rain is followed upward. Only the downspouts known to spill by then are held to their
//! lips, the others take all they are given however high that lifts the water; so the height that
//! each still lacks is a smooth function of the rain right through its spill, and a secant finds
//! the first of them in a few solves. Below that rain nobody else has spilled, so the state there
//! is the true one. Then that downspout is held to its lip too, and the next is looked for.

use crate::downspout::DownspoutModel;
use crate::model::Iterate;
use crate::steady::{Failed, Solver};

/// Up to this many times the rain of the scenario is looked at.
const UP_TO: f64 = 10.0;
/// What spills at so little a share of the rain spills in any rain: still water stands at its lip.
/// The second and the third are for where no steady state is found for the one before.
const DRIZZLES: [f64; 3] = [1e-4, 3e-4, 1e-3];
/// The height that a downspout lacks falls about as this power of the rain: secants are drawn in it.
const POWER: f64 = 1.85;
/// A spill is found where two estimates of its rain agree to this share.
const AGREE: f64 = 1e-5;
/// With more than this many downspouts, those that spill within [`TOGETHER`] of the rain are told
/// apart by one secant, so that the number of solves is bounded whatever their number.
const FEW: usize = 64;
const TOGETHER: f64 = 1e-3;

/// For each downspout the multiple of the model's rain at which it first spills, to 0.1 %; `None`
/// where it does not up to [`UP_TO`] times that rain.
pub(crate) fn factors(solver: Solver) -> Result<Vec<Option<f64>>, Failed> {
    let mut rains = Rains::new(solver);
    rains.all()?;
    Ok(rains.found)
}

/// The model under a rain of any multiple of the scenario's.
struct Rains {
    solver: Solver,
    design: Vec<f64>,
    /// For each downspout the multiple of the rain at which it spills, once it is known.
    found: Vec<Option<f64>>,
}

/// Who is held to its lip in a solve.
#[derive(Clone, Copy, PartialEq)]
enum Held {
    /// Every downspout: the steady state.
    All,
    /// Those whose spill is known.
    Found,
}

/// The height that each downspout lacks of its spill at one rain, at its foot, and the state.
struct Sample {
    factor: f64,
    lacks_m: Vec<f64>,
    at: Iterate,
}

impl Rains {
    fn new(solver: Solver) -> Self {
        let design: Vec<f64> = solver.model.downspouts.iter().map(DownspoutModel::demand).collect();
        let found = vec![None; design.len()];
        Self { solver, design, found }
    }

    /// Finds all spills up to [`UP_TO`] times the rain.
    fn all(&mut self) -> Result<(), Failed> {
        let rest = self.sample(0.0, Held::All, None)?;
        self.settle(&rest, 0.0);
        if self.design.iter().sum::<f64>() <= 0.0 {
            return Ok(());
        }
        let [least, more, most] = DRIZZLES;
        let drizzle = (self.sample(least, Held::All, Some(&rest)))
            .or_else(|_| self.sample(more, Held::All, Some(&rest)))
            .or_else(|_| self.sample(most, Held::All, Some(&rest)))?;
        self.settle(&drizzle, 0.0);
        let most = self.sample(UP_TO, Held::All, None)?;
        let mut open: Vec<usize> = (0..self.found.len())
            .filter(|&d| self.found[d].is_none() && most.lacks_m[d] < 0.0)
            .collect();
        let [mut before, mut low] = self.two_that_hold(&open, rest, drizzle)?;
        while !open.is_empty() {
            let Some(first) = self.first(&open, &mut before, &mut low)? else { break };
            let together = if self.found.len() > FEW { first * (1.0 + TOGETHER) } else { first };
            for &d in &open {
                let own = root(&before, &low, d).unwrap_or(f64::INFINITY);
                if own <= together || low.lacks_m[d] <= 0.0 {
                    self.found[d] = Some(own.clamp(first, together));
                }
            }
            open.retain(|&d| self.found[d].is_none());
        }
        Ok(())
    }

    /// Notes that every downspout that spills in a sample does so from this multiple of the rain.
    fn settle(&mut self, sample: &Sample, factor: f64) {
        for (found, lacks) in self.found.iter_mut().zip(&sample.lacks_m) {
            if *lacks < 0.0 {
                found.get_or_insert(factor);
            }
        }
    }

    /// Two rains at which none of the open downspouts spills, not too far below the first spill.
    fn two_that_hold(
        &mut self,
        open: &[usize],
        rest: Sample,
        drizzle: Sample,
    ) -> Result<[Sample; 2], Failed> {
        let mut factor = 1.0;
        while factor > 2.0 * drizzle.factor {
            let sample = self.sample(factor, Held::All, Some(&drizzle))?;
            if open.iter().all(|&d| sample.lacks_m[d] > 0.0) {
                return Ok([drizzle, sample]);
            }
            factor *= 0.25;
        }
        Ok([rest, drizzle])
    }

    /// The least multiple of the rain above `low`'s at which one of the open downspouts spills.
    /// `before` and `low` are two samples to draw the first secant through; they end as the two
    /// that the last was drawn through. `None` where none spills up to [`UP_TO`].
    fn first(
        &mut self,
        open: &[usize],
        before: &mut Sample,
        low: &mut Sample,
    ) -> Result<Option<f64>, Failed> {
        let (mut holds, mut spills) = (low.factor, UP_TO);
        let mut estimate = least_root(before, low, open).unwrap_or(UP_TO);
        for round in 0.. {
            // A secant may creep or point elsewhere: every fourth step is a halving.
            let inside = estimate > holds && estimate < spills;
            let at = if estimate >= UP_TO && spills >= UP_TO {
                UP_TO
            } else if inside && round % 4 != 3 {
                estimate
            } else {
                0.5 * (holds + spills)
            };
            let trial = self.sample(at, Held::Found, Some(low))?;
            if open.iter().any(|&d| trial.lacks_m[d] <= 0.0) {
                spills = at;
            } else if at >= UP_TO {
                return Ok(None);
            } else {
                holds = at;
            }
            *before = std::mem::replace(low, trial);
            estimate = least_root(before, low, open).unwrap_or(UP_TO);
            let agreed = (estimate - at).abs() <= AGREE * at;
            if agreed || spills - holds <= 1e-3 * AGREE * spills {
                break;
            }
        }
        Ok(Some(estimate.clamp(holds, spills)))
    }

    /// Solves one rain, starting from the state of another where there is such.
    fn sample(&mut self, factor: f64, held: Held, near: Option<&Sample>) -> Result<Sample, Failed> {
        let model = &mut self.solver.model;
        model.set_demands(|d| self.design[d] * factor);
        for (downspout, found) in model.downspouts.iter_mut().zip(&self.found) {
            downspout.set_spills(held == Held::All || found.is_some());
        }
        let near = near.map(|near| {
            let mut at = near.at.clone();
            for (d, downspout) in model.downspouts.iter().enumerate() {
                if near.lacks_m[d] >= 0.0 || !downspout.spills() {
                    at.admitted[d] = downspout.demand();
                }
            }
            at
        });
        let solved = match self.solver.solve(near.as_ref()) {
            Err(_) if near.is_some() => self.solver.solve(None)?,
            solved => solved?,
        };
        let lacks_m = (self.solver.model.downspouts.iter().enumerate())
            .map(|(d, downspout)| {
                let lacks = downspout.full_head() - solved.at.head[d];
                // What is taken in full is not spilled, to the last digit.
                match solved.at.admitted[d] == downspout.demand() {
                    true if downspout.spills() => lacks.max(0.0),
                    true => lacks,
                    false => lacks.min(-1e-300),
                }
            })
            .collect();
        Ok(Sample { factor, lacks_m, at: solved.at })
    }
}

/// The least rain at which a straight line through two samples puts a spill of one of `open`.
fn least_root(one: &Sample, other: &Sample, open: &[usize]) -> Option<f64> {
    open.iter().filter_map(|&d| root(one, other, d)).min_by(f64::total_cmp)
}

/// Where a straight line through two samples puts a downspout's spill; `None` where what it lacks
/// does not fall as the rain grows.
fn root(one: &Sample, other: &Sample, d: usize) -> Option<f64> {
    let (from, to) = (libm::pow(one.factor, POWER), libm::pow(other.factor, POWER));
    let fall = (one.lacks_m[d] - other.lacks_m[d]) / (to - from);
    let root = to + other.lacks_m[d] / fall;
    (fall > 0.0 && root.is_finite()).then(|| libm::pow(root.max(0.0), 1.0 / POWER))
}
