//! A finding: what one rule says of one place, with the numbers it went by.

pub use wetrun_verdict::Outcome;

use wetrun_facts::Amount;

/// What one rule says of one place.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Finding {
    /// The rule's stable name.
    pub rule: &'static str,
    /// What it concluded.
    pub outcome: Outcome,
    /// The tag of the place, or `site` where it is about the whole drawing.
    pub at: String,
    /// The number judged, where there is one.
    pub value: Option<Amount>,
    /// The threshold it was held against, where there is one.
    pub limit: Option<Amount>,
    /// The finding in words, in the units of the site file.
    pub message: String,
    /// Where the threshold comes from, and how well that source is known.
    pub basis: String,
    /// What would mend it, where something would.
    pub mend: Option<String>,
    /// The drawing's own words, where it conforms by saying so: a person reads them.
    pub stated: Option<String>,
    /// Keys of the site file that would show what is not shown.
    pub missing: Vec<String>,
}

impl Finding {
    /// The SI unit of the value and the limit; empty where there is neither.
    pub fn unit(&self) -> &'static str {
        self.value.or(self.limit).map_or("", Amount::unit)
    }
}
