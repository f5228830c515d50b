//! Drains opened over a system at rest: how fast the lines run, how long, and what stays behind.

mod account;
mod limit;

use crate::drain::DrainLaw;
use crate::outcome::{COUNTS, NotFollowed};
use crate::plant::Plant;
use crate::reach::{Outer, Reach};
use crate::run::{Ends, Pace, Run};
use crate::runoff::Runoff;
use crate::scene::Scene;
use crate::state::{State, rest};
use account::Account;
use limit::Limit;
use wetrun_network::{DownspoutId, LineEnd, LineId, Pipe, PointId, TankId};
use wetrun_solver::laws::pipe::PipeLaw;
use wetrun_units::{Flow, Length, Speed, Time, Volume};

/// A low-point drain that is opened at once and stays open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OpenDrain {
    /// Where it is.
    pub at: PointId,
    /// Its bore, above 0.
    pub bore: Length,
    /// The level at which it ends in the open.
    pub outlet: Length,
    /// Its losses on its own velocity head, 0 or more, without the jet's own.
    pub k: f64,
}

/// Where a hose is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// In a downspout.
    Downspout(DownspoutId),
    /// At a point.
    Point(PointId),
}

/// A hose that runs while the drains are open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hose {
    /// Where it is held.
    pub at: Place,
    /// What it brings, above 0.
    pub flow: Flow,
}

/// A column that is held up by a plug in its foot, and let go as the drains open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeldUp {
    /// The downspout in which it stands.
    pub at: DownspoutId,
    /// Up to which level; no higher than it would spill.
    pub level: Length,
}

/// What came of opening drains: `drained` and what is left are what stood and what hoses brought.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Flushed {
    /// When the run ended.
    pub ended: Time,
    /// What stood in lines and columns.
    pub stood: Volume,
    /// What hoses brought.
    pub hosed: Volume,
    /// What has left lines and columns: by the drains, into tanks, over lips and openings.
    pub drained: Volume,
    /// By when 95 % of that had; the end of the run where it ended first.
    pub most_drained: Time,
    /// Whether the run was cut off while water still ran out of the drains.
    pub cut_off: bool,
    /// What stays in each line; less than [`COUNTS`](crate::COUNTS) counts as nothing.
    pub left_in_lines: Vec<Volume>,
    /// The same in each downspout.
    pub left_in_downspouts: Vec<Volume>,
    /// Up to which level water stays in each line, where any does.
    pub tops_in_lines: Vec<Option<Length>>,
    /// One for each downspout.
    pub columns: Vec<Drained>,
    /// One for each drain that was opened.
    pub drains: Vec<DrainCourse>,
    /// One for each line.
    pub lines: Vec<LineSwept>,
    /// What ran into each tank.
    pub into_tanks: Vec<Volume>,
    /// What came out of openings and over lips.
    pub lost: Volume,
    /// Of what counts as drained, what was still on its way to the drains as films when the run ended.
    pub films: Volume,
    /// What the run itself does not account for: what stood and was brought, less what stands at the
    /// end and what ran out of drains, into tanks, over lips and out of openings.
    pub balance: Volume,
    /// Inlets under the water of their tanks, which counted as shut.
    pub shut: Vec<ShutInlet>,
    /// Whether no step settled with lines that run empty part full, so that they ran out as plugs that
    /// fill their bore: later than they would.
    pub as_plugs: bool,
    /// Steps taken.
    pub steps: u32,
}

impl Flushed {
    /// What stays in lines and downspouts.
    pub fn left(&self) -> Volume {
        self.left_in_lines.iter().chain(&self.left_in_downspouts).copied().sum()
    }
}

/// An inlet under the water of its tank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShutInlet {
    /// The line that ends there, and by which of its ends.
    pub line: LineId,
    /// That end.
    pub end: LineEnd,
    /// The tank.
    pub tank: TankId,
    /// The inlet.
    pub inlet: Length,
    /// The tank's water.
    pub water: Length,
}

/// A column that runs down.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Drained {
    /// Where it stood, or its foot where it stood dry.
    pub start_level: Length,
    /// When it was down to its foot.
    pub down_at: Option<Time>,
}

/// A drain.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DrainCourse {
    /// The most that ran out of it.
    pub peak_flow: Flow,
    /// All that ran out of it.
    pub passed: Volume,
}

/// A line that water swept through. Flows are positive from `from` to `to`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LineSwept {
    /// Greatest speed on the full bore, without sign.
    pub peak_velocity: Speed,
    /// When it was first that fast.
    pub peak_at: Time,
    /// The flow at that moment, with its sign.
    pub peak_flow: Flow,
    /// What passed one of its ends, net: the end that more passed, as what stood in it passes one only.
    pub passed: Volume,
    /// How long it ran at the speed that was asked for, or faster.
    pub carried_for: Time,
    /// How far its water ran at that speed or faster.
    pub carried: Length,
    /// How far its water ran in all.
    pub swept: Length,
}

/// A run without a hose ends by then at the latest, s; one with a hose by the other.
const LONGEST_S: f64 = 30.0 * 86_400.0;
const AN_HOUR_S: f64 = 3600.0;
/// A flow below this is none, m³/s.
const NO_FLOW: f64 = 2e-8;
/// The error of a level in a step while speeds are looked for: they go by its root.
const ROUGH: Length = Length::m(2e-4);

/// Opens drains in dry weather over a system at its rest level, and follows it until nearly all has
/// left that can, or nothing flows: thirty days at most; with a hose until nothing changes, an hour at
/// most. `carries` is the speed that carries silt.
///
/// No tank gives water: one whose water stands over an inlet counts as shut there, and what stands in
/// that line hangs until air comes to its lower end.
///
/// # Errors
/// [`NotFollowed`] where the tanks cannot stand as they are to start, or no step from some moment
/// settles, or nobody waits any more.
pub fn flush(
    scene: &Scene<'_>,
    drains: &[OpenDrain],
    hoses: &[Hose],
    carries: Speed,
) -> Result<Flushed, NotFollowed> {
    let opened = Opened { drains, hoses, held: &[], carries, within: None };
    followed(scene, &opened).map(|(flushed, _)| flushed)
}

/// What is looked for in the first rush of water.
#[derive(Clone, Copy, Debug)]
pub struct Looked<'a> {
    /// The lines that are looked at.
    pub lines: &'a [LineId],
    /// The speed that ends the search once each of them has had it.
    pub speed: Speed,
    /// No longer than this, nor on when none of them has got faster for 3 s.
    pub within: Time,
}

/// The first rush of water out of drains that are opened at once.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rush {
    /// For each line the fastest it got by the end of the search.
    pub fastest: Vec<Speed>,
    /// What stood in each column that was held up, above its rest level.
    pub held: Vec<Volume>,
}

/// Opens drains as [`flush`] does, columns that are held up let go at the same moment, and follows
/// that only as far as it is looked at.
///
/// # Errors
/// As [`flush`].
pub fn first_rush(
    scene: &Scene<'_>,
    drains: &[OpenDrain],
    held: &[HeldUp],
    looked: &Looked<'_>,
) -> Result<Rush, NotFollowed> {
    let (lines, carries) = (looked.lines, looked.speed);
    let within = Some((looked.within.to_s(), lines));
    let opened = Opened { drains, hoses: &[], held, carries, within };
    let (flushed, held) = followed(scene, &opened)?;
    let fastest = flushed.lines.iter().map(|swept| swept.peak_velocity).collect();
    Ok(Rush { fastest, held })
}

/// What is opened, and how far that is followed.
struct Opened<'a> {
    drains: &'a [OpenDrain],
    hoses: &'a [Hose],
    held: &'a [HeldUp],
    carries: Speed,
    /// No longer than so many seconds, and until these lines have had that speed.
    within: Option<(f64, &'a [LineId])>,
}

/// Follows it with lines that run empty part full, else with all water in plugs; with what stood above
/// rest in each column that was held up.
fn followed(scene: &Scene<'_>, opened: &Opened<'_>) -> Result<(Flushed, Vec<Volume>), NotFollowed> {
    followed_by(scene, opened, true).or_else(|why| {
        if why == NotFollowed::CalledOff {
            return Err(why);
        }
        let (flushed, held) = followed_by(scene, opened, false)?;
        Ok((Flushed { as_plugs: true, ..flushed }, held))
    })
}

fn followed_by(
    scene: &Scene<'_>,
    opened: &Opened<'_>,
    part_full: bool,
) -> Result<(Flushed, Vec<Volume>), NotFollowed> {
    let Opened { drains, hoses, carries, .. } = *opened;
    let rest = rest(scene).ok_or(NotFollowed::NoStart)?;
    let mut plant = Plant::new(scene);
    let mut state = State::at_rest(scene, &plant, &rest);
    let held = opened.held.iter().map(|held| Volume::m3(hold_up(&plant, &mut state, held)));
    let held = held.collect();
    let shut = shut(&mut plant, &state);
    let limit = Limit::new(scene, drains, &shut, &rest);
    if let Some(limit) = limit.as_ref().filter(|_| part_full) {
        runs_empty(&mut plant, limit);
    }
    let downspouts = plant.columns.len();
    let mut scale = 0.0;
    let mut nodes = Vec::new();
    for drain in drains {
        let node = downspouts + drain.at.index();
        let pipe = Pipe { inside: drain.bore, ..Pipe::default() };
        let law = PipeLaw::new(scene.law, scene.temperature, &pipe);
        let level = |level: Length| level.to_m() - plant.reference_m;
        let invert = level(scene.network.point(drain.at).level);
        let law = DrainLaw::new(law, level(drain.outlet), invert, drain.k);
        scale += law.flow(state.found.x[node]).0;
        plant.open(node, law);
        nodes.push(node);
    }
    let mut brought = vec![0.0; downspouts];
    let mut hosed = 0.0;
    for hose in hoses {
        let flow = hose.flow.to_m3_per_s();
        hosed += flow;
        match hose.at {
            Place::Downspout(id) => brought[id.index()] += flow,
            Place::Point(id) => plant.nodes[downspouts + id.index()].hose += flow,
        }
    }
    let runoff = Runoff::hosed(&brought);
    let ends = if hoses.is_empty() {
        let last_s = opened.within.map_or(LONGEST_S, |(last_s, _)| last_s);
        Ends { last_s, no_flow: Some(NO_FLOW) }
    } else {
        Ends { last_s: AN_HOUR_S, no_flow: None }
    };
    let limit = limit.filter(|_| hoses.is_empty());
    let mut record = Account::new(&plant, &state, nodes, carries.to_m_per_s(), hosed, limit);
    if let Some((_, lines)) = opened.within {
        record.look_at(lines);
    }
    let run = Run {
        plant: &mut plant,
        runoff: &runoff,
        pace: &opened
            .within
            .map_or_else(Pace::default, |_| Pace { level: ROUGH, ..Pace::default() }),
        scale: (scale + hosed).max(1e-5),
        ends,
        record,
        state,
        watch: scene.watch,
    };
    let (record, state) = run.follow()?;
    Ok((Flushed { shut, ..record.close(&plant, &state) }, held))
}

/// Fills a column up to a level where it stands lower: by how much, m³.
fn hold_up(plant: &Plant, state: &mut State, held: &HeldUp) -> f64 {
    let place = held.at.index();
    let column = &plant.columns[place];
    let level = (held.level.to_m() - plant.reference_m).min(column.lip);
    let stood = &mut state.found.columns[place];
    if level <= stood.level {
        return 0.0;
    }
    let before = state.columns[place];
    stood.level = level;
    state.columns[place] = column.volume(level).0;
    state.found.x[place] = state.found.x[place].max(level);
    state.columns[place] - before
}

/// Lines of which nothing stays run out part full.
fn runs_empty(plant: &mut Plant, limit: &Limit) {
    for (of, kept) in plant.of_line.iter().zip(&limit.lines) {
        if *kept <= COUNTS.to_m3() {
            plant.reaches[of.clone()].iter_mut().for_each(Reach::run_empty);
        }
    }
}

/// Tanks give nothing; the lines that end under their water are shut there.
fn shut(plant: &mut Plant, state: &State) -> Vec<ShutInlet> {
    let first = plant.nodes.len();
    let mut shut = Vec::new();
    for (place, reach) in plant.reaches.iter_mut().enumerate() {
        for side in 0..2 {
            let Outer::Tank(tank) = reach.ends[side] else { continue };
            let covered = state.found.x[first + tank] > reach.invert(side) + SAME_M;
            if plant.vessels[tank].stands && covered {
                reach.shut = Some(side);
                let line = plant.of_line.iter().position(|of| of.contains(&place));
                let level = |level_m: f64| Length::m(level_m + plant.reference_m);
                shut.push(ShutInlet {
                    line: LineId::new(line.unwrap_or_default()),
                    end: if side == 0 { LineEnd::From } else { LineEnd::To },
                    tank: TankId::new(tank),
                    inlet: level(reach.invert(side)),
                    water: level(state.found.x[first + tank]),
                });
            }
        }
    }
    for vessel in &mut plant.vessels {
        (vessel.stands, vessel.store) = (false, None);
    }
    shut
}

/// Levels closer than this are one, m.
const SAME_M: f64 = 1e-9;
