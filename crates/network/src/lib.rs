//! Downspouts, buried lines and tank inlets as a validated graph.
//!
//! A [`Network`] in hand is valid: its ids exist, lengths and bores are positive and finite,
//! and every downspout has a way to a tank. What leans on it need not ask again.
//!
//! One downspout on one line to a tank:
//!
//! ```
//! use wetrun_network::{
//!     Downspout, DownspoutId, End, Line, Network, Parts, Pipe, Station, Tank, TankId,
//! };
//! use wetrun_units::{Area, Length};
//!
//! let pipe = Pipe { inside: Length::m(0.102), ..Pipe::default() };
//! let (foot, inlet) = (Length::m(0.5), Length::m(2.6));
//! let at = |at: f64, level| Station { at: Length::m(at), level, ground: None };
//! let parts = Parts {
//!     downspouts: vec![Downspout {
//!         tag: "D1".to_owned(),
//!         outlet: Length::m(3.0),
//!         lip: Length::m(3.05),
//!         foot,
//!         pipe: pipe.clone(),
//!         catchment: Area::m2(60.0),
//!         ..Downspout::default()
//!     }],
//!     lines: vec![Line {
//!         tag: "L1".to_owned(),
//!         from: End::Downspout(DownspoutId::new(0)),
//!         to: End::Tank(TankId::new(0)),
//!         pipe,
//!         length: Length::m(20.0),
//!         fittings: Vec::new(),
//!         k: 0.0,
//!         profile: vec![at(0.0, foot), at(20.0, inlet)],
//!     }],
//!     tanks: vec![Tank { tag: "T1".to_owned(), inlet, ..Tank::default() }],
//!     ..Parts::default()
//! };
//!
//! // Every fault is told, not the first alone.
//! let mut wrong = parts.clone();
//! wrong.lines[0].pipe.inside = Length::ZERO;
//! wrong.downspouts[0].pipe.inside = Length::ZERO;
//! assert_eq!(Network::build(wrong).map_err(|faults| faults.len()), Err(2));
//!
//! let network = Network::build(parts).map_err(|faults| faults[0].clone())?;
//! assert_eq!(network.lines()[0].to, End::Tank(TankId::new(0)));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod cascade;
mod changes;
mod graph;
mod id;
pub mod limits;
mod network;
mod parts;
mod problem;
mod replace;
mod test_level;
mod topology;
mod validate;

pub use cascade::cascade;
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
