//! A small generator for all tests: a seed gives the same numbers on every machine.

/// The generator.
pub(crate) struct Dice(u64);

#[allow(dead_code)]
impl Dice {
    /// A generator whose first numbers hang little on the seed's size: eight are passed over.
    pub(crate) fn new(seed: u64) -> Self {
        let mut dice = Self::cold(seed);
        for _ in 0..8 {
            dice.next();
        }
        dice
    }

    /// The same from its first number on.
    pub(crate) fn cold(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0xD1B5_4A32_D192_ED03)
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.next() >> 11) as f64 / (1_u64 << 53) as f64)
    }

    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    pub(crate) fn chance(&mut self, share: f64) -> bool {
        self.between(0.0, 1.0) < share
    }

    pub(crate) fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len())]
    }
}
