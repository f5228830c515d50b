//! What a sheet is made of: the site, its solved state and what was judged, as plain data.

use wetrun_network::{DownspoutId, Network, PointId, TankId};
use wetrun_solver::{Scenario, SpillRains, Steady};
use wetrun_units::{Area, Fraction, Length, UnitSystem};
use wetrun_verdict::Verdict;

/// Everything that is drawn and printed. Lists that go with downspouts, points or tanks keep
/// the order of the network; where one is shorter, the rest counts as not given.
#[derive(Clone, Debug)]
pub struct SheetInput<'a> {
    /// Who and what: printed on every page.
    pub job: Job,
    /// The unit system of the site file; it also chooses the paper (letter or A4).
    pub units: UnitSystem,
    /// Where the design rain comes from, in the file's words.
    pub storm_basis: String,
    /// The network.
    pub network: &'a Network,
    /// What the steady state was asked for.
    pub scenario: Scenario,
    /// The steady state.
    pub steady: &'a Steady,
    /// The rains at which water first leaves.
    pub spill_rains: &'a SpillRains,
    /// The verdict on the state.
    pub verdict: &'a Verdict,
    /// The verdict in words: what decides, and how closely.
    pub verdict_words: String,
    /// What fails, the worst first, with what mends it.
    pub failures: Vec<FailureRow>,
    /// Where the freeboard asked for comes from.
    pub freeboard_basis: String,
    /// Roofs and the downspouts they drain to.
    pub roofs: Vec<RoofShare>,
    /// Ground at the foot of each downspout, where shown.
    pub foot_ground: Vec<Option<Length>>,
    /// Level up to which each downspout must be watertight; where not given, the standing
    /// level plus the freeboard, at most the opening.
    pub watertight_to: Vec<Option<Length>>,
    /// Vents, by point.
    pub vents: Vec<Option<Vent>>,
    /// Places in plan, where the file gives any.
    pub positions: Positions,
    /// Levels to set out; where empty, the network's own levels without limits.
    pub levels: Vec<LevelRow>,
    /// The instrument as it stands, for rod readings.
    pub rod: Option<Rod>,
    /// The largest error of all levels at once that still holds.
    pub tolerance_all: Option<Length>,
    /// Known levels on the site.
    pub benchmarks: Vec<Benchmark>,
    /// What the rules say.
    pub findings: Vec<FindingRow>,
    /// What the review comes to, in the words of every report; empty where no rule was run.
    pub review: String,
    /// Warnings that are printed always.
    pub cautions: Vec<String>,
    /// Work of the owner.
    pub upkeep: Vec<UpkeepRow>,
    /// What the owner reads, in sections.
    pub owner_texts: Vec<OwnerText>,
    /// What the owner should beware of.
    pub owner_cautions: Vec<String>,
    /// What else the owner should know, as name and text.
    pub owner_notes: Vec<(String, String)>,
    /// Loss coefficients and where each comes from.
    pub coefficients: Vec<Coefficient>,
    /// Whether every route gets its section and its table; else those that decide do.
    pub all_routes: bool,
}

impl SheetInput<'_> {
    /// How far standing levels must stay below the opening.
    pub(crate) fn freeboard(&self) -> Length {
        self.verdict.asked
    }

    pub(crate) fn vent(&self, id: PointId) -> Option<Vent> {
        self.vents.get(id.index()).copied().flatten()
    }
}

/// Who and what the sheet is for.
#[derive(Clone, Debug, Default)]
pub struct Job {
    /// Name of the site.
    pub site: String,
    /// What levels are measured from, in the file's words.
    pub datum: String,
    /// Revision, in the file's words; empty where none is given.
    pub revision: String,
    /// A short hash of the site file, as text.
    pub file_hash: String,
    /// What the job's documents state, for the cover, as name and text.
    pub documents: Vec<(String, String)>,
}

/// A part of a roof that drains to one downspout.
#[derive(Clone, Debug)]
pub struct RoofShare {
    /// The roof's tag.
    pub roof: String,
    /// The downspout it drains to.
    pub downspout: DownspoutId,
    /// The whole roof in plan.
    pub area: Area,
    /// Part of the rain that runs off.
    pub runoff: Fraction,
    /// Part of the roof that drains to this downspout.
    pub share: Fraction,
}

/// A vent that stands on the line.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Vent {
    /// Level of its open top, where shown.
    pub top: Option<Length>,
}

/// A place in plan: east and north of the site's own corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// To the right on the plan.
    pub east: Length,
    /// Up on the plan.
    pub north: Length,
}

/// Places of downspouts, points and tanks, in network order.
#[derive(Clone, Debug, Default)]
pub struct Positions {
    /// One for each downspout.
    pub downspouts: Vec<Option<Place>>,
    /// One for each point.
    pub points: Vec<Option<Place>>,
    /// One for each tank.
    pub tanks: Vec<Option<Place>>,
}

impl Positions {
    pub(crate) fn downspout(&self, id: DownspoutId) -> Option<Place> {
        self.downspouts.get(id.index()).copied().flatten()
    }

    pub(crate) fn point(&self, id: PointId) -> Option<Place> {
        self.points.get(id.index()).copied().flatten()
    }

    pub(crate) fn tank(&self, id: TankId) -> Option<Place> {
        self.tanks.get(id.index()).copied().flatten()
    }
}

/// One thing that fails.
#[derive(Clone, Debug)]
pub struct FailureRow {
    /// What fails, and where, in words.
    pub what: String,
    /// What mends it, where something was found that does.
    pub mend: Option<String>,
}

/// One level of the schedule.
#[derive(Clone, Debug)]
pub struct LevelRow {
    /// Tag of what it belongs to.
    pub tag: String,
    /// Which level of it, in the file's key.
    pub level: String,
    /// As drawn.
    pub design: Length,
    /// How low it alone may go.
    pub lowest: Option<Length>,
    /// How high it alone may go.
    pub highest: Option<Length>,
    /// On a site that fails: the nearest level at which this one alone makes all hold.
    pub needed: Option<Length>,
    /// What the rod reads there.
    pub rod: Option<RodRow>,
}

/// How the rod is read.
#[derive(Clone, Debug)]
pub struct Rod {
    /// The unit of its readings.
    pub unit: String,
    /// Where the instrument stands, in words.
    pub set_up: String,
}

/// Rod readings of a level.
#[derive(Clone, Debug, Default)]
pub struct RodRow {
    /// Where the level is as drawn.
    pub set: String,
    /// The least that it may read; empty without a limit.
    pub least: String,
    /// The most that it may read; empty without a limit.
    pub most: String,
}

/// A known level on the site.
#[derive(Clone, Debug)]
pub struct Benchmark {
    /// Tag.
    pub tag: String,
    /// Its level.
    pub level: Length,
    /// Where it is.
    pub at: String,
}

/// How a rule came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// Conforms.
    Pass,
    /// Does not conform.
    Fail,
    /// Somebody should look.
    Caution,
    /// The drawing lacks what the rule needs.
    NotShown,
    /// A person must decide.
    NeedsDecision,
    /// Nothing to judge.
    NotApplicable,
}

/// One line of the review checklist.
#[derive(Clone, Debug)]
pub struct FindingRow {
    /// Heading it stands under; rows keep their order.
    pub group: String,
    /// The rule's name.
    pub rule: String,
    /// How it came out.
    pub outcome: Outcome,
    /// The same in the words of every report.
    pub word: &'static str,
    /// Where.
    pub place: String,
    /// Value found, with its unit; may be empty.
    pub value: String,
    /// What it was held against, with its unit; may be empty.
    pub limit: String,
    /// In words.
    pub message: String,
    /// Where the threshold comes from.
    pub basis: String,
    /// What mends it, where something was found that does.
    pub mend: Option<String>,
    /// The words of the drawing that it rests on, for the person who reads them.
    pub stated: Option<String>,
}

/// A piece of the owner's work.
#[derive(Clone, Debug)]
pub struct UpkeepRow {
    /// When.
    pub when: String,
    /// Where.
    pub place: String,
    /// What.
    pub work: String,
}

/// A section of the owner's page.
#[derive(Clone, Debug)]
pub struct OwnerText {
    /// Its heading; the opening one has none.
    pub heading: String,
    /// What it says, a paragraph each.
    pub lines: Vec<String>,
}

/// A loss coefficient with its source.
#[derive(Clone, Debug)]
pub struct Coefficient {
    /// Name of the fitting.
    pub name: String,
    /// K, on the velocity head of the pipe it stands in.
    pub k: f64,
    /// Where it comes from.
    pub source: String,
}
