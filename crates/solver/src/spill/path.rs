//! A state led on along its straight lines as the rain grows, from one spill to the next.
//!
//! A head falls or rises about as a power of the rain, flows grow as the rain itself: in these
//! measures both go straight on until a place spills. From there on that place holds the head below
//! it, and all answers anew by the same conductances.

use super::Sample;
use crate::assembly::{Assembly, carry};
use crate::coupling::{Asks, Pull, asks, legs, moves};
use crate::elimination::Kept;
use crate::gap::rises;
use crate::line::Joint;
use crate::lip::Lip;
use crate::model::{Iterate, Model};
use crate::steady::Solver;
use crate::tangent::{LEAST_RESISTANCE, Slopes};
use crate::tank::Letting;

/// The height that a downspout lacks falls about as this power of the rain.
const POWER: f64 = 1.85;

/// What is to spill within this share of the rain may stand at its rim for long before it does.
const AT_ONCE: f64 = 1e-6;

/// What a path has gone astray at its end tells by how much it had before, as the square of the way,
/// within so much of it times the root of the way: as if it went by any power of the way from nearly
/// the first to the sixth. A little way says little: much further on it may have made up for itself.
const ABOUT: f64 = 0.4;

/// Where a path goes, at the rain to which it has led.
pub(super) struct Path {
    start: f64,
    /// The rain.
    pub(super) factor: f64,
    /// Its flows are still those of the start.
    at: Iterate,
    /// The answers that the flows have followed since, each by how much rain.
    followed: Answers,
    slopes: Slopes,
    asks: Asks,
    /// The lips, then the tanks' rims.
    places: Vec<Place>,
    /// Of each lip how the head falls up to which it takes all, at the start.
    falls: Vec<f64>,
    rates: Rates,
    /// Of the rates, where the unknowns form a tree without wyes and tees.
    kept: Option<Kept>,
}

/// A lip, or a tank's rim.
#[derive(Clone, Copy)]
struct Place {
    /// As in [`Sample::spare`].
    spare: f64,
    /// How that changes with the rain, a height by [`Path::height`].
    rate: f64,
    leaves: bool,
    /// The rain at which the path saw it spill.
    spilled_at: Option<f64>,
}

/// How a state changes with the rain.
#[derive(Default)]
struct Rates {
    /// What the rain brings to each unknown as it grows.
    net: Vec<f64>,
    admitted: Vec<f64>,
    /// Heads and levels, and the offsets of the legs of wyes, by [`Path::height`].
    answers: Answers,
}

/// Of each unknown, and of each leg of a wye.
#[derive(Default)]
struct Answers {
    unknowns: Vec<f64>,
    offset: Vec<f64>,
}

impl Path {
    /// The path from a state under the rain that the model has; `None` where it tells of none.
    pub(super) fn new(solver: &mut Solver, design: &[f64], from: &Sample) -> Option<Self> {
        let model = &solver.model;
        let found = from.rises.is_none().then(|| rises(model, &from.at));
        let lines = from.rises.as_ref().or(found.as_ref())?;
        let mut slopes = Slopes::of(model, &from.at, lines);
        for (d, lip) in model.lips.iter().enumerate() {
            if from.at.admitted[d] >= lip.demand() {
                slopes.takes[d].1 = 0.0;
            }
        }
        let place =
            |&spare: &f64| Place { spare, rate: 0.0, leaves: spare < 0.0, spilled_at: None };
        let fall = |(lip, design): (&Lip, &f64)| design * lip.lip_loss(lip.demand()).d_flow;
        let mut path = Self {
            falls: model.lips.iter().zip(design).map(fall).collect(),
            start: from.factor,
            factor: from.factor,
            at: from.at.clone(),
            followed: Answers {
                unknowns: vec![0.0; model.unknowns()],
                offset: vec![0.0; legs(model).count()],
            },
            asks: asks(model, &from.at),
            slopes,
            places: from.spare.iter().map(place).collect(),
            rates: Rates::default(),
            kept: None,
        };
        let (model, assembly) = solver.with_assembly();
        path.slopes.assemble(model, assembly);
        path.turn(model, assembly, design).then_some(path)
    }

    /// Follows the path past every spill up to a rain; gives the next one.
    pub(super) fn pass_up_to(
        &mut self,
        factor: f64,
        solver: &mut Solver,
        design: &[f64],
    ) -> Option<f64> {
        loop {
            let (place, next) = self.next()?;
            if next > factor {
                return Some(next);
            }
            let (model, assembly) = solver.with_assembly();
            self.lead_to(next, model);
            self.spill(model, assembly, place);
            if !self.turn_at(place, model, assembly, design) && !self.turn(model, assembly, design)
            {
                return None;
            }
        }
    }

    /// Goes straight on to a rain.
    pub(super) fn lead_to(&mut self, factor: f64, model: &Model) {
        let rain = factor - self.factor;
        let height = self.height(factor) - self.height(self.factor);
        self.factor = factor;
        let go = |values: &mut [f64], rates: &[f64], by: f64| {
            for (value, rate) in values.iter_mut().zip(rates) {
                *value += by * rate;
            }
        };
        let Answers { unknowns, offset } = &self.rates.answers;
        go(&mut self.at.head, unknowns, height);
        go(&mut self.followed.unknowns, unknowns, rain);
        go(&mut self.followed.offset, offset, rain);
        go(&mut self.at.admitted, &self.rates.admitted, rain);
        let levels = unknowns.iter().skip(model.nodes);
        for (&tank, rate) in model.moving.iter().zip(levels) {
            if let Some(level) = &mut self.at.water[tank] {
                *level += height * rate;
            }
        }
        for ((line, side), rate) in legs(model).zip(offset) {
            self.at.offset[line][side] += height * rate;
        }
        for place in &mut self.places {
            place.spare += place.rate * if place.leaves { rain } else { height };
        }
    }

    /// The state to which it has led, as a start for a search.
    pub(super) fn led(&self, model: &Model, design: &[f64]) -> Iterate {
        let mut at = self.at.clone();
        for (line, flow) in at.flow.iter_mut().enumerate() {
            *flow += self.slopes.change(model, line, &self.followed.unknowns);
        }
        for ((line, side), change) in legs(model).zip(&self.followed.offset) {
            at.flow[line] += self.slopes.parts[line].d_end[side] * change;
        }
        for ((admitted, place), design) in at.admitted.iter_mut().zip(&self.places).zip(design) {
            let demand = self.factor * design;
            *admitted = if place.leaves { admitted.min(demand) } else { demand };
        }
        at
    }

    /// The rain at which the path saw the last place spill.
    pub(super) fn spilled_last(&self) -> Option<f64> {
        self.places.iter().filter_map(|place| place.spilled_at).max_by(f64::total_cmp)
    }

    /// The rain at which the path saw a place spill.
    pub(super) fn spilled_at(&self, place: usize) -> Option<f64> {
        self.places[place].spilled_at
    }

    /// The rain at which a place spills that spares this in truth, as the path tells it, and by how
    /// much that may err. A path touches the truth at its start, so it goes astray about as the square
    /// of the way; but not where a law `bends`.
    pub(super) fn told(&self, place: usize, spare: f64, bends: bool) -> Option<(f64, f64)> {
        let place = &self.places[place];
        let spilled_at = place.spilled_at.filter(|at| *at > self.start * (1.0 + AT_ONCE))?;
        let astray = (place.spare - spare) / place.rate;
        let share = (spilled_at - self.start) / (self.factor - self.start);
        Some(if bends {
            (spilled_at, astray.abs())
        } else {
            (spilled_at + astray * share * share, ABOUT * astray.abs() * share.sqrt())
        })
    }

    /// A measure of the rain by which heads go straight on; it grows as the rain does at the start.
    fn height(&self, factor: f64) -> f64 {
        self.start / POWER * (libm::pow(factor / self.start, POWER) - 1.0)
    }

    /// The place that spills next, and the rain.
    fn next(&self) -> Option<(usize, f64)> {
        let height = |place: &Place| place.spare / -place.rate;
        let (place, least) = (self.places.iter().enumerate())
            .filter(|(_, place)| !place.leaves && place.rate < 0.0)
            .map(|(index, place)| (index, height(place)))
            .min_by(|one, other| one.1.total_cmp(&other.1))?;
        let height = self.height(self.factor) + least;
        let factor = self.start * libm::pow(1.0 + POWER * height / self.start, 1.0 / POWER);
        Some((place, factor.max(self.factor)))
    }

    /// Lets a place spill from here on.
    fn spill(&mut self, model: &Model, assembly: &mut Assembly, place: usize) {
        self.places[place] =
            Place { spare: 0.0, rate: 0.0, leaves: true, spilled_at: Some(self.factor) };
        if let Some(lip) = model.lips.get(place) {
            let resistance = lip.lip_loss(self.at.admitted[place]).d_flow;
            let conductance = 1.0 / resistance.max(LEAST_RESISTANCE);
            self.slopes.takes[place].1 = -conductance;
            assembly.matrix.add(place, conductance);
        } else if let Ok(moving) = model.moving.binary_search(&(place - model.lips.len())) {
            self.slopes.lettings[moving] = Letting::held();
            self.slopes.assemble(model, assembly);
        }
    }

    /// Works out how all answers from here on, by the system as it is assembled; gives whether it
    /// could.
    fn turn(&mut self, model: &Model, assembly: &mut Assembly, design: &[f64]) -> bool {
        let mut net = vec![0.0; model.unknowns()];
        let rains = net.iter_mut().zip(&self.places).zip(design);
        for ((net, _), rain) in rains.filter(|((_, place), _)| !place.leaves) {
            *net = *rain;
        }
        self.kept = None;
        self.rates = Rates { net, admitted: design.to_vec(), ..Rates::default() };
        let solved = if model.junctions.is_empty() {
            let kept = assembly.matrix.solve_kept(&self.rates.net, self.slopes.damping);
            kept.map(|(unknowns, kept)| {
                self.kept = Some(kept);
                unknowns
            })
            .or_else(|| self.slopes.solve(assembly, &self.rates.net))
        } else {
            self.with_wyes(model, assembly)
        };
        let Some(unknowns) = solved else { return false };
        self.rates.answers.unknowns = unknowns;
        for lip in 0..model.lips.len() {
            self.set_rate(lip, design);
        }
        self.set_rates_of_rims(model);
        true
    }

    /// The changes of all unknowns where wyes and tees answer too.
    fn with_wyes(&mut self, model: &Model, assembly: &mut Assembly) -> Option<Vec<f64>> {
        let still = vec![0.0; legs(model).count()];
        let pull = Pull { net: self.rates.net.clone(), led: still.clone(), miss: still };
        let offset = moves(model, assembly, &self.slopes, &self.asks, &pull)?;
        let mut net = pull.net;
        for ((line, side), rate) in legs(model).zip(&offset) {
            carry(model, &mut net, line, self.slopes.parts[line].d_end[side] * rate);
        }
        self.rates.answers.offset = offset;
        self.slopes.solve(assembly, &net)
    }

    /// The same after a lip has begun to spill, where only what answers to that changes.
    fn turn_at(
        &mut self,
        place: usize,
        model: &Model,
        assembly: &Assembly,
        design: &[f64],
    ) -> bool {
        let Some(kept) = self.kept.as_mut().filter(|_| place < model.lips.len()) else {
            return false;
        };
        let rates = &mut self.rates;
        rates.net[place] = 0.0;
        let (matrix, damping) = (&assembly.matrix, self.slopes.damping);
        let changed =
            matrix.solve_again(&rates.net, damping, place, kept, &mut rates.answers.unknowns);
        let Some(changed) = changed else { return false };
        self.set_rate(place, design);
        for &lip in changed.iter().filter(|&&unknown| unknown < model.lips.len()) {
            self.set_rate(lip, design);
        }
        self.set_rates_of_rims(model);
        true
    }

    /// How a lip answers, by what the head below it does.
    fn set_rate(&mut self, lip: usize, design: &[f64]) {
        let head = self.rates.answers.unknowns[lip];
        let place = &mut self.places[lip];
        if place.leaves {
            self.rates.admitted[lip] = self.slopes.takes[lip].1 * head;
            place.rate = self.rates.admitted[lip] - design[lip];
        } else {
            place.rate = -self.falls[lip] - head;
        }
    }

    /// How the tanks' rims answer, by what the levels do.
    fn set_rates_of_rims(&mut self, model: &Model) {
        let unknowns = &self.rates.answers.unknowns;
        for (moving, &tank) in model.moving.iter().enumerate() {
            let change = unknowns[model.nodes + moving];
            let beyond = model.tanks[tank].to.and_then(|to| model.unknown(Joint::Tank(to)));
            let place = &mut self.places[model.lips.len() + tank];
            place.rate = if place.leaves {
                let beyond = beyond.map_or(0.0, |beyond| unknowns[beyond]);
                -self.slopes.lettings[moving].over(change, beyond)
            } else {
                -change
            };
        }
    }
}
