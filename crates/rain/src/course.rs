//! How a storm passes: rain that holds until the next time.

use crate::RainError;
use wetrun_units::{Intensity, Length, Time};

/// One rain and the moment it starts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Block {
    /// Start, s.
    pub at_s: f64,
    /// Rain until the next block, m/s.
    pub rain_m_per_s: f64,
}

/// A course of rain: dry before its first block, times rise, the last rain is 0.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    blocks: Vec<Block>,
}

impl Course {
    /// A course from its times and rains.
    ///
    /// # Errors
    /// No blocks, negative numbers, times that do not rise, a last rain that is not 0.
    pub fn new(rains: &[(Time, Intensity)]) -> Result<Self, RainError> {
        let mut blocks: Vec<Block> = Vec::new();
        for (place, (at, rain)) in rains.iter().enumerate() {
            let block = Block { at_s: at.to_s(), rain_m_per_s: rain.to_m_per_s() };
            let usable = |v: f64| v.is_finite() && v >= 0.0;
            if !usable(block.at_s) || !usable(block.rain_m_per_s) {
                return Err(RainError::NotANumber(place));
            }
            if blocks.last().is_some_and(|before| block.at_s <= before.at_s) {
                return Err(RainError::OutOfOrder(place));
            }
            blocks.push(block);
        }
        match blocks.last() {
            None => Err(RainError::Empty),
            Some(last) if last.rain_m_per_s > 0.0 => Err(RainError::NeverEnds),
            Some(_) => Ok(Self { blocks }),
        }
    }

    /// The blocks in order; every start is a break at which a step in time has to end.
    #[must_use]
    pub fn blocks(&self) -> &[Block] {
        &self.blocks
    }

    /// The whole depth.
    #[must_use]
    pub fn depth(&self) -> Length {
        let pairs = self.blocks.iter().zip(self.blocks.iter().skip(1));
        Length::m(pairs.map(|(a, b)| a.rain_m_per_s * (b.at_s - a.at_s)).sum())
    }

    /// The course that is left once its first `wetting` has wetted the roofs and run nowhere.
    #[must_use]
    pub fn after_wetting(&self, wetting: Length) -> Self {
        let mut left = wetting.to_m();
        let mut blocks = Vec::new();
        for (place, block) in self.blocks.iter().enumerate() {
            let end = self.blocks.get(place + 1).map_or(block.at_s, |next| next.at_s);
            let depth = block.rain_m_per_s * (end - block.at_s);
            if left <= 0.0 || depth <= 0.0 {
                blocks.push(*block);
                continue;
            }
            blocks.push(Block { rain_m_per_s: 0.0, ..*block });
            if depth > left {
                let at_s = block.at_s + left / block.rain_m_per_s;
                blocks.push(Block { at_s, ..*block });
            }
            left -= depth;
        }
        Self { blocks }
    }
}
