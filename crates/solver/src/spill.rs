//! The rain at which each downspout first spills, for all of them together.
//!
//! How far each downspout is from spilling is solved at a rising series of rains; every solve
//! serves all downspouts. An interval of rain is split only while it holds a downspout whose
//! spill is not yet pinned down, so the number of solves is bounded by the asked precision and
//! the range of rain, not by the number of downspouts.

use crate::downspout::DownspoutModel;
use crate::model::{Iterate, Model};
use crate::report;
use crate::scenario::Scenario;
use crate::state::NotSolved;
use crate::steady::{Failed, Solver};
use std::rc::Rc;
use wetrun_network::Network;
use wetrun_units::Intensity;

/// Up to this many times the rain of the scenario is looked at.
const UP_TO: f64 = 10.0;
/// An interval no wider than this share of its rain pins a spill down by itself: the estimate,
/// kept off its ends by a quarter, is then within 0.09 %.
const PINNED: f64 = 1.2e-3;
/// With no more than this many downspouts it costs nothing to speak of to pin them down finer.
const FEW: usize = 64;
const PINNED_FEW: f64 = 1e-5;
/// More open spills than this in one interval are told apart by straight lines: in an interval no
/// wider than [`NARROW`] of its rain, two estimates that agree to [`AGREE`] are believed.
const MANY: usize = 3;
const NARROW: f64 = 0.02;
const AGREE: f64 = 1e-4;
/// An interval is split no more often than this: by then it is narrower than any precision.
const DEEPEST: u32 = 120;
/// What spills at this share of the rain spills in any rain: still water stands at its lip.
const DRIZZLE: f64 = 1e-4;
/// Headroom falls about as this power of the rain: estimates are straight lines in it.
const POWER: f64 = 1.85;

/// For each downspout the intensity at which water first leaves it when the rain on all roofs
/// grows together, to 0.1 %; `None` where none up to ten times the scenario's rain does.
///
/// # Errors
/// [`NotSolved`] where a steady state on the way was not found.
pub fn spill_rain(
    network: &Network,
    scenario: &Scenario,
) -> Result<Vec<Option<Intensity>>, NotSolved> {
    let mut rains = Rains::new(Solver::new(Model::new(network, scenario)));
    let factors = rains.all().map_err(|failed| report::failed(network, &failed))?;
    let times = |factor: f64| Intensity::m_per_s(factor * scenario.intensity.to_m_per_s());
    Ok(factors.into_iter().map(|factor| factor.map(times)).collect())
}

/// The model under a rain of any multiple of the scenario's.
struct Rains {
    solver: Solver,
    design: Vec<f64>,
    pinned: f64,
}

/// How far each downspout is from spilling at one rain, in metres of head at its foot, and the
/// state that says so.
struct Sample {
    factor: f64,
    short_m: Vec<f64>,
    at: Iterate,
}

impl Rains {
    fn new(solver: Solver) -> Self {
        let design: Vec<f64> = solver.model.downspouts.iter().map(DownspoutModel::demand).collect();
        let pinned = if design.len() <= FEW { PINNED_FEW } else { PINNED };
        Self { solver, design, pinned }
    }

    /// For each downspout the multiple of the rain at which it first spills.
    fn all(&mut self) -> Result<Vec<Option<f64>>, Failed> {
        let none = self.sample(0.0, None)?;
        let mut found: Vec<Option<f64>> =
            none.short_m.iter().map(|short| (*short < 0.0).then_some(0.0)).collect();
        if self.design.iter().sum::<f64>() <= 0.0 {
            return Ok(found);
        }
        let most = self.sample(UP_TO, None)?;
        let mut waiting = vec![(Rc::new(none), Rc::new(most), 0)];
        while let Some((low, high, depth)) = waiting.pop() {
            let open: Vec<usize> = (0..found.len())
                .filter(|&d| found[d].is_none() && low.short_m[d] >= 0.0 && high.short_m[d] < 0.0)
                .collect();
            if open.is_empty() {
                continue;
            }
            if high.factor <= DRIZZLE {
                for d in open {
                    found[d] = Some(0.0);
                }
                continue;
            }
            let width = (high.factor - low.factor) / high.factor;
            if width <= self.pinned || depth >= DEEPEST {
                for d in open {
                    let quarter = 0.25 * (high.factor - low.factor);
                    let inside = (low.factor + quarter, high.factor - quarter);
                    found[d] = Some(estimate(&low, &high, d).clamp(inside.0, inside.1));
                }
                continue;
            }
            // A straight line may creep up from one end for ever: every third split is a halving.
            let at = if depth % 3 == 2 {
                0.5 * (low.factor + high.factor)
            } else {
                self.split(&low, &high, &open)
            };
            let middle = Rc::new(self.sample(at, Some(&low))?);
            if width <= NARROW && open.len() > MANY {
                for d in open {
                    let before = estimate(&low, &high, d);
                    let after = if middle.short_m[d] < 0.0 {
                        estimate(&low, &middle, d)
                    } else {
                        estimate(&middle, &high, d)
                    };
                    if (after - before).abs() <= AGREE * after {
                        found[d] = Some(after);
                    }
                }
            }
            waiting.push((Rc::clone(&middle), high, depth + 1));
            waiting.push((low, middle, depth + 1));
        }
        Ok(found)
    }

    /// Solves one rain, starting from that of a lesser one where there is such.
    fn sample(&mut self, factor: f64, less: Option<&Sample>) -> Result<Sample, Failed> {
        let model = &mut self.solver.model;
        for (downspout, design) in model.downspouts.iter_mut().zip(&self.design) {
            downspout.set_demand(design * factor);
        }
        let total: f64 = model.downspouts.iter().map(DownspoutModel::demand).sum();
        model.scale = if total > 0.0 { total } else { 1e-4 };
        let near = less.map(|less| {
            let mut at = less.at.clone();
            for (d, downspout) in model.downspouts.iter().enumerate() {
                if less.short_m[d] >= 0.0 {
                    at.admitted[d] = downspout.demand();
                }
            }
            at
        });
        let solved = match self.solver.solve(near.as_ref()) {
            Err(_) if near.is_some() => self.solver.solve(None)?,
            solved => solved?,
        };
        let short_m = (self.solver.model.downspouts.iter().enumerate())
            .map(|(d, downspout)| {
                let short = downspout.spill_head() - solved.at.head[d];
                // What is taken in full is not spilled, to the last digit.
                if solved.at.admitted[d] == downspout.demand() {
                    short.max(0.0)
                } else {
                    short.min(-1e-300)
                }
            })
            .collect();
        Ok(Sample { factor, short_m, at: solved.at })
    }

    /// The rain at which an interval is split: among the estimates of what is still open, but so
    /// that a spill close to an end is fenced in from its other side.
    fn split(&self, low: &Sample, high: &Sample, open: &[usize]) -> f64 {
        let mut estimates: Vec<f64> = open.iter().map(|&d| estimate(low, high, d)).collect();
        estimates.sort_by(f64::total_cmp);
        let median = estimates[estimates.len() / 2];
        let fence = if open.len() > MANY { 0.3 * NARROW } else { 0.4 * self.pinned } * median;
        let (from, to) = (low.factor, high.factor);
        let wanted = if open.len() > MANY && to - from <= NARROW * to {
            0.5 * (from + to)
        } else if median - from < fence {
            median + fence
        } else if to - median < fence {
            median - fence
        } else {
            median
        };
        if wanted > from && wanted < to { wanted } else { 0.5 * (from + to) }
    }
}

/// Where a straight line between two rains puts a downspout's spill.
fn estimate(low: &Sample, high: &Sample, d: usize) -> f64 {
    let (from, to) = (libm::pow(low.factor, POWER), libm::pow(high.factor, POWER));
    let share = low.short_m[d] / (low.short_m[d] - high.short_m[d]);
    libm::pow(from + share * (to - from), 1.0 / POWER)
}
