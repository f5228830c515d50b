//! What a site file says, in SI: the network, the storm, and all that belongs to the job.

use crate::diagnostic::{Code, Diagnostic, Diagnostics};
use crate::document::Document;
use crate::review_keys::{
    DownspoutReview, GutterReview, LineReview, PointReview, SiteReview, TankReview,
};
use std::sync::Arc;
use wetrun_network::{DownspoutId, LineId, Network, Pipe, TankId};
use wetrun_units::{
    Area, Flow, Fraction, Intensity, Length, Slope, Speed, Temperature, Time, UnitSystem,
};

/// A site file, read.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Site {
    /// Name of the job.
    pub name: String,
    /// The system bare numbers are in, and reports are written in.
    pub units: UnitSystem,
    /// What levels are measured from, in words.
    pub datum: Option<String>,
    /// Water temperature, 0 to 40 °C; 10 °C where the file says nothing.
    pub water_temperature: Temperature,
    /// The friction law.
    pub losses: Losses,
    /// The rain table of the place.
    pub rainfall: Option<crate::Rainfall>,
    /// The storm the system must carry.
    pub storm: Storm,
    /// What counts as enough.
    pub targets: Targets,
    /// Roofs in file order.
    pub roofs: Vec<Roof>,
    /// Gutters in file order.
    pub gutters: Vec<Gutter>,
    /// The network. Pipes left open stand in it with the largest of their candidates.
    pub network: Network,
    /// What the file says of each downspout beyond the network, in the network's order.
    pub downspouts: Vec<DownspoutNotes>,
    /// What the file says of each point beyond the network, in the network's order.
    pub points: Vec<PointNotes>,
    /// What the file says of each line beyond the network, in the network's order.
    pub lines: Vec<LineNotes>,
    /// What the file says of each tank beyond the network, in the network's order.
    pub tanks: Vec<TankNotes>,
    /// What the water is used for, in file order.
    pub uses: Vec<Use>,
    /// Pumps that bring water from one tank to another, in file order.
    pub transfers: Vec<Transfer>,
    /// Pipes whose size is open: downspouts first, then lines, each in file order.
    pub open_pipes: Vec<OpenPipe>,
    /// The job's own pipes, one for each type and size.
    pub own_pipes: Vec<Pipe>,
    /// The job's own fittings.
    pub own_fittings: Vec<OwnFitting>,
    /// Prices of pipes, in the file's order.
    pub prices: Vec<Price>,
    /// Benchmarks, in the file's order.
    pub benchmarks: Vec<Benchmark>,
    /// Thresholds of the review that the job sets itself.
    pub rules: Vec<RuleLimit>,
    /// How well its numbers are known.
    pub doubts: wetrun_facts::Doubts,
    /// What the review wants to know of the site as a whole.
    pub review: SiteReview,
    /// What is worth a look though the file can be used.
    pub cautions: Vec<Diagnostic>,
    pub(crate) document: Arc<Document>,
}

/// The friction law of a file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Losses {
    /// Darcy-Weisbach with Colebrook-White.
    #[default]
    DarcyWeisbach,
    /// Hazen-Williams.
    HazenWilliams,
}

/// The storm of a file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Storm {
    /// Peak intensity that is asked about: the file's, unless another is asked.
    pub intensity: Intensity,
    /// The file's own.
    pub stated: Intensity,
    /// Where the intensity comes from, in words.
    pub basis: Option<String>,
    /// How the tanks stand.
    pub tanks: Tanks,
    /// The first depth of a rain that wets the roofs and runs nowhere; 0 where the file says
    /// nothing.
    pub wetting: Length,
    /// How the rain passes, where the file says it.
    pub course: Option<crate::StormCourse>,
}

/// How the tanks stand during the storm.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Tanks {
    /// Every tank stands at its overflow.
    #[default]
    Full,
    /// Every tank is below every inlet.
    Empty,
}

/// What counts as enough.
#[derive(Clone, Debug, PartialEq)]
pub struct Targets {
    /// How far the standing level must stay below the opening.
    pub freeboard: Length,
    /// Whether the file gives it; else it is the built-in 100 mm.
    pub freeboard_given: bool,
    /// The most speed in a line that carries water, which sizing keeps to.
    pub most_speed: Option<Speed>,
    /// The least speed in a line that carries water, which sizing keeps to.
    pub least_speed: Option<Speed>,
    /// The speed that carries silt, where the file gives it.
    pub flush_speed: Option<Speed>,
}

/// A roof: plan area that drains to downspouts.
#[derive(Clone, Debug, PartialEq)]
pub struct Roof {
    /// Tag.
    pub tag: String,
    /// Area in plan.
    pub area: Area,
    /// Part of the rain that runs off.
    pub runoff: Fraction,
    /// The first depth of a rain that wets it and runs nowhere; that of the storm where the file
    /// says nothing.
    pub wetting: Length,
    /// Time constant of the linear store that its runoff passes; 60 s where the file says nothing.
    pub lag: Time,
    /// Where it drains to.
    pub shares: Vec<Share>,
}

/// A roof's share for one downspout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// The downspout.
    pub to: DownspoutId,
    /// The part of the roof.
    pub share: Fraction,
}

/// The section of a gutter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GutterShape {
    /// Half-round.
    HalfRound,
    /// Rectangular.
    Rectangular,
    /// Trapezoidal.
    Trapezoidal,
}

/// A gutter.
#[derive(Clone, Debug, PartialEq)]
pub struct Gutter {
    /// Tag.
    pub tag: String,
    /// Section.
    pub shape: GutterShape,
    /// Width across the top.
    pub width: Length,
    /// Depth, where given.
    pub depth: Option<Length>,
    /// Fall along the gutter; 0 where the file says nothing.
    pub slope: Slope,
    /// Length that drains to one outlet, where given.
    pub length: Option<Length>,
    /// What the review wants to know of it.
    pub review: GutterReview,
}

/// A place in plan, from an origin of the site's own choice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanPoint {
    /// To the right on the sheet.
    pub x: Length,
    /// Up the sheet.
    pub y: Length,
}

/// What a file says of a downspout beyond the network.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DownspoutNotes {
    /// Place of its gutter in [`Site::gutters`].
    pub gutter: Option<usize>,
    /// Whether the file writes down its fittings or a loss coefficient, none among them.
    pub losses_given: bool,
    /// Whether the file shows a screen at the top.
    pub screen_given: bool,
    /// Free area that it leaves.
    pub screen_open: Option<Fraction>,
    /// Whether the file gives the lip; else it is the outlet.
    pub lip_given: bool,
    /// Place in plan.
    pub at: Option<PlanPoint>,
    /// What the review wants to know of it.
    pub review: DownspoutReview,
}

/// What a file says of a point beyond the network.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PointNotes {
    /// Whether it can be opened, where the file says it.
    pub cleanout: Option<bool>,
    /// Place in plan.
    pub at: Option<PlanPoint>,
    /// What its open drain loses, in velocity heads, besides the jet's own; where given.
    pub drain_k: Option<f64>,
    /// What the review wants to know of it.
    pub review: PointReview,
}

/// What a file says of a line beyond the network.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LineNotes {
    /// Whether the file writes down its fittings or a loss coefficient, none among them.
    pub losses_given: bool,
    /// Whether the file gives a profile; else the line runs straight between its ends.
    pub profile_given: bool,
    /// What the review wants to know of it.
    pub review: LineReview,
}

/// What a file says of a tank beyond the network.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TankNotes {
    /// Place in plan.
    pub at: Option<PlanPoint>,
    /// How it stands when a storm or a year begins; as [`Storm::tanks`] says where not given.
    pub start: Option<Start>,
    /// The share of its volume that its outlet cannot take; 0 where the file says nothing.
    pub least: Fraction,
    /// What the review wants to know of it.
    pub review: TankReview,
}

/// How a tank stands at first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Start {
    /// Its water level, at most the overflow's.
    Level(Length),
    /// The share of its volume, 0 to 1.
    Share(Fraction),
}

/// A use of water.
#[derive(Clone, Debug, PartialEq)]
pub struct Use {
    /// Name.
    pub tag: String,
    /// What it takes, 0 or more.
    pub takes: Flow,
    /// The tanks it takes it from: in proportion to what each holds above its `least`.
    pub from: Vec<TankId>,
    /// Whether it takes water in January, February and so on.
    pub months: [bool; 12],
}

/// A pump that brings water from one tank to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Transfer {
    /// Name.
    pub tag: String,
    /// The giving tank.
    pub from: TankId,
    /// The receiving tank, another one.
    pub to: TankId,
    /// Its flow while it runs, 0 or more.
    pub rate: Flow,
    /// It starts where the receiving tank holds less than this share.
    pub when_below: Fraction,
    /// It stops where the receiving tank holds this share.
    pub until: Fraction,
    /// It stops where the giving tank holds this share; that tank's `least` where not given.
    pub leaves: Option<Fraction>,
}

/// Whose pipe is open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PipeOwner {
    /// A downspout.
    Downspout(DownspoutId),
    /// A line.
    Line(LineId),
}

/// A pipe whose size the file leaves open.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenPipe {
    /// Whose it is.
    pub owner: PipeOwner,
    /// The tag of its owner.
    pub tag: String,
    /// The pipes to choose from, the smallest bore first.
    pub candidates: Vec<Pipe>,
}

/// A fitting of the job's own.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnFitting {
    /// Name.
    pub name: String,
    /// Loss coefficient on the velocity head of the pipe it stands in.
    pub k: f64,
    /// Where it comes from.
    pub source: Option<String>,
}

/// The price of a pipe.
#[derive(Clone, Debug, PartialEq)]
pub struct Price {
    /// Pipe type.
    pub kind: String,
    /// Nominal size as the catalogue writes it.
    pub size: String,
    /// Price of a metre, in the file's own currency.
    pub per_metre: f64,
}

/// A point of known level.
#[derive(Clone, Debug, PartialEq)]
pub struct Benchmark {
    /// Tag.
    pub tag: String,
    /// Its level.
    pub level: Length,
    /// What and where it is, in words.
    pub at: Option<String>,
}

/// A threshold of the review that the job sets itself.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleLimit {
    /// Name of the rule.
    pub rule: String,
    /// The limit, as the file writes it.
    pub limit: String,
    /// Why the job's limit differs.
    pub reason: String,
    /// What it rests on.
    pub basis: Option<String>,
}

impl Site {
    /// The pipes that the file leaves open; empty where every size is fixed.
    pub fn open_pipes(&self) -> &[OpenPipe] {
        &self.open_pipes
    }

    /// The price of a metre of a pipe, where the file gives one.
    pub fn price_per_metre(&self, pipe: &Pipe) -> Option<f64> {
        let own = |price: &&Price| price.kind == pipe.kind && price.size == pipe.size;
        self.prices.iter().find(own).map(|price| price.per_metre)
    }

    /// The gutter a downspout hangs on, where the file names one.
    pub fn gutter_of(&self, downspout: DownspoutId) -> Option<&Gutter> {
        let notes = self.downspouts.get(downspout.index())?;
        self.gutters.get(notes.gutter?)
    }

    /// Where a key stands in the file: for `["lines", "L1", "profile", "1", "level"]` the
    /// place of that value. List items go by their index.
    pub fn place(&self, keys: &[&str]) -> Option<crate::Place> {
        self.document.place(keys)
    }

    /// The text of a single value as the file has it, without quotes.
    pub fn written(&self, keys: &[&str]) -> Option<&str> {
        self.document.text(keys)
    }

    /// A fault that only the caller can find, at a key of the file.
    pub fn fault_at(
        &self,
        keys: &[&str],
        code: Code,
        message: impl Into<String>,
        expected: impl Into<String>,
    ) -> Diagnostic {
        let fault = Diagnostic::new(code, self.document.mark(keys), message).expected(expected);
        Diagnostic { key_path: keys.join("."), ..fault }
    }

    /// Such faults, to be shown as those of the reading are.
    pub fn diagnostics(&self, faults: Vec<Diagnostic>) -> Diagnostics {
        Diagnostics::new(Arc::clone(&self.document.source), faults)
    }

    /// The cautions for a reader, as [`crate::Diagnostics::render`] shows errors.
    pub fn render_cautions(&self, colour: bool) -> String {
        self.document.render(&self.cautions, colour)
    }
}
