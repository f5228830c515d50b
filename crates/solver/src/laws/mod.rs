//! The laws: pure functions, each with its equation, range and source.
