//! One thing that fails, and how it ranks.

use std::cmp::Ordering;
use wetrun_network::{DownspoutId, Network, PointId, TankId};
use wetrun_units::{Flow, Length};

/// One thing that fails in the storm.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Failure {
    /// A downspout does not take all that its roofs bring, or water comes out of it.
    Spills {
        /// The downspout.
        at: DownspoutId,
        /// What leaves there.
        spilled: Flow,
    },
    /// Water comes out of a vent or an open cap.
    Escapes {
        /// The point.
        at: PointId,
        /// What leaves there.
        escapes: Flow,
    },
    /// Water runs over a tank's wall.
    OverRim {
        /// The tank.
        at: TankId,
        /// What leaves there.
        over: Flow,
    },
    /// The gutter cannot carry its share to the outlet.
    Gutter {
        /// The downspout whose gutter it is.
        at: DownspoutId,
        /// What it cannot carry.
        short: Flow,
    },
    /// The outlet in the gutter floor cannot take its share.
    Outlet {
        /// The downspout whose outlet it is.
        at: DownspoutId,
        /// What it cannot take.
        short: Flow,
    },
    /// Water stands closer below the opening than was asked for.
    Freeboard {
        /// The downspout.
        at: DownspoutId,
        /// How far the water stands below the opening.
        headroom: Length,
        /// How far it was asked to.
        asked: Length,
    },
}

/// The kind of a failure, without its place and number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// A downspout spills.
    Spill,
    /// A vent or cap lets water out.
    Escape,
    /// A tank runs over its rim.
    Rim,
    /// A gutter cannot carry its share.
    Gutter,
    /// A gutter's outlet cannot take its share.
    Outlet,
    /// Freeboard is lacking.
    Freeboard,
}

impl Failure {
    /// Its kind.
    pub fn cause(&self) -> Cause {
        match self {
            Self::Spills { .. } => Cause::Spill,
            Self::Escapes { .. } => Cause::Escape,
            Self::OverRim { .. } => Cause::Rim,
            Self::Gutter { .. } => Cause::Gutter,
            Self::Outlet { .. } => Cause::Outlet,
            Self::Freeboard { .. } => Cause::Freeboard,
        }
    }

    /// The water that it lets go where it should not; none where only freeboard is lacking.
    pub fn lost(&self) -> Flow {
        match self {
            Self::Spills { spilled: lost, .. }
            | Self::Escapes { escapes: lost, .. }
            | Self::OverRim { over: lost, .. }
            | Self::Gutter { short: lost, .. }
            | Self::Outlet { short: lost, .. } => *lost,
            Self::Freeboard { .. } => Flow::ZERO,
        }
    }

    /// The downspout where it is, if it is at one.
    pub fn downspout(&self) -> Option<DownspoutId> {
        match self {
            Self::Spills { at, .. }
            | Self::Gutter { at, .. }
            | Self::Outlet { at, .. }
            | Self::Freeboard { at, .. } => Some(*at),
            Self::Escapes { .. } | Self::OverRim { .. } => None,
        }
    }

    /// The tag of the place where it is.
    pub fn tag<'n>(&self, network: &'n Network) -> &'n str {
        match self {
            Self::Escapes { at, .. } => &network.point(*at).tag,
            Self::OverRim { at, .. } => &network.tank(*at).tag,
            Self::Spills { at, .. }
            | Self::Gutter { at, .. }
            | Self::Outlet { at, .. }
            | Self::Freeboard { at, .. } => &network.downspout(*at).tag,
        }
    }

    /// What loses more water first; among those that lose none, what lacks more freeboard.
    pub(crate) fn worse_first(&self, other: &Self) -> Ordering {
        let lacks_m = |failure: &Self| match failure {
            Self::Freeboard { headroom, asked, .. } => asked.to_m() - headroom.to_m(),
            _ => f64::INFINITY,
        };
        (other.lost().to_m3_per_s().total_cmp(&self.lost().to_m3_per_s()))
            .then(lacks_m(other).total_cmp(&lacks_m(self)))
    }
}
