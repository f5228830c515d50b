//! What a sheet is made of: the site, its solved state and what was judged, as plain data.

use crate::paper::Part;
use std::borrow::Cow;
use wetrun_facts::{Facts, Place, Vent};
use wetrun_network::{End, Network, PointId};
use wetrun_solver::{Scenario, SpillRains, Steady};
use wetrun_units::{Length, UnitSystem};
use wetrun_verdict::{Outcome, Verdict};

/// Everything that is drawn and printed. Lists that go with downspouts, points or tanks keep
/// the order of the network; where one is shorter, the rest counts as not given.
#[derive(Clone, Debug)]
pub struct SheetInput<'a> {
    /// Who and what: printed on every page.
    pub job: Job,
    /// The unit system of the site file; it also chooses the paper (letter or A4).
    pub units: UnitSystem,
    /// What the drawing says besides its network.
    pub facts: Cow<'a, Facts>,
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
    /// Level up to which each downspout must be watertight; where not given, the standing
    /// level plus the freeboard, at most the opening.
    pub watertight_to: Vec<Option<Length>>,
    /// Levels to set out; where empty, the network's own levels without limits.
    pub levels: Vec<LevelRow>,
    /// The instrument as it stands, for rod readings.
    pub rod: Option<Rod>,
    /// The largest error of all levels at once that still holds.
    pub tolerance_all: Option<Length>,
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
    /// Further parts, between the review and the owner's page.
    pub more: Vec<Part>,
    /// Whether every route gets its section and its table; else those that decide do.
    pub all_routes: bool,
}

impl SheetInput<'_> {
    /// How far standing levels must stay below the opening.
    pub(crate) fn freeboard(&self) -> Length {
        self.verdict.asked
    }

    pub(crate) fn vent(&self, id: PointId) -> Option<Vent> {
        self.facts.points.get(id.index())?.vent
    }

    /// Where something stands in plan.
    pub(crate) fn place(&self, end: End) -> Option<Place> {
        let facts = &self.facts;
        match end {
            End::Downspout(id) => facts.downspouts.get(id.index())?.at,
            End::Point(id) => facts.points.get(id.index())?.at,
            End::Tank(id) => facts.tanks.get(id.index())?.at,
        }
    }

    /// What levels are measured from, in the file's words.
    pub(crate) fn datum(&self) -> &str {
        self.facts.datum.as_deref().unwrap_or_default()
    }

    /// Revision, in the file's words; empty where none is given.
    pub(crate) fn revision(&self) -> &str {
        self.facts.revision.as_deref().unwrap_or_default()
    }

    /// Where the design rain comes from, in the file's words.
    pub(crate) fn storm_basis(&self) -> &str {
        self.facts.storm_basis.as_deref().unwrap_or_default()
    }
}

/// Who and what the sheet is for.
#[derive(Clone, Debug, Default)]
pub struct Job {
    /// Name of the site.
    pub site: String,
    /// A short hash of the site file, as text.
    pub file_hash: String,
    /// What the job's documents state, for the cover, as name and text.
    pub documents: Vec<(String, String)>,
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

/// One line of the review checklist.
#[derive(Clone, Debug)]
pub struct FindingRow {
    /// Heading it stands under; rows keep their order.
    pub group: String,
    /// The rule's name.
    pub rule: String,
    /// How it came out.
    pub outcome: Outcome,
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
