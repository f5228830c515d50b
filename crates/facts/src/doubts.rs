//! How well the numbers of a drawing are known: a law for each kind of number.

use wetrun_network::LineId;
use wetrun_units::{Fraction, Length, Warmth};

/// How the true number may lie about the drawn one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spread<T> {
    /// It is the drawn one.
    None,
    /// By a normal law about it, cut at three standard deviations: given is twice the standard
    /// deviation.
    Normal(T),
    /// Anywhere within this of it, evenly.
    Even(T),
    /// Its logarithm by a normal law, cut at three standard deviations: given is the number whose
    /// logarithm is twice the standard deviation, 1 or more.
    Factor(f64),
}

/// The doubt about one kind of number.
#[derive(Clone, Debug, PartialEq)]
pub struct Doubt<T> {
    /// The law.
    pub spread: Spread<T>,
    /// Whether the file gives it; else it is the built-in one.
    pub given: bool,
    /// What the file says that it rests on.
    pub basis: Option<String>,
}

impl<T> Doubt<T> {
    /// The built-in doubt.
    pub const fn usual(spread: Spread<T>) -> Self {
        Self { spread, given: false, basis: None }
    }
}

/// The doubts about a drawing.
///
/// Lengths spread a level; fractions spread a number by shares of itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Doubts {
    /// Of the rain on all roofs together.
    pub rain: Doubt<Fraction>,
    /// Of every roof's runoff, together.
    pub runoff: Doubt<Fraction>,
    /// Of each roof's area.
    pub areas: Doubt<Fraction>,
    /// Of the roughness of each pipe type.
    pub roughness: Doubt<Fraction>,
    /// Of the Hazen-Williams coefficient of each pipe type.
    pub c: Doubt<Fraction>,
    /// Of the bores of each pipe type, together.
    pub bores: Doubt<Fraction>,
    /// Of the loss coefficient of each kind of fitting, and of each extra `k`.
    pub fittings: Doubt<Fraction>,
    /// Of what is added to both coefficients of every wye and tee.
    pub junctions: Doubt<f64>,
    /// Of the level of each gutter outlet or leaf head.
    pub openings: Doubt<Length>,
    /// Of the level of each tank inlet with its overflow.
    pub inlets: Doubt<Length>,
    /// Of the water's temperature.
    pub temperature: Doubt<Warmth>,
    /// The deepest that silt may lie in every line, from none evenly.
    pub silt: Doubt<Length>,
    /// The same of one line, in the order of the file.
    pub lines: Vec<(LineId, Doubt<Length>)>,
}

impl Default for Doubts {
    fn default() -> Self {
        use Spread::{Even, Factor, Normal};
        let share = |part: f64| Doubt::usual(Normal(Fraction::ratio(part)));
        Self {
            rain: share(0.15),
            runoff: share(0.03),
            areas: share(0.03),
            roughness: Doubt::usual(Factor(3.0)),
            c: share(0.05),
            bores: share(0.005),
            fittings: share(0.30),
            junctions: Doubt::usual(Normal(0.2)),
            openings: Doubt::usual(Normal(Length::m(0.006))),
            inlets: Doubt::usual(Normal(Length::m(0.006))),
            temperature: Doubt::usual(Normal(Warmth::k(5.0))),
            silt: Doubt::usual(Even(Length::ZERO)),
            lines: Vec::new(),
        }
    }
}
