//! Rod readings: the height of the instrument from a known level, and levels from the rod.
//!
//! The instrument looks level: the level of its sight is the known level plus the reading on a
//! rod that stands there (the backsight), and any other level is that height less the reading
//! there (a foresight). A rod held upside down, its foot at a level above the sight, reads
//! negative.

use thiserror::Error;
use wetrun_units::Length;

/// An instrument set up: the level of its line of sight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Instrument {
    /// Height of instrument.
    pub height: Length,
}

impl Instrument {
    /// Set up over a backsight: the reading on a rod that stands at a known level.
    pub fn over(known: Length, backsight: Length) -> Self {
        Self { height: known + backsight }
    }

    /// The reading on a rod that stands at `level`; negative above the line of sight.
    pub fn reading(self, level: Length) -> Length {
        self.height - level
    }

    /// The level at which a rod stands that reads so.
    pub fn level(self, reading: Length) -> Length {
        self.height - reading
    }
}

/// A run of levels: one instrument set-up after another, joined by turning points.
///
/// Errors of closing are stated, never spread over the run: who finds one too large shoots again.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LevelRun {
    instrument: Option<Instrument>,
    known: Vec<(String, Length)>,
    closes: Vec<Close>,
}

/// A closing check: the level that the run brings to a benchmark, beside the benchmark's own.
#[derive(Clone, Debug, PartialEq)]
pub struct Close {
    /// The benchmark.
    pub on: String,
    /// Its own level.
    pub known: Length,
    /// The level by the run.
    pub found: Length,
}

impl Close {
    /// By how much the run comes out too high.
    pub fn error(&self) -> Length {
        self.found - self.known
    }
}

/// A reading that cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum RunError {
    /// No instrument has been set up yet.
    #[error("no backsight has been taken yet, so no height of instrument is known")]
    NoInstrument,
    /// A name that is neither a benchmark nor a turning point.
    #[error("`{0}` is neither a benchmark nor a turning point shot before")]
    Unknown(String),
}

impl LevelRun {
    /// A run that starts from benchmarks: names with their levels.
    pub fn new(benchmarks: impl IntoIterator<Item = (String, Length)>) -> Self {
        Self { known: benchmarks.into_iter().collect(), ..Self::default() }
    }

    /// The instrument as it stands now.
    pub fn instrument(&self) -> Option<Instrument> {
        self.instrument
    }

    /// The closing checks so far.
    pub fn closes(&self) -> &[Close] {
        &self.closes
    }

    /// Sets the instrument up over a benchmark or a turning point.
    ///
    /// # Errors
    /// [`RunError::Unknown`].
    pub fn backsight(&mut self, on: &str, reading: Length) -> Result<Instrument, RunError> {
        let instrument = Instrument::over(self.level_of(on)?, reading);
        self.instrument = Some(instrument);
        Ok(instrument)
    }

    /// The level at which a rod stands that reads so.
    ///
    /// # Errors
    /// [`RunError::NoInstrument`].
    pub fn foresight(&self, reading: Length) -> Result<Length, RunError> {
        Ok(self.instrument.ok_or(RunError::NoInstrument)?.level(reading))
    }

    /// Shoots a turning point, from which the next set-up may take its backsight.
    ///
    /// # Errors
    /// [`RunError::NoInstrument`].
    pub fn turn(&mut self, name: &str, reading: Length) -> Result<Length, RunError> {
        let level = self.foresight(reading)?;
        self.known.push((name.to_owned(), level));
        Ok(level)
    }

    /// Shoots a benchmark to see how well the run closes.
    ///
    /// # Errors
    /// [`RunError`].
    pub fn close(&mut self, on: &str, reading: Length) -> Result<Close, RunError> {
        let found = self.foresight(reading)?;
        let close = Close { on: on.to_owned(), known: self.level_of(on)?, found };
        self.closes.push(close.clone());
        Ok(close)
    }

    /// The level of a benchmark, or of a turning point as it was shot last.
    fn level_of(&self, name: &str) -> Result<Length, RunError> {
        let known = self.known.iter().rev().find(|(known, _)| known == name);
        known.map(|(_, level)| *level).ok_or_else(|| RunError::Unknown(name.to_owned()))
    }
}
