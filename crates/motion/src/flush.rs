//! Drains opened over a system at rest: how fast the lines run, how long, and what stays behind.

use crate::drain::DrainLaw;
use crate::outcome::NotFollowed;
use crate::plant::Plant;
use crate::reach::Outer;
use crate::record::{crossing, highest};
use crate::run::{Ends, Keeps, Pace, Run};
use crate::runoff::Runoff;
use crate::scene::Scene;
use crate::state::{State, rest};
use crate::step::{BEFORE, OWN, Trial, out};
use wetrun_network::{
    DownspoutId, LineId, Network, Opening, OpeningKind, Overflow, Pipe, PointId, TankId,
};
use wetrun_solver::laws::pipe::PipeLaw;
use wetrun_solver::{Prepared, Rest, Scenario, TankState};
use wetrun_units::{Flow, Intensity, Length, Speed, Time, Volume};

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

/// What came of opening drains. Volumes close: what stood and what hoses brought has left or stays.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Flushed {
    /// When the run ended.
    pub ended: Time,
    /// What stood in lines and columns.
    pub stood: Volume,
    /// What hoses brought.
    pub hosed: Volume,
    /// What has left lines and columns.
    pub drained: Volume,
    /// By when 95 % of that had.
    pub most_drained: Time,
    /// What stays in each line, and in each downspout.
    pub left_in_lines: Vec<Volume>,
    /// See there.
    pub left_in_downspouts: Vec<Volume>,
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
    /// Of what has left, what was still on its way as films when the run was called off.
    pub films: Volume,
    /// What is not accounted for.
    pub balance: Volume,
    /// Inlets under the water of their tanks, which counted as shut.
    pub shut: Vec<ShutInlet>,
    /// Steps taken.
    pub steps: u32,
}

/// An inlet under the water of its tank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShutInlet {
    /// The line that ends there.
    pub line: LineId,
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
    /// Greatest speed on the full bore, without sign, and when.
    pub peak_velocity: Speed,
    /// See there.
    pub peak_at: Time,
    /// The flow at that moment, with its sign.
    pub peak_flow: Flow,
    /// What passed the end by which more of it passed, net.
    pub passed: Volume,
    /// How long it ran at the speed that was asked for, or faster.
    pub carried_for: Time,
    /// How far its water ran at that speed or faster.
    pub carried: Length,
    /// How far its water ran in all.
    pub swept: Length,
}

/// A column within so much of its foot is down, m.
const DOWN_M: f64 = 0.01;
/// What hangs from a shut end falls when the water at its other end covers less of the bore.
const AIR_ENTERS: f64 = 0.1;
/// A run without a hose ends by then at the latest, s; one with a hose by the other.
const LONGEST_S: f64 = 24.0 * 3600.0;
const AN_HOUR_S: f64 = 3600.0;
/// A run ends when less than this share of what can leave is still on its way: films.
const FILMS: f64 = 2e-3;
/// A flow below this is none, m³/s.
const NO_FLOW: f64 = 2e-8;
/// Nothing changes where nothing has for so long, s: flows by less than that, m³/s.
const SAME_FOR_S: f64 = 30.0;
const SAME_FLOW: f64 = 1e-7;

/// Opens drains in dry weather over a system at its rest level, and follows it until nothing changes:
/// six hours at most, an hour with a hose. `carries` is the speed that carries silt.
///
/// No tank gives water: one whose water stands over an inlet counts as shut there, and what stands in
/// that line hangs until air comes to its lower end.
///
/// # Errors
/// [`NotFollowed`] where no step from some moment settles.
pub fn flush(
    scene: &Scene<'_>,
    drains: &[OpenDrain],
    hoses: &[Hose],
    carries: Speed,
) -> Result<Flushed, NotFollowed> {
    let mut plant = Plant::new(scene);
    let state = State::at_rest(scene, &plant).ok_or(NotFollowed { at_s: 0.0 })?;
    let shut = shut(&mut plant, &state);
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
    let runoff = Runoff::hosed(brought);
    let mut record = Account::new(&plant, &state, nodes, carries.to_m_per_s(), hosed);
    record.flushed.shut = shut;
    let ends = if hoses.is_empty() {
        Ends { last_s: LONGEST_S, no_flow: Some(NO_FLOW) }
    } else {
        Ends { last_s: AN_HOUR_S, no_flow: None }
    };
    let limit = limit(scene, drains, &record.flushed.shut);
    if hoses.is_empty() {
        record.leaves_at_most = limit.as_ref().map(|limit| record.flushed.stood - limit.all());
    }
    let run = Run {
        plant: &mut plant,
        runoff: &runoff,
        pace: &Pace::default(),
        scale: (scale + hosed).max(1e-5),
        ends,
        record,
        state,
    };
    let (record, state) = run.follow()?;
    Ok(record.close(&plant, &state, limit.filter(|_| hoses.is_empty())))
}

/// What the sags keep for good.
struct Limit {
    lines: Vec<f64>,
    downspouts: Vec<f64>,
}

impl Limit {
    fn all(&self) -> Volume {
        Volume::m3(self.lines.iter().chain(&self.downspouts).sum())
    }
}

/// Where water stands when all has run out that can: at rest with the drains for openings, dry tanks,
/// and the shut inlets out of reach.
fn limit(scene: &Scene<'_>, drains: &[OpenDrain], shut: &[ShutInlet]) -> Option<Limit> {
    let mut parts = scene.network.to_parts();
    for tank in &mut parts.tanks {
        tank.overflow = None;
    }
    for inlet in shut {
        let level = inlet.water + OUT_OF_REACH;
        parts.tanks[inlet.tank.index()].overflow =
            Some(Overflow { level, pipe: None, to: None, k: 0.0 });
    }
    for drain in drains {
        let point = &mut parts.points[drain.at.index()];
        let level = drain.outlet.max(point.level);
        let level = point.opening.map_or(level, |opening| opening.level.min(level));
        point.opening = Some(Opening { kind: OpeningKind::Vent, level });
    }
    let network = Network::build(parts).ok()?;
    let scenario = Scenario {
        law: scene.law,
        temperature: scene.temperature,
        intensity: Intensity::ZERO,
        tanks: TankState::Full,
    };
    let prepared = Prepared::new(&network, &scenario);
    let (before, after) = (rest(scene)?, prepared.rest());
    let lines = (0..network.lines().len()).map(LineId::new).map(|id| {
        let held = |rest: &Rest| -> f64 {
            rest.in_line(&network, id).iter().map(|water| water.volume.to_m3()).sum()
        };
        held(after).min(held(&before))
    });
    let downspouts = (0..network.downspouts().len()).map(DownspoutId::new).map(|id| {
        let held =
            |rest: &Rest| rest.in_downspout(&network, id).map_or(0.0, |water| water.volume.to_m3());
        held(after).min(held(&before))
    });
    Some(Limit { lines: lines.collect(), downspouts: downspouts.collect() })
}

/// So much higher than its water a tank is taken to stand whose inlet is shut: nothing runs there.
const OUT_OF_REACH: Length = Length::m(1000.0);

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

/// The account of a run.
struct Account {
    flushed: Flushed,
    /// Nodes of the drains.
    drains: Vec<usize>,
    carries_m_per_s: f64,
    hosed: f64,
    /// When, what has left by then, and how fast it leaves.
    leaves: Vec<(f64, f64, f64)>,
    /// Out of the first end of each line, and into what lies beyond its second.
    passed: Vec<[f64; 2]>,
    /// Of each reach: how far its water ran, how far at speed, and for how long.
    swept: Vec<[f64; 3]>,
    /// The most that can leave, where that is known.
    leaves_at_most: Option<Volume>,
    /// Since when nothing changed, and how it flowed then.
    same: (f64, Vec<f64>),
}

impl Account {
    fn new(
        plant: &Plant,
        state: &State,
        drains: Vec<usize>,
        carries_m_per_s: f64,
        hosed: f64,
    ) -> Self {
        let level = |level_m: f64| Length::m(level_m + plant.reference_m);
        let columns =
            plant.columns.iter().zip(&state.found.columns).map(|(column, stood)| Drained {
                start_level: level(stood.level.max(column.foot)),
                down_at: (stood.level <= column.foot + DOWN_M).then_some(Time::ZERO),
            });
        let flushed = Flushed {
            columns: columns.collect(),
            drains: vec![DrainCourse::default(); drains.len()],
            lines: vec![LineSwept::default(); plant.of_line.len()],
            into_tanks: vec![Volume::ZERO; plant.vessels.len()],
            stood: Volume::m3(water(plant, state)),
            ..Flushed::default()
        };
        Self {
            flushed,
            drains,
            carries_m_per_s,
            hosed,
            leaves: vec![(0.0, 0.0, 0.0)],
            passed: vec![[0.0; 2]; plant.of_line.len()],
            swept: vec![[0.0; 3]; plant.reaches.len()],
            leaves_at_most: None,
            same: (0.0, Vec::new()),
        }
    }

    /// Closes the account.
    fn close(mut self, plant: &Plant, state: &State, limit: Option<Limit>) -> Flushed {
        let flushed = &mut self.flushed;
        flushed.ended = Time::s(state.at_s);
        flushed.hosed = Volume::m3(self.hosed * state.at_s);
        for (place, of) in plant.of_line.iter().enumerate() {
            let reaches = of.clone().map(|reach| plant.reaches[reach].water(state.voids[reach]));
            flushed.left_in_lines.push(Volume::m3(reaches.sum()));
            let line = &mut flushed.lines[place];
            let [first, last] = self.passed[place];
            line.passed = Volume::m3(if first.abs() > last.abs() { first } else { last });
            for reach in of.clone() {
                let [all, carried, seconds] = self.swept[reach];
                line.swept = line.swept.max(Length::m(all));
                line.carried = line.carried.max(Length::m(carried));
                line.carried_for = line.carried_for.max(Time::s(seconds));
            }
        }
        flushed.left_in_downspouts = state.columns.iter().map(|water| Volume::m3(*water)).collect();
        let ran: Volume =
            flushed.left_in_lines.iter().chain(&flushed.left_in_downspouts).copied().sum();
        if let Some(limit) = limit {
            // The last films run for hours: what the sags keep is known without waiting for them.
            for (place, of) in plant.of_line.iter().enumerate() {
                if of.clone().all(|reach| plant.reaches[reach].shut.is_none()) {
                    flushed.left_in_lines[place] = Volume::m3(limit.lines[place]);
                }
            }
            let kept = limit.downspouts.iter().map(|kept| Volume::m3(*kept));
            flushed.left_in_downspouts = kept.collect();
        }
        let left: Volume =
            flushed.left_in_lines.iter().chain(&flushed.left_in_downspouts).copied().sum();
        flushed.drained = flushed.stood + flushed.hosed - left;
        let drained: Volume = flushed.drains.iter().map(|drain| drain.passed).sum();
        let tanks: Volume = flushed.into_tanks.iter().copied().sum();
        flushed.films = ran - left;
        flushed.balance = flushed.drained - flushed.films - drained - tanks - flushed.lost;
        // What is still on its way leaves by the drain through which most has.
        let most = (0..flushed.drains.len()).max_by(|a, b| {
            let passed = |at: &usize| flushed.drains[*at].passed.to_m3();
            passed(a).total_cmp(&passed(b))
        });
        if let Some(most) = most {
            flushed.drains[most].passed = flushed.drains[most].passed + flushed.films;
        }
        self.leaves_at_most = Some(self.flushed.drained);
        self.flushed.most_drained = Time::s(self.most_by(0.95));
        self.flushed
    }

    /// By when a share of all that left had left.
    fn most_by(&self, share: f64) -> f64 {
        let last = self.leaves.last().map_or(0.0, |last| last.1);
        let asked = share * self.leaves_at_most.map_or(last, Volume::to_m3);
        let Some(step) = self.leaves.windows(2).find(|step| step[1].1 >= asked) else {
            return self.leaves.last().map_or(0.0, |last| last.0);
        };
        let (from, to) = (step[0], step[1]);
        if to.1 <= from.1 {
            return from.0;
        }
        let seconds = to.0 - from.0;
        from.0 + seconds * crossing([from.1, to.1], [from.2, to.2], seconds, asked)
    }
}

impl Keeps for Account {
    fn step(&mut self, plant: &Plant, _: &Runoff, from: &State, trial: &Trial, leapt: bool) {
        let seconds = trial.seconds;
        let (start, inner, end) = (&from.found, &trial.inner, &trial.end.found);
        let weights = if leapt { [0.0, 0.0, 1.0] } else { [BEFORE, BEFORE, OWN] };
        let over = |values: [f64; 3]| -> f64 {
            seconds * values.iter().zip(weights).map(|(v, w)| v * w).sum::<f64>()
        };
        let flushed = &mut self.flushed;
        flushed.steps += 1;
        let mut leaves = 0.0;
        for (course, &node) in flushed.drains.iter_mut().zip(&self.drains) {
            let flows = [start, inner, end].map(|found| found.drains[node]);
            course.passed = course.passed + Volume::m3(over(flows));
            leaves += flows[2];
            for flow in [flows[0], flows[2]] {
                course.peak_flow = course.peak_flow.max(Flow::m3_per_s(flow));
            }
        }
        let escapes = [start, inner, end].map(|found| found.escapes.iter().sum());
        let spills =
            [start, inner, end].map(|found| found.columns.iter().map(|stood| stood.spill).sum());
        flushed.lost = flushed.lost + Volume::m3(over(escapes) + over(spills));
        for (place, reach) in plant.reaches.iter().enumerate() {
            for side in 0..2 {
                let Outer::Tank(tank) = reach.ends[side] else { continue };
                let sign = if side == 0 { -1.0 } else { 1.0 };
                let flows =
                    [start, inner, end].map(|found| sign * found.reaches[place].passes[side]);
                flushed.into_tanks[tank] = flushed.into_tanks[tank] + Volume::m3(over(flows));
                leaves += flows[2];
            }
            let speeds = [start, end].map(|found| found.reaches[place].flow.abs() / reach.area_m2);
            let swept = &mut self.swept[place];
            let mean = 0.5 * (speeds[0] + speeds[1]);
            swept[0] += seconds * mean;
            let share = above(speeds, self.carries_m_per_s);
            swept[1] += seconds * share * mean.max(self.carries_m_per_s);
            swept[2] += seconds * share;
        }
        for (place, of) in plant.of_line.iter().enumerate() {
            let line = &mut flushed.lines[place];
            for reach in of.clone() {
                let flows = [start, end].map(|found| found.reaches[reach].flow);
                let gains = [from.reach_gains[reach], trial.end.reach_gains[reach]];
                for sign in [1.0, -1.0] {
                    let gains = gains.map(|gain| sign * gain);
                    let (top, share) = highest(sign * flows[0], sign * flows[1], gains, seconds);
                    let speed = Speed::m_per_s(top / plant.reaches[reach].area_m2);
                    if speed > line.peak_velocity {
                        line.peak_velocity = speed;
                        line.peak_flow = Flow::m3_per_s(sign * top);
                        line.peak_at = Time::s(from.at_s + share * seconds);
                    }
                }
            }
            let ends = [(of.start, 0), (of.end - 1, 1)];
            for (total, (reach, side)) in self.passed[place].iter_mut().zip(ends) {
                *total += over([start, inner, end].map(|found| found.reaches[reach].passes[side]));
            }
        }
        for (place, column) in plant.columns.iter().enumerate() {
            let course = &mut flushed.columns[place];
            let levels = [start, end].map(|found| found.columns[place].level);
            let down = column.foot + DOWN_M;
            if course.down_at.is_none() && levels[1] <= down {
                let rates = [start, end]
                    .map(|found| out(found, place) / found.columns[place].surface.max(1e-9));
                let share = crossing(levels.map(|level| -level), rates, seconds, -down);
                course.down_at = Some(Time::s(from.at_s + share * seconds));
            } else if levels[1] > down {
                course.down_at = None;
            }
        }
        let at_s = trial.end.at_s;
        let left = flushed.stood.to_m3() + self.hosed * at_s - water(plant, &trial.end);
        self.leaves.push((at_s, left, leaves));
        let flows = || end.reaches.iter().map(|moved| moved.flow).chain(end.drains.iter().copied());
        let same = self.same.1.iter().zip(flows()).all(|(a, b)| (a - b).abs() < SAME_FLOW);
        if !same || self.same.1.is_empty() {
            self.same = (at_s, flows().collect());
        }
    }

    /// Air at the lower end of what hangs lets it fall.
    fn turn(&mut self, plant: &mut Plant, state: &State) -> bool {
        let mut falls = Vec::new();
        for (place, reach) in plant.reaches.iter().enumerate() {
            let Some(side) = reach.shut else { continue };
            let other = 1 - side;
            let head = state.found.x[plant.unknown(reach.ends[other])];
            if head <= reach.invert(other) + AIR_ENTERS * reach.bore_m {
                falls.push(place);
            }
        }
        for place in &falls {
            plant.reaches[*place].shut = None;
        }
        !falls.is_empty()
    }

    fn done(&self, state: &State) -> bool {
        if self.hosed > 0.0 {
            return state.at_s - self.same.0 > SAME_FOR_S;
        }
        let left = self.leaves.last().map_or(0.0, |last| last.1);
        self.leaves_at_most.is_some_and(|most| most.to_m3() - left <= FILMS * most.to_m3())
    }
}

/// The part of a step in which a speed that changes evenly is at least so much.
fn above(speeds: [f64; 2], asked: f64) -> f64 {
    let (low, high) = (speeds[0].min(speeds[1]), speeds[0].max(speeds[1]));
    if low >= asked {
        1.0
    } else if high < asked {
        0.0
    } else {
        (high - asked) / (high - low)
    }
}

/// All water in lines and columns, m³.
fn water(plant: &Plant, state: &State) -> f64 {
    let lines = plant.reaches.iter().zip(&state.voids).map(|(reach, void)| reach.water(*void));
    lines.chain(state.columns.iter().copied()).chain(state.nodes.iter().copied()).sum()
}
