//! The inputs that are doubted: one variable each, told from the drawing and from what may be off.

use crate::law::Law;
use crate::normal;
use std::collections::BTreeSet;
use wetrun_facts::{Doubt, Facts, Spread};
use wetrun_network::{DownspoutId, LineId, Network, Pipe, TankId};
use wetrun_solver::{FrictionLaw, Scenario};
use wetrun_units::{Fraction, Length, Warmth};

/// What an input is of.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Subject {
    /// The rain on all roofs.
    Rain,
    /// Every roof's runoff.
    Runoff,
    /// One roof's area: its place in the facts.
    Area(usize),
    /// The roughness of a pipe type: its place among [`PipeType`]s.
    Roughness(usize),
    /// Its Hazen-Williams coefficient.
    C(usize),
    /// Its bores.
    Bores(usize),
    /// The loss coefficient of a kind of fitting, by name.
    Fitting(String),
    /// The extra loss coefficient of a downspout.
    DownspoutK(DownspoutId),
    /// That of a line.
    LineK(LineId),
    /// What is added to both coefficients of every wye and tee.
    Junctions,
    /// The level of a gutter outlet or leaf head.
    Opening(DownspoutId),
    /// The level of a tank's inlet and overflow.
    Inlet(TankId),
    /// The water's temperature.
    Temperature,
    /// The depth of silt in every line that has none of its own.
    Silt,
    /// The depth of silt in one line.
    SiltOf(LineId),
}

/// By how much an input is, or may be, off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amount {
    /// A share of what is drawn: 0.1 is a tenth more.
    Share(Fraction),
    /// A factor on what is drawn.
    Factor(f64),
    /// A height above what is drawn, or a depth of silt.
    Length(Length),
    /// Warmer than what is drawn.
    Warmth(Warmth),
    /// A loss coefficient.
    Coefficient(f64),
}

/// In what an input is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Unit {
    Share,
    Factor,
    Metre,
    Kelvin,
    Coefficient,
}

impl Unit {
    fn of(self, number: f64) -> Amount {
        match self {
            Self::Share => Amount::Share(Fraction::ratio(number)),
            Self::Factor => Amount::Factor(number),
            Self::Metre => Amount::Length(Length::m(number)),
            Self::Kelvin => Amount::Warmth(Warmth::k(number)),
            Self::Coefficient => Amount::Coefficient(number),
        }
    }
}

/// How an input's law is called.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Like {
    /// Normal.
    Normal,
    /// Normal in the logarithm.
    Lognormal,
    /// Even about what is drawn, or from none where it is silt.
    Even,
}

/// One input.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Input {
    /// Its name: `rain`, `openings.D3`, `k.M3`.
    pub name: String,
    /// What it is of.
    pub subject: Subject,
    /// How its law is called.
    pub like: Like,
    /// Whether the file gives its width.
    pub given: bool,
    /// What the file says that it rests on.
    pub basis: Option<String>,
    pub(crate) law: Law,
    width: f64,
    unit: Unit,
}

/// What an input's number does to what is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Change {
    Times(f64),
    By(f64),
}

impl Input {
    /// What a standard normal number stands for.
    pub(crate) fn change(&self, z: f64) -> Change {
        let value = self.law.value(z);
        match (self.like, self.unit) {
            (Like::Lognormal, _) => Change::Times(libm::exp(libm::log(self.width) * 0.5 * value)),
            (Like::Normal, Unit::Share) => Change::Times(1.0 + 0.5 * self.width * value),
            (Like::Normal, _) => Change::By(0.5 * self.width * value),
            (Like::Even, Unit::Share) => Change::Times(1.0 + self.width * value),
            (Like::Even, _) => Change::By(self.width * value),
        }
    }

    /// The width of its law, as the site file gives it: twice the standard deviation, the half-width
    /// of an even law, the factor of a logarithmic one, the deepest silt.
    pub fn width(&self) -> Amount {
        self.unit.of(self.width)
    }

    /// How a result shows a standard normal number: a change as a share, a roughness as a factor.
    pub(crate) fn shown(&self, z: f64) -> Amount {
        match (self.change(z), &self.subject) {
            (Change::Times(times), Subject::Roughness(_)) => Unit::Factor.of(times),
            (Change::Times(times), _) => Unit::Share.of(times - 1.0),
            (Change::By(by), _) => self.unit.of(by),
        }
    }

    /// The same input known to this width, where that is less.
    pub(crate) fn known_to(&self, width: f64) -> Option<Self> {
        let plain = self.like != Like::Lognormal;
        (plain && width < self.width).then(|| Self { width, ..self.clone() })
    }
}

/// Pipes that are one type: of one name in the catalogue, or of equal numbers.
#[derive(Clone, Debug, Default)]
#[non_exhaustive]
pub struct PipeType {
    /// Its name.
    pub name: String,
    /// The lines that are made of it.
    pub lines: Vec<LineId>,
    /// The downspouts.
    pub downspouts: Vec<DownspoutId>,
    /// The tanks whose overflow is.
    pub overflows: Vec<TankId>,
}

impl PipeType {
    /// The pipe types of a network, in the order in which they come in it.
    pub(crate) fn all(network: &Network) -> Vec<Self> {
        let mut found: Vec<(Pipe, Self)> = Vec::new();
        let mut place = |pipe: &Pipe| {
            let same = |other: &Pipe| match pipe.kind.is_empty() {
                false => other.kind == pipe.kind,
                true => {
                    let numbers = |pipe: &Pipe| (pipe.inside, pipe.roughness, pipe.c);
                    other.kind.is_empty() && numbers(other) == numbers(pipe)
                }
            };
            let known = found.iter().position(|(other, _)| same(other));
            let index = known.unwrap_or(found.len());
            if known.is_none() {
                found.push((pipe.clone(), Self { name: named(pipe), ..Self::default() }));
            }
            index
        };
        let lines: Vec<usize> = network.lines().iter().map(|l| place(&l.pipe)).collect();
        let downspouts: Vec<usize> = network.downspouts().iter().map(|d| place(&d.pipe)).collect();
        let overflow = |tank: &wetrun_network::Tank| {
            let pipe = tank.overflow.as_ref()?.pipe.as_ref()?;
            Some(place(pipe))
        };
        let overflows: Vec<Option<usize>> = network.tanks().iter().map(overflow).collect();
        let mut types: Vec<Self> = found.into_iter().map(|(_, kind)| kind).collect();
        for (index, kind) in lines.into_iter().enumerate() {
            types[kind].lines.push(LineId::new(index));
        }
        for (index, kind) in downspouts.into_iter().enumerate() {
            types[kind].downspouts.push(DownspoutId::new(index));
        }
        for (index, kind) in overflows.into_iter().enumerate() {
            if let Some(kind) = kind {
                types[kind].overflows.push(TankId::new(index));
            }
        }
        // Pipes given by their numbers may be called alike and yet differ in their walls.
        let mut taken = BTreeSet::new();
        for kind in &mut types {
            let plain = kind.name.clone();
            let mut number = 1;
            while !taken.insert(kind.name.clone()) {
                number += 1;
                kind.name = format!("{plain} ({number})");
            }
        }
        types
    }
}

fn named(pipe: &Pipe) -> String {
    if pipe.kind.is_empty() { pipe.label.clone() } else { pipe.kind.clone() }
}

/// The inputs of a drawing, in the order of the site file's keys; what is not doubted is left out.
pub(crate) fn inputs(
    network: &Network,
    facts: &Facts,
    scenario: &Scenario,
    types: &[PipeType],
) -> Vec<Input> {
    let doubts = &facts.doubts;
    let mut found = Vec::new();
    let mut share = |name: String, subject: Subject, doubt: &Doubt<Fraction>| {
        found.extend(input(name, subject, doubt, |part| part.to_ratio(), Unit::Share));
    };
    share("rain".to_owned(), Subject::Rain, &doubts.rain);
    share("runoff".to_owned(), Subject::Runoff, &doubts.runoff);
    for (index, roof) in facts.roofs.iter().enumerate() {
        share(format!("areas.{}", roof.name), Subject::Area(index), &doubts.areas);
    }
    for (index, kind) in types.iter().enumerate() {
        // What water only falls out of has no friction.
        if kind.lines.is_empty() && kind.downspouts.is_empty() {
            continue;
        }
        match scenario.law {
            FrictionLaw::DarcyWeisbach => {
                let name = format!("roughness.{}", kind.name);
                share(name, Subject::Roughness(index), &doubts.roughness);
            }
            FrictionLaw::HazenWilliams => {
                share(format!("c.{}", kind.name), Subject::C(index), &doubts.c);
            }
        }
    }
    for (index, kind) in types.iter().enumerate() {
        share(format!("bores.{}", kind.name), Subject::Bores(index), &doubts.bores);
    }
    for name in fittings(network) {
        share(format!("fittings.{name}"), Subject::Fitting(name), &doubts.fittings);
    }
    for (index, downspout) in network.downspouts().iter().enumerate() {
        if downspout.k != 0.0 {
            let subject = Subject::DownspoutK(DownspoutId::new(index));
            share(format!("k.{}", downspout.tag), subject, &doubts.fittings);
        }
    }
    for (index, line) in network.lines().iter().enumerate() {
        if line.k != 0.0 {
            let subject = Subject::LineK(LineId::new(index));
            share(format!("k.{}", line.tag), subject, &doubts.fittings);
        }
    }
    if network.points().iter().any(|point| point.fitting.is_some()) {
        let (name, doubt) = ("junctions".to_owned(), &doubts.junctions);
        found.extend(input(name, Subject::Junctions, doubt, |k| k, Unit::Coefficient));
    }
    for (index, downspout) in network.downspouts().iter().enumerate() {
        let subject = Subject::Opening(DownspoutId::new(index));
        let (name, doubt) = (format!("openings.{}", downspout.tag), &doubts.openings);
        found.extend(input(name, subject, doubt, |level| level.to_m(), Unit::Metre));
    }
    for (index, tank) in network.tanks().iter().enumerate() {
        let subject = Subject::Inlet(TankId::new(index));
        let (name, doubt) = (format!("inlets.{}", tank.tag), &doubts.inlets);
        found.extend(input(name, subject, doubt, |level| level.to_m(), Unit::Metre));
    }
    let (name, doubt) = ("temperature".to_owned(), &doubts.temperature);
    found.extend(input(name, Subject::Temperature, doubt, |warmth| warmth.to_k(), Unit::Kelvin));
    let mut silt = |name: String, subject: Subject, doubt: &Doubt<Length>| {
        let input = input(name, subject, doubt, |depth| depth.to_m(), Unit::Metre);
        found.extend(input.map(|input| Input { law: Law::Filling, ..input }));
    };
    silt("silt".to_owned(), Subject::Silt, &doubts.silt);
    for (line, doubt) in &doubts.lines {
        silt(format!("silt.{}", network.line(*line).tag), Subject::SiltOf(*line), doubt);
    }
    found
}

/// The names of the fittings that stand in lines and downspouts and cost something.
fn fittings(network: &Network) -> BTreeSet<String> {
    let lines = network.lines().iter().map(|line| &line.fittings);
    let downspouts = network.downspouts().iter().map(|downspout| &downspout.fittings);
    let all = lines.chain(downspouts).flatten();
    let costs = all.filter(|fitting| fitting.count > 0 && fitting.k != 0.0);
    costs.map(|fitting| fitting.name.clone()).collect()
}

fn input<T: Copy>(
    name: String,
    subject: Subject,
    doubt: &Doubt<T>,
    width: impl Fn(T) -> f64,
    unit: Unit,
) -> Option<Input> {
    let (like, width, law) = match doubt.spread {
        Spread::None => return None,
        Spread::Normal(size) => (Like::Normal, width(size), Law::Normal),
        Spread::Even(size) => (Like::Even, width(size), Law::Even),
        Spread::Factor(factor) => (Like::Lognormal, factor, Law::Normal),
    };
    let nothing = if like == Like::Lognormal { 1.0 } else { 0.0 };
    if width <= nothing {
        return None;
    }
    let unit = if like == Like::Lognormal { Unit::Factor } else { unit };
    let (given, basis) = (doubt.given, doubt.basis.clone());
    Some(Input { name, subject, like, width, unit, given, basis, law })
}

/// The chance that a plane at this distance from the drawing has.
pub(crate) fn chance_beyond(distance: f64) -> f64 {
    normal::below(-distance)
}
