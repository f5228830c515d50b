//! What a search for a steady state may cost.

/// Settings of the search. How closely the equations hold is no setting: that is the contract's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Settings {
    /// Newton steps that a state may take in all, whatever the search tries: it ends in bounded time.
    /// By default 30,000; a house takes none to thirty, a mesh of hundreds of pools some hundreds.
    pub steps: u32,
}

impl Default for Settings {
    fn default() -> Self {
        Self { steps: 30_000 }
    }
}
