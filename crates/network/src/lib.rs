//! Downspouts, buried lines and tank inlets as a validated graph.
//!
//! A [`Network`] in hand is valid: its ids exist, lengths and bores are positive and finite,
//! and every downspout has a way to a tank. Nobody checks again.

pub mod catalogue;
mod graph;
mod id;
pub mod limits;
mod network;
mod parts;
mod problem;
mod test_level;
mod topology;
mod validate;

pub use graph::Groups;
pub use id::{DownspoutId, LineId, PlaceId, PointId, TankId};
pub use network::Network;
pub use parts::{
    Downspout, End, FittingUse, Junction, JunctionKind, Line, LineEnd, Opening, OpeningKind,
    Overflow, Parts, Pipe, Point, Station, Tank,
};
pub use problem::Problem;
pub use test_level::{Mouth, TestLevel};
pub use topology::{CutPiece, CutPieces, Piece};
