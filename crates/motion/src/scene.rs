//! What a run over time is asked for: the network, its roofs and gutters, and how the tanks stand.

use crate::watch::Watch;
use wetrun_network::{DownspoutId, Network};
use wetrun_solver::FrictionLaw;
use wetrun_units::{Area, Fraction, Length, Temperature, Time};

/// A system at rest, before any rain.
#[derive(Clone, Debug)]
pub struct Scene<'a> {
    /// The network.
    pub network: &'a Network,
    /// Friction law.
    pub law: FrictionLaw,
    /// Water temperature, 0 to 40 degrees Celsius.
    pub temperature: Temperature,
    /// The roofs; demand comes from them, not from the network's catchments.
    pub roofs: Vec<Roof>,
    /// For each downspout its part of the gutter it hangs on, where that stores water.
    pub gutters: Vec<Option<GutterStore>>,
    /// How each tank stands at first.
    pub tanks: Vec<TankStart>,
    /// Who looks on.
    pub watch: Watch<'a>,
}

/// A roof.
#[derive(Clone, Debug, PartialEq)]
pub struct Roof {
    /// Area in plan, above 0.
    pub area: Area,
    /// Part of the rain that runs off, 0 to 1.
    pub runoff: Fraction,
    /// First depth of a rain that wets it and runs nowhere, 0 or more.
    pub wetting: Length,
    /// Time constant of the linear store that its runoff passes, 0 or more.
    pub lag: Time,
    /// The downspouts it drains to, with their shares.
    pub shares: Vec<(DownspoutId, Fraction)>,
}

/// The section of a gutter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GutterShape {
    /// A circular segment.
    HalfRound,
    /// Upright walls.
    Rectangular,
    /// Walls that lean outward.
    Trapezoidal,
}

/// What a gutter stores over one downspout, taken level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GutterStore {
    /// Its section.
    pub shape: GutterShape,
    /// Width across the top, above 0.
    pub width: Length,
    /// Width of the sole, of a trapezoidal one.
    pub bottom: Length,
    /// Depth, above 0.
    pub depth: Length,
    /// The length of it that belongs to this downspout.
    pub length: Length,
}

/// How a tank stands at first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TankStart {
    /// At its overflow, or as high as the water that this ends in.
    Full,
    /// Empty: below every inlet.
    Empty,
    /// At a level, at most its overflow's.
    Level(Length),
    /// At a share of its volume, 0 to 1.
    Share(Fraction),
}
