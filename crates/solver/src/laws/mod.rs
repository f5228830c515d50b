//! The laws: pure functions, each with its equation, range and source.

pub(crate) mod critical;
pub(crate) mod friction;
pub(crate) mod junction;

#[cfg(test)]
mod tests;
