//! Why a rain table or a course cannot be used.

/// A fault of a rain table or of a course; places count from 0 in the order given.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RainError {
    /// Nothing is given.
    #[error("no rain is given")]
    Empty,
    /// A number that is negative or not finite, or a duration of no length.
    #[error("entry {0} is not a usable number")]
    NotANumber(usize),
    /// An entry is not later, or not longer, than the one before it.
    #[error("entry {0} does not come after the one before it")]
    OutOfOrder(usize),
    /// A longer duration has less rain than a shorter one.
    #[error("the depth of entry {0} is less than that of the shorter duration before it")]
    DepthFalls(usize),
    /// The last rain of a course is not 0.
    #[error("the last rain of a course must be 0")]
    NeverEnds,
    /// A duration outside the table.
    #[error("{asked_s} s is outside the table, which goes from {from_s} s to {to_s} s")]
    OutsideTable {
        /// The duration asked for, s.
        asked_s: f64,
        /// The shortest of the table, s.
        from_s: f64,
        /// The longest of the table, s.
        to_s: f64,
    },
    /// A duration that is not a whole number of steps, or of more than 100,000.
    #[error("the duration is not a whole number of steps (100,000 at most)")]
    NotWholeSteps,
}
