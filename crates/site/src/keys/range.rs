//! Ranges of what has no unit: numbers, counts and lengths of texts.

use crate::brief::MOST_DOWNSPOUTS;

/// The numbers that may stand under a key.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// In words, as the reader's faults tell it.
    pub words: &'static str,
    /// The least; one that may not be reached itself where `above` says so.
    pub least: f64,
    /// Whether a number must lie above the least.
    pub above: bool,
    /// The largest.
    pub most: f64,
}

impl Range {
    const fn new(words: &'static str, least: f64, most: f64) -> Self {
        Self { words, least, above: false, most }
    }

    /// Whether a number lies in it.
    #[must_use]
    pub fn holds(&self, number: f64) -> bool {
        (self.least..=self.most).contains(&number) && !(self.above && number == self.least)
    }

    /// Any number without unit: a loss coefficient, a price.
    pub const ANY: Self = Self::new("0 to 1000000", 0.0, 1e6);
    /// Every range of a number in a site file.
    pub const ALL: [Self; 5] = [COEFFICIENT_DOUBT, Self::ANY, FACTOR_DOUBT, HAZEN_WILLIAMS, YEARS];
}

/// A loss coefficient.
pub(crate) const COEFFICIENT: Range = Range::ANY;
/// A spread of a loss coefficient.
pub(crate) const COEFFICIENT_DOUBT: Range = Range::new("0 to 1", 0.0, 1.0);
/// A spread as a factor.
pub(crate) const FACTOR_DOUBT: Range = Range::new("from 1 to 100", 1.0, 100.0);
/// A Hazen-Williams coefficient.
pub(crate) const HAZEN_WILLIAMS: Range = Range::new("from 1 to 1000", 1.0, 1000.0);
/// A return period in years.
pub(crate) const YEARS: Range = Range { words: "more than 0", above: true, ..Range::ANY };
/// How many downspouts a brief has.
pub(crate) const DOWNSPOUTS: Range = Range::new("from 1 to 20", 1.0, MOST_DOWNSPOUTS as f64);

/// No name or tag is longer, in characters.
pub const LONGEST_NAME: usize = 200;
/// No free text is longer, in characters.
pub const LONGEST_TEXT: usize = 4000;
/// No count is larger.
pub const MOST_COUNT: u32 = 10_000;
