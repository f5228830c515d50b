//! What a drawing says besides its network: every item optional, as plain data.
//!
//! The reader of a file fills [`Facts`]; rules judge them, sheets print them. Nothing here knows of
//! a file, a rule or a sheet.

mod amount;
mod doubts;
mod words;

pub use amount::Amount;
pub use doubts::{Doubt, Doubts, Spread};
pub use words::shown;

use std::time::Duration;
use wetrun_network::DownspoutId;
use wetrun_units::{Area, Fraction, Intensity, Length, Slope, Speed, UnitSystem, Volume, Weight};
use words::denies;

/// A statement that a drawing makes in words, or its plain denial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stated {
    /// What it says.
    Yes(String),
    /// It says `no` or `none`.
    No,
}

impl Stated {
    /// Reads a statement: `no` and `none` deny, words that only hold a place (`TBD`, `?`) state
    /// nothing, anything else states.
    pub fn of(text: &str) -> Option<Self> {
        let text = shown(text)?;
        Some(if denies(text) { Self::No } else { Self::Yes(text.to_owned()) })
    }
}

/// What the site file shows besides the network. `None` means that it is not shown.
///
/// The lists for downspouts, points, lines and tanks follow the network's order; a list that
/// is shorter shows nothing for the rest.
#[derive(Clone, Debug, PartialEq)]
pub struct Facts {
    /// The units of the site file.
    pub units: UnitSystem,
    /// How far the standing level must stay below the opening.
    pub freeboard: Length,
    /// Whether the site file gives the freeboard itself.
    pub freeboard_given: bool,
    /// The speed that carries silt, where the site file gives it.
    pub flush_speed: Option<Speed>,
    /// The datum in words.
    pub datum: Option<String>,
    /// Benchmarks.
    pub benchmarks: Vec<Benchmark>,
    /// The storm's intensity as drawn, whatever rain is asked about.
    pub storm: Option<Intensity>,
    /// The storm's basis in words.
    pub storm_basis: Option<String>,
    /// An ordinary rain, as falls several times a year.
    pub ordinary_rain: Option<Intensity>,
    /// Revision of the drawing.
    pub revision: Option<String>,
    /// What the set of documents holds.
    pub documents: Documents,
    /// Ground, frost and what is buried nearby.
    pub ground: Ground,
    /// The water test before the trench is closed.
    pub test: Option<WaterTest>,
    /// How far levels may come out from the drawing.
    pub tolerances: Option<Tolerances>,
    /// Roof areas.
    pub roofs: Vec<Roof>,
    /// Gutters.
    pub gutters: Vec<Gutter>,
    /// What is shown at each downspout.
    pub downspouts: Vec<DownspoutFacts>,
    /// What is shown at each point.
    pub points: Vec<PointFacts>,
    /// What is shown on each line.
    pub lines: Vec<LineFacts>,
    /// What is shown at each tank.
    pub tanks: Vec<TankFacts>,
    /// Thresholds that the site file sets itself.
    pub limits: Vec<LimitGiven>,
    /// How well its numbers are known.
    pub doubts: Doubts,
}

impl Default for Facts {
    fn default() -> Self {
        Self {
            units: UnitSystem::Si,
            freeboard: Length::m(0.1),
            freeboard_given: false,
            flush_speed: None,
            datum: None,
            benchmarks: Vec::new(),
            storm: None,
            storm_basis: None,
            ordinary_rain: None,
            revision: None,
            documents: Documents::default(),
            ground: Ground::default(),
            test: None,
            tolerances: None,
            roofs: Vec::new(),
            gutters: Vec::new(),
            downspouts: Vec::new(),
            points: Vec::new(),
            lines: Vec::new(),
            tanks: Vec::new(),
            limits: Vec::new(),
            doubts: Doubts::default(),
        }
    }
}

/// A benchmark.
#[derive(Clone, Debug, PartialEq)]
pub struct Benchmark {
    /// Its tag.
    pub tag: String,
    /// Its level.
    pub level: Length,
    /// Where to find it.
    pub at: Option<String>,
}

/// What the set of documents holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Documents {
    /// Drawings in the set, by name.
    pub drawings: Option<Vec<String>>,
    /// The revision that the calculation was made for.
    pub calculation: Option<String>,
    /// The storm's return period in words.
    pub return_period: Option<String>,
    /// How long the storm's intensity is an average over.
    pub storm_duration: Option<Duration>,
    /// Whether the drawing declares that the pipes stand full.
    pub wet_condition: Option<Stated>,
    /// Whether the local code asks for continuous slope or no pooling.
    pub continuous_slope: Option<bool>,
    /// The written acceptance of the wet condition.
    pub accepted: Option<Stated>,
    /// Who answers for the design, or the exemption.
    pub designer: Option<Stated>,
    /// Least difference between opening and inlet that the authority asks for, zero for none.
    pub authority_difference: Option<Length>,
    /// Roof area of the buildings as measured.
    pub roof_area: Option<Area>,
    /// What happens to the stale water of the full line.
    pub stale_water: Option<Stated>,
    /// How bends, risers and caps are restrained.
    pub restraint: Option<Stated>,
    /// What must be seen before the trench is closed, and by whom.
    pub hold_point: Option<Stated>,
    /// The manual for the owner.
    pub manual: Option<Stated>,
    /// As-built levels and the test record.
    pub as_built: Option<Stated>,
    /// How often the system is inspected.
    pub inspection: Option<Stated>,
    /// Labels and backflow protection where the water is plumbed indoors.
    pub labels: Option<Stated>,
}

/// Ground, frost and what is buried nearby.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ground {
    /// Depth to which the ground freezes; zero where it does not.
    pub frost_depth: Option<Length>,
    /// The highest ground-water level.
    pub water_level: Option<Length>,
    /// How the trench keeps clear of footings.
    pub footings: Option<Stated>,
    /// How the trench keeps apart from other buried services and roots.
    pub services: Option<Stated>,
    /// Bedding, and the tape that marks the pipe.
    pub bedding: Option<Stated>,
}

/// The water test before the trench is closed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WaterTest {
    /// What the pipes are tested with.
    pub medium: Option<String>,
    /// The level the test water is held at.
    pub level: Option<Length>,
    /// How long it is held.
    pub duration: Option<Duration>,
}

/// How far levels may come out from the drawing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Tolerances {
    /// Of a gutter outlet or leaf head.
    pub opening: Option<Length>,
    /// Of a tank inlet.
    pub inlet: Option<Length>,
}

/// A roof and the share of it that each downspout takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Roof {
    /// Its name.
    pub name: String,
    /// Plan area.
    pub area: Area,
    /// Part of the rain that runs off.
    pub runoff: Fraction,
    /// The downspouts that it drains to.
    pub shares: Vec<Share>,
}

/// A part of a roof that drains to one downspout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// The downspout.
    pub to: DownspoutId,
    /// Its part of the roof.
    pub share: Fraction,
}

/// A place in plan: east and north of the site's own corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// To the right on the plan.
    pub east: Length,
    /// Up on the plan.
    pub north: Length,
}

/// The shape of a gutter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GutterShape {
    /// Half a circle.
    HalfRound,
    /// Upright or sloping sides on a flat floor.
    Rectangular,
}

/// A gutter.
#[derive(Clone, Debug, PartialEq)]
pub struct Gutter {
    /// Its name.
    pub name: String,
    /// Its shape.
    pub shape: GutterShape,
    /// Width across the top.
    pub width: Length,
    /// Depth from the lip to the floor.
    pub depth: Length,
    /// Width of the floor (rectangular); the top width where not shown.
    pub floor: Option<Length>,
    /// Fall towards the outlet.
    pub slope: Option<Slope>,
    /// Length that drains to one outlet.
    pub length: Option<Length>,
    /// Keys of what the drawing does not give of it, so that a usual value stands here.
    pub assumed: Vec<&'static str>,
}

/// What is shown at a downspout.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DownspoutFacts {
    /// Where it stands in plan.
    pub at: Option<Place>,
    /// Place of its gutter in [`Facts::gutters`].
    pub gutter: Option<usize>,
    /// Whether the file gives a lip above the outlet.
    pub lip_given: bool,
    /// Whether fittings or a loss coefficient are written down for it.
    pub losses_shown: bool,
    /// Bore of the hole in the gutter floor; the pipe's bore where not shown.
    pub outlet_size: Option<Length>,
    /// The leaf screen at its top.
    pub screen: Option<Screen>,
    /// Opening of the insect mesh at its top.
    pub insect_mesh: Option<Length>,
    /// Its first-flush device.
    pub first_flush: Option<FirstFlush>,
    /// Whether the drawing says that it has none.
    pub no_first_flush: bool,
    /// The level up to which its parts are drawn as watertight pipe.
    pub watertight_to: Option<Length>,
    /// Whether it can be opened at its foot.
    pub cleanout: Option<bool>,
    /// Ground at its foot.
    pub ground: Option<Length>,
    /// How its standing water is kept from freezing.
    pub frost: Option<Stated>,
}

/// A leaf screen.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Screen {
    /// Free area left.
    pub open: Option<Fraction>,
    /// Width of its openings.
    pub mesh: Option<Length>,
}

/// A first-flush device.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FirstFlush {
    /// What it holds back.
    pub volume: Option<Volume>,
    /// Level of the cap it is emptied by.
    pub cap: Option<Length>,
    /// Ground where that cap comes out.
    pub ground: Option<Length>,
}

/// A vent.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Vent {
    /// Level of its top.
    pub level: Option<Length>,
    /// Opening of its insect mesh.
    pub mesh: Option<Length>,
}

/// Where a low-point drain runs out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DrainOutlet {
    /// Level of the outlet.
    pub level: Option<Length>,
    /// Where the water goes.
    pub to: Option<Stated>,
}

/// What is shown at a point.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PointFacts {
    /// Where it stands in plan.
    pub at: Option<Place>,
    /// Whether it can be opened.
    pub cleanout: Option<bool>,
    /// Its vent.
    pub vent: Option<Vent>,
    /// Level of its cleanout's cap.
    pub cap: Option<Length>,
    /// Whether that cap is sealed against the water below.
    pub cap_sealed: bool,
    /// Where its drain runs out.
    pub drain_outlet: Option<DrainOutlet>,
    /// What its drain loses besides the jet's own head, where that is given.
    pub drain_k: Option<f64>,
    /// A first-flush device there.
    pub first_flush: Option<FirstFlush>,
}

/// What is shown on a line.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LineFacts {
    /// Whether fittings or a loss coefficient are written down for it.
    pub losses_shown: bool,
    /// Whether its profile is drawn between the ends.
    pub profile_shown: bool,
    /// Whether vehicles cross it.
    pub vehicles: Option<bool>,
    /// How it is kept from freezing.
    pub frost: Option<Stated>,
}

/// What is shown at a tank.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TankFacts {
    /// Where it stands in plan.
    pub at: Option<Place>,
    /// Opening of the insect mesh at its inlet.
    pub inlet_mesh: Option<Length>,
    /// Opening of the insect mesh at its overflow.
    pub overflow_mesh: Option<Length>,
    /// How far from the building its overflow runs out.
    pub discharge: Option<Length>,
    /// Its base, and how pipes are joined to it.
    pub base: Option<Stated>,
    /// Access, its warning, and the drain.
    pub access: Option<Stated>,
    /// How its riser is kept from freezing.
    pub frost: Option<Stated>,
    /// Whether it is buried.
    pub buried: Option<bool>,
    /// What holds a buried tank down.
    pub hold_down: Option<HoldDown>,
}

/// What holds a buried tank down when it is empty.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct HoldDown {
    /// Volume of the whole tank on the outside.
    pub outside: Option<Volume>,
    /// Its weight when empty, with what is fixed to it.
    pub weight: Option<Weight>,
    /// Plan area that carries soil.
    pub plan: Option<Area>,
    /// Depth of soil above it.
    pub cover: Option<Length>,
}

/// A threshold that the site file sets for a rule.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitGiven {
    /// The rule's name.
    pub rule: String,
    /// The threshold.
    pub limit: Amount,
    /// Why it differs.
    pub reason: String,
    /// What it rests on.
    pub basis: String,
}

/// The speed that carries silt where a drawing names none: small drains once a day, from memory of
/// EN 752; loose silt moves at a third of it, and new mains are flushed at 0.76 m/s (a field guide to
/// disinfecting them, table 3-1).
pub const CARRIES_SILT: Speed = Speed::m_per_s(0.7);
/// What an open drain loses on its own velocity head besides the jet's, where a drawing gives nothing:
/// a square entrance and an open valve.
pub const DRAIN_K: f64 = 0.7;

impl PointFacts {
    /// What its drain loses on its own velocity head besides the jet's.
    pub fn drain_loss(&self) -> f64 {
        self.drain_k.unwrap_or(DRAIN_K)
    }
}

impl Facts {
    /// The speed that carries silt.
    pub fn silt_speed(&self) -> Speed {
        self.flush_speed.unwrap_or(CARRIES_SILT)
    }

    /// What is shown at the downspout of that place in file order.
    pub fn downspout(&self, index: usize) -> DownspoutFacts {
        self.downspouts.get(index).cloned().unwrap_or_default()
    }

    /// What is shown at the point of that place.
    pub fn point(&self, index: usize) -> PointFacts {
        self.points.get(index).cloned().unwrap_or_default()
    }

    /// What is shown on the line of that place.
    pub fn line(&self, index: usize) -> LineFacts {
        self.lines.get(index).cloned().unwrap_or_default()
    }

    /// What is shown at the tank of that place.
    pub fn tank(&self, index: usize) -> TankFacts {
        self.tanks.get(index).cloned().unwrap_or_default()
    }
}
