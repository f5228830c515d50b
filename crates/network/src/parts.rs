//! What a network is made of, as plain data: the site file lowered to SI.

use crate::id::{DownspoutId, LineId, PointId, TankId};
use wetrun_units::{Area, Length, Volume};

/// Everything a [`crate::Network`] is built from, in file order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Parts {
    /// Downspouts, in file order.
    pub downspouts: Vec<Downspout>,
    /// Points, in file order.
    pub points: Vec<Point>,
    /// Buried lines, in file order.
    pub lines: Vec<Line>,
    /// Tanks, in file order.
    pub tanks: Vec<Tank>,
}

/// A pipe: the bore and what the friction laws need to know of its wall.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pipe {
    /// `TYPE SIZE` as the site file writes it, or the text of a pipe given by its numbers.
    pub label: String,
    /// The catalogue type (`pvc-sch40`), empty where the pipe is given by its numbers.
    pub kind: String,
    /// The nominal size as the catalogue writes it (`4 in`), empty likewise.
    pub size: String,
    /// Inside diameter.
    pub inside: Length,
    /// Outside diameter, where known.
    pub outside: Option<Length>,
    /// Equivalent sand roughness of the wall (needed by Darcy-Weisbach).
    pub roughness: Option<Length>,
    /// Hazen-Williams coefficient (needed by Hazen-Williams), in its usual unit.
    pub c: Option<f64>,
    /// How lengths are joined (`solvent weld`), empty where not known.
    pub joint: String,
    /// Where the numbers come from.
    pub source: String,
}

/// A fitting by name, how often it stands there, and its loss coefficient.
#[derive(Clone, Debug, PartialEq)]
pub struct FittingUse {
    /// Catalogue name (`bend-90`).
    pub name: String,
    /// How many of them.
    pub count: u32,
    /// Loss coefficient of one, on the velocity head of the pipe it stands in.
    pub k: f64,
}

/// A downspout: where roof water enters the wet pipes, and where it can come back out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Downspout {
    /// Tag on the drawing.
    pub tag: String,
    /// Level of the hole in the gutter floor.
    pub outlet: Length,
    /// Level where the gutter spills.
    pub lip: Length,
    /// Level where the downspout turns into the buried line.
    pub foot: Length,
    /// Rim of an open leaf head below the gutter.
    pub leaf_head: Option<Length>,
    /// The downspout's own pipe.
    pub pipe: Pipe,
    /// Fittings in the downspout.
    pub fittings: Vec<FittingUse>,
    /// Extra loss coefficient on the downspout's own velocity head.
    pub k: f64,
    /// Roof area times runoff times share, summed: demand is this times the intensity.
    pub catchment: Area,
}

impl Downspout {
    /// The level headroom is measured to: the leaf head's rim, else the gutter outlet.
    pub fn opening(&self) -> Length {
        self.leaf_head.unwrap_or(self.outlet)
    }

    /// The level at which water leaves here: the leaf head's rim, else the gutter lip.
    pub fn spill_level(&self) -> Length {
        self.leaf_head.unwrap_or(self.lip)
    }

    /// Sum of the loss coefficients in the downspout: its fittings and the extra `k`.
    pub fn total_k(&self) -> f64 {
        total_k(&self.fittings, self.k)
    }
}

/// How three lines come together at a point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JunctionKind {
    /// The branch comes in at 45 degrees.
    Wye,
    /// The branch comes in at 90 degrees.
    Tee,
}

/// A point's fitting: the kind, and which line comes in at an angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Junction {
    /// Wye or tee.
    pub kind: JunctionKind,
    /// The line that comes in at the angle.
    pub branch: LineId,
    /// What is added to both of its loss coefficients, on the velocity head of the line that
    /// leaves; 0 for those of the published relation.
    pub added_k: f64,
}

/// What can let water out at a point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum OpeningKind {
    /// The open top of a vent.
    Vent,
    /// The loose cap of a cleanout.
    Cap,
}

/// An opening at a point: above its level water comes out. Where a point has a vent and a loose
/// cap, the lower one is meant: water never rises to the other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opening {
    /// What it is.
    pub kind: OpeningKind,
    /// Level at which water leaves.
    pub level: Length,
}

impl Opening {
    /// The one that lets water out first, of a vent's top and a loose cap where they are shown.
    pub fn lowest(vent: Option<Length>, cap: Option<Length>) -> Option<Self> {
        let vent = vent.map(|level| Self { kind: OpeningKind::Vent, level });
        let cap = cap.map(|level| Self { kind: OpeningKind::Cap, level });
        match (vent, cap) {
            (Some(vent), Some(cap)) => Some(if cap.level < vent.level { cap } else { vent }),
            (vent, cap) => vent.or(cap),
        }
    }
}

/// Anywhere lines meet, bend in level, drain or can be opened.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Point {
    /// Tag on the drawing.
    pub tag: String,
    /// Invert there.
    pub level: Length,
    /// Ground above.
    pub ground: Option<Length>,
    /// Wye or tee, where one is declared.
    pub fitting: Option<Junction>,
    /// Bore of a low-point drain.
    pub drain: Option<Length>,
    /// Whether the point can be opened.
    pub cleanout: bool,
    /// The lowest opening there, where one is shown with its level.
    pub opening: Option<Opening>,
}

/// What a line's end is joined to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum End {
    /// The foot of a downspout.
    Downspout(DownspoutId),
    /// A point.
    Point(PointId),
    /// A tank.
    Tank(TankId),
}

/// One of a line's two ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LineEnd {
    /// The end named by `from`.
    From,
    /// The end named by `to`.
    To,
}

impl LineEnd {
    /// The other end.
    pub fn other(self) -> Self {
        match self {
            Self::From => Self::To,
            Self::To => Self::From,
        }
    }
}

/// A place along a line: the distance from its start, the invert, and the ground above.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// Distance from the line's start.
    pub at: Length,
    /// Invert there.
    pub level: Length,
    /// Ground above it.
    pub ground: Option<Length>,
}

/// A buried line between two ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Tag on the drawing.
    pub tag: String,
    /// Start.
    pub from: End,
    /// Finish.
    pub to: End,
    /// Its pipe.
    pub pipe: Pipe,
    /// Length along the pipe.
    pub length: Length,
    /// Fittings along the line.
    pub fittings: Vec<FittingUse>,
    /// Extra loss coefficient on the line's own velocity head.
    pub k: f64,
    /// Inverts from start to finish: at least the two ends, in order of distance.
    pub profile: Vec<Station>,
}

impl Line {
    /// Invert at the start.
    pub fn from_level(&self) -> Length {
        self.profile.first().map_or(Length::ZERO, |s| s.level)
    }

    /// Invert at the finish.
    pub fn to_level(&self) -> Length {
        self.profile.last().map_or(Length::ZERO, |s| s.level)
    }

    /// The end whose invert is the higher one; the start where both are level.
    pub fn upper(&self) -> LineEnd {
        if self.from_level() >= self.to_level() { LineEnd::From } else { LineEnd::To }
    }

    /// Invert at one of its ends.
    pub fn end_level(&self, end: LineEnd) -> Length {
        match end {
            LineEnd::From => self.from_level(),
            LineEnd::To => self.to_level(),
        }
    }

    /// Sum of the loss coefficients on the line: its fittings and the extra `k`.
    pub fn total_k(&self) -> f64 {
        total_k(&self.fittings, self.k)
    }
}

/// A tank's overflow.
#[derive(Clone, Debug, PartialEq)]
pub struct Overflow {
    /// Invert of the overflow: the water level of a full tank at rest.
    pub level: Length,
    /// Its pipe, where one is given.
    pub pipe: Option<Pipe>,
    /// The tank it runs into, or `None` for the ground.
    pub to: Option<TankId>,
    /// Entrance loss coefficient (0.5 where the file says nothing).
    pub k: f64,
}

/// A tank.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tank {
    /// Tag on the drawing.
    pub tag: String,
    /// Invert of the inlet pipe where it enters.
    pub inlet: Length,
    /// Overflow, where one is shown.
    pub overflow: Option<Overflow>,
    /// Inside floor.
    pub floor: Option<Length>,
    /// Top of the wall.
    pub rim: Option<Length>,
    /// Ground beside it.
    pub ground: Option<Length>,
    /// Volume to the overflow.
    pub volume: Option<Volume>,
}

fn total_k(fittings: &[FittingUse], extra: f64) -> f64 {
    fittings.iter().map(|f| f64::from(f.count) * f.k).sum::<f64>() + extra
}
