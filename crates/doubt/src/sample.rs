//! The samples: inputs drawn by a Latin design, each solved and judged.

use crate::binomial;
use crate::drawing::Drawing;
use crate::input::Input;
use crate::latin;
use crate::parallel;

/// What came of one sample.
#[derive(Clone, Debug)]
pub(crate) struct Outcome {
    pub(crate) fails: bool,
    /// For each downspout.
    pub(crate) spills: Vec<bool>,
    pub(crate) short: Vec<bool>,
    pub(crate) headroom_m: Vec<f64>,
}

impl Outcome {
    pub(crate) fn least_headroom_m(&self) -> f64 {
        self.headroom_m.iter().copied().fold(f64::INFINITY, f64::min)
    }

    pub(crate) fn spills_anywhere(&self) -> bool {
        self.spills.contains(&true)
    }
}

/// How many samples, from which seed, on how many threads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Asked {
    /// How many samples, 1 or more.
    pub samples: usize,
    /// The seed of the generator.
    pub seed: u64,
    /// Threads to work on; the result does not hang on their number.
    pub threads: usize,
}

impl Asked {
    /// Samples where nobody asks for another number.
    pub const SAMPLES: usize = 4096;
    /// The seed where nobody names one.
    pub const SEED: u64 = 1;

    /// What is asked where nobody says anything.
    pub const fn usual(threads: usize) -> Self {
        Self { samples: Self::SAMPLES, seed: Self::SEED, threads }
    }
}

/// A chance, and the bounds between which it lies at 95 %.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chance {
    /// The share of the samples.
    pub chance: f64,
    /// Its lower bound.
    pub low: f64,
    /// Its upper bound.
    pub high: f64,
}

impl Chance {
    pub(crate) fn of(seen: usize, all: usize) -> Self {
        if all == 0 {
            return Self { chance: 0.0, low: 0.0, high: 1.0 };
        }
        let (low, high) = binomial::bounds(seen, all);
        Self { chance: seen as f64 / all as f64, low, high }
    }
}

/// The inputs of every sample, as standard normal numbers.
pub(crate) fn design(inputs: &[Input], asked: &Asked) -> Vec<Vec<f64>> {
    let columns: Vec<Vec<f64>> = parallel::each(inputs.len(), asked.threads, |input| {
        let input = &inputs[input];
        let units = latin::column(asked.seed, &input.name, asked.samples);
        units.into_iter().map(|unit| input.law.drawn(unit)).collect()
    });
    let of = |sample: usize| columns.iter().map(|column| column[sample]).collect();
    (0..asked.samples).map(of).collect()
}

/// What comes of every sample; `None` where one was not solved.
pub(crate) fn outcomes(
    drawing: &Drawing<'_>,
    inputs: &[Input],
    samples: &[Vec<f64>],
    threads: usize,
) -> Vec<Option<Outcome>> {
    parallel::each(samples.len(), threads, |sample| outcome(drawing, inputs, &samples[sample]))
}

/// What comes of one.
pub(crate) fn outcome(drawing: &Drawing<'_>, inputs: &[Input], z: &[f64]) -> Option<Outcome> {
    let (network, steady) = drawing.state(inputs, z)?;
    let verdict = (drawing.judge)(&network, &steady, drawing.facts);
    Some(Outcome {
        fails: !verdict.holds(),
        spills: verdict.margins.iter().map(|margin| margin.spills).collect(),
        short: verdict.margins.iter().map(|margin| margin.lacks()).collect(),
        headroom_m: steady.downspouts.iter().map(|state| state.headroom.to_m()).collect(),
    })
}

/// The value below which a share of the sorted values lies, between neighbours in proportion.
pub(crate) fn quantile(sorted: &[f64], share: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else { return f64::NAN };
    let at = share * last as f64;
    let below = at.floor();
    let (low, high) = (below as usize, (below as usize + 1).min(last));
    sorted[low] + (at - below) * (sorted[high] - sorted[low])
}

#[cfg(test)]
mod tests {
    use super::quantile;

    #[test]
    fn quantiles_of_a_few() {
        let sorted = [1.0, 2.0, 4.0, 8.0, 16.0];
        for (share, value) in [(0.0, 1.0), (0.5, 4.0), (1.0, 16.0), (0.25, 2.0), (0.95, 14.4)] {
            assert!((quantile(&sorted, share) - value).abs() < 1e-12, "{share}");
        }
    }
}
