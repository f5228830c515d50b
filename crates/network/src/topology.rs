//! What the graph answers: which lines lie on loops, and the pieces whose loss cuts a downspout off.
//!
//! Nothing here recurses: a line of 100,000 pieces in a row needs no more stack than one.

mod cuts;
mod loops;

pub use cuts::{CutPiece, CutPieces, Piece};

#[cfg(test)]
mod tests;
