//! The account of a flush: what leaves by which way, how fast the lines run, what stays.

use super::limit::{Limit, Stands};
use super::{DrainCourse, Drained, Flushed, LONGEST_S, LineSwept};
use crate::outcome::COUNTS;
use crate::plant::Plant;
use crate::reach::Outer;
use crate::record::crossing;
use crate::run::Keeps;
use crate::runoff::Runoff;
use crate::state::State;
use crate::step::{Trial, out};
use crate::sum::Sum;
use wetrun_network::LineId;
use wetrun_units::{Flow, Length, Speed, Time, Volume};

/// A column within so much of its foot is down, m.
const DOWN_M: f64 = 0.01;
/// What hangs from a shut end falls when the water at its other end covers less of the bore.
const AIR_ENTERS: f64 = 0.1;
/// A run ends when less than this share of what can leave is still on its way: films.
const FILMS: f64 = 2e-3;
/// So much more a level may err in a step once a line has broken.
const BROKEN: f64 = 20.0;
/// In lines that have broken water starts and stops at once, and the heads that do this are gone with the
/// step: it errs by no more than so many times what it errs without them, where nothing runs faster than
/// it has before.
const LASTS: f64 = 20.0;
/// Lines that are looked at have had their fastest when none got faster for so long, s.
const SLOWS_S: f64 = 3.0;
/// Nothing changes where nothing has for so long, s: flows by less than that, m³/s, and what stands
/// anywhere by less than they would bring in that time.
const SAME_FOR_S: f64 = 30.0;
const SAME_FLOW: f64 = 1e-7;

/// The account of a run.
pub(super) struct Account {
    flushed: Flushed,
    /// Nodes of the drains.
    drains: Vec<usize>,
    carries_m_per_s: f64,
    hosed: f64,
    /// What stood in each reach, column and node, m³.
    stood: Vec<f64>,
    /// When, what has left by then, and how fast it leaves.
    leaves: Vec<(f64, f64, f64)>,
    /// Out of each drain, into each tank, over lips and out of openings.
    drained: Vec<Sum>,
    into_tanks: Vec<Sum>,
    lost: Sum,
    /// Out of the first end of each line, and into what lies beyond its second.
    passed: Vec<[Sum; 2]>,
    /// Of each reach: how far its water ran, how far at speed, and for how long.
    swept: Vec<[f64; 3]>,
    /// What the sags keep, where that is known.
    limit: Option<Limit>,
    /// What stands above that at the last step, m³.
    to_come: f64,
    same: Same,
    /// Whether a line that stood full has come to stand part full: levels are no more those of rigid
    /// columns alone from then on.
    broken: bool,
    /// The most that each reach had, without sign, m³/s.
    most_flows: Vec<f64>,
    /// Whether the water of a line hangs from a shut end.
    hangs: bool,
    /// Lines that end the run once each of them has carried silt; none where it goes on.
    looked: Vec<usize>,
    /// When one of them last got faster than before, s.
    faster_s: f64,
}

/// Since when nothing changed, and how it flowed and stood then.
#[derive(Default)]
struct Same {
    from_s: f64,
    flows: Vec<f64>,
    volumes: Vec<f64>,
}

impl Account {
    pub(super) fn new(
        plant: &Plant,
        state: &State,
        drains: Vec<usize>,
        carries_m_per_s: f64,
        hosed: f64,
        limit: Option<Limit>,
    ) -> Self {
        let level = |level_m: f64| Length::m(level_m + plant.reference_m);
        let columns =
            plant.columns.iter().zip(&state.found.columns).map(|(column, stood)| Drained {
                start_level: level(stood.level.max(column.foot)),
                down_at: (stood.level <= column.foot + DOWN_M).then_some(Time::ZERO),
            });
        let stood: Vec<f64> = plant.water(state).collect();
        let flushed = Flushed {
            columns: columns.collect(),
            drains: vec![DrainCourse::default(); drains.len()],
            lines: vec![LineSwept::default(); plant.of_line.len()],
            stood: Volume::m3(stood.iter().copied().sum::<Sum>().get()),
            ..Flushed::default()
        };
        Self {
            flushed,
            carries_m_per_s,
            hosed,
            stood,
            leaves: vec![(0.0, 0.0, 0.0)],
            drained: vec![Sum::default(); drains.len()],
            into_tanks: vec![Sum::default(); plant.vessels.len()],
            lost: Sum::default(),
            passed: vec![[Sum::default(); 2]; plant.of_line.len()],
            swept: vec![[0.0; 3]; plant.reaches.len()],
            to_come: f64::INFINITY,
            limit,
            same: Same::default(),
            broken: false,
            most_flows: vec![0.0; plant.reaches.len()],
            hangs: plant.reaches.iter().any(|reach| reach.shut.is_some()),
            looked: Vec::new(),
            faster_s: 0.0,
            drains,
        }
    }

    /// Ends the run once each of these lines has carried silt, or none gets faster any more.
    pub(super) fn look_at(&mut self, lines: &[LineId]) {
        self.looked = lines.iter().map(|line| line.index()).collect();
    }

    /// Closes the account.
    pub(super) fn close(mut self, plant: &Plant, state: &State) -> Flushed {
        let flushed = &mut self.flushed;
        flushed.ended = Time::s(state.at_s);
        flushed.hosed = Volume::m3(self.hosed * state.at_s);
        for (place, of) in plant.of_line.iter().enumerate() {
            let line = &mut flushed.lines[place];
            let [first, last] = self.passed[place].map(|passed| passed.get());
            line.passed = Volume::m3(if first.abs() > last.abs() { first } else { last });
            for reach in of.clone() {
                let [all, carried, seconds] = self.swept[reach];
                line.swept = line.swept.max(Length::m(all));
                line.carried = line.carried.max(Length::m(carried));
                line.carried_for = line.carried_for.max(Time::s(seconds));
            }
        }
        let volume = |sum: &Sum| Volume::m3(sum.get());
        flushed.into_tanks = self.into_tanks.iter().map(volume).collect();
        flushed.lost = volume(&self.lost);
        for (course, drained) in flushed.drains.iter_mut().zip(&self.drained) {
            course.passed = volume(drained);
        }
        let ways = self.drained.iter().chain(&self.into_tanks).chain([&self.lost]);
        let ways = ways.map(|way| -way.get());
        let gone = plant.water(state).zip(&self.stood).map(|(now, stood)| stood - now);
        let hosed = flushed.hosed.to_m3();
        flushed.balance = Volume::m3(gone.chain(ways).chain([hosed]).sum::<Sum>().get());

        let stands = Stands::new(plant, state);
        let all = stands.all();
        // What is all but gone counts as gone; what is not is told as it stands.
        let left = match self.limit.as_ref().filter(|limit| films(limit, flushed, self.to_come)) {
            Some(limit) => stands.settled(limit),
            None => stands,
        };
        let counts =
            |left: f64| if left > COUNTS.to_m3() { Volume::m3(left) } else { Volume::ZERO };
        flushed.left_in_lines = left.lines.into_iter().map(counts).collect();
        flushed.left_in_downspouts = left.downspouts.into_iter().map(counts).collect();
        flushed.films = Volume::m3(all) - flushed.left();
        let tops = plant.of_line.iter().zip(&flushed.left_in_lines).map(|(of, left)| {
            let tops = of.clone().filter_map(|reach| plant.reaches[reach].top(state.voids[reach]));
            let top = tops.max_by(f64::total_cmp).filter(|_| *left > Volume::ZERO);
            top.map(|top| Length::m(top + plant.reference_m))
        });
        flushed.tops_in_lines = tops.collect();
        flushed.drained = flushed.stood + flushed.hosed - flushed.left();
        // It leaves by the drain through which most has.
        let drains = flushed.drains.iter_mut();
        if let Some(most) = drains.max_by(|a, b| a.passed.to_m3().total_cmp(&b.passed.to_m3())) {
            most.passed = most.passed + flushed.films;
        }
        let drained = self.flushed.drained.to_m3();
        self.flushed.cut_off = self.hosed <= 0.0 && state.at_s >= LONGEST_S;
        let can = match &self.limit {
            Some(limit) if self.flushed.cut_off => self.flushed.stood.to_m3() - limit.all(),
            _ => drained,
        };
        self.flushed.most_drained = Time::s(self.most_by(0.95 * can.max(drained)));
        self.flushed
    }

    /// By when so much had left.
    fn most_by(&self, asked: f64) -> f64 {
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

    /// What has left by the end of a step, and how fast it leaves.
    fn leaving(&mut self, plant: &Plant, from: &State, trial: &Trial) -> f64 {
        let found = [&from.found, &trial.inner, &trial.end.found];
        let mut leaves = 0.0;
        let drains = self.flushed.drains.iter_mut().zip(&mut self.drained);
        for ((course, drained), &node) in drains.zip(&self.drains) {
            let flows = found.map(|found| found.drains[node]);
            drained.add(trial.over(flows));
            leaves += flows[2];
            course.peak_flow = course.peak_flow.max(Flow::m3_per_s(flows[0].max(flows[2])));
        }
        for (place, reach) in plant.reaches.iter().enumerate() {
            for (side, sign) in [(0, -1.0), (1, 1.0)] {
                let Outer::Tank(tank) = reach.ends[side] else { continue };
                let flows = found.map(|found| sign * found.reaches[place].passes[side]);
                self.into_tanks[tank].add(trial.over(flows));
                leaves += flows[2];
            }
        }
        let lost = found.map(|found| {
            let spills: f64 = found.columns.iter().map(|stood| stood.spill).sum();
            found.escapes.iter().sum::<f64>() + spills
        });
        self.lost.add(trial.over(lost));
        leaves + lost[2]
    }

    /// Whether a step ends with more flow through a reach or out of a drain than there was before.
    fn fastest(&self, trial: &Trial) -> bool {
        let found = &trial.end.found;
        let mut reaches = found.reaches.iter().zip(&self.most_flows);
        let mut drains = self.drains.iter().zip(&self.flushed.drains);
        reaches.any(|(moved, most)| moved.flow.abs() > *most)
            || drains.any(|(node, course)| found.drains[*node] > course.peak_flow.to_m3_per_s())
    }

    /// How fast and how far the water of each line runs.
    fn sweep(&mut self, plant: &Plant, from: &State, trial: &Trial) {
        let found = [&from.found, &trial.inner, &trial.end.found];
        for (place, reach) in plant.reaches.iter().enumerate() {
            let speeds =
                [0, 2].map(|end: usize| found[end].reaches[place].flow.abs() / reach.area_m2);
            let swept = &mut self.swept[place];
            let mean = 0.5 * (speeds[0] + speeds[1]);
            swept[0] += trial.seconds * mean;
            let share = above(speeds, self.carries_m_per_s);
            swept[1] += trial.seconds * share * mean.max(self.carries_m_per_s);
            swept[2] += trial.seconds * share;
        }
        for (place, of) in plant.of_line.iter().enumerate() {
            let line = &mut self.flushed.lines[place];
            for reach in of.clone() {
                let (flow, share) = trial.fastest(from, reach);
                let speed = Speed::m_per_s(flow.abs() / plant.reaches[reach].area_m2);
                if speed > line.peak_velocity {
                    if self.looked.contains(&place) {
                        self.faster_s = trial.end.at_s;
                    }
                    line.peak_velocity = speed;
                    line.peak_flow = Flow::m3_per_s(flow);
                    line.peak_at = Time::s(from.at_s + share * trial.seconds);
                }
            }
            let ends = [(of.start, 0), (of.end - 1, 1)];
            for (total, (reach, side)) in self.passed[place].iter_mut().zip(ends) {
                total.add(trial.over(found.map(|found| found.reaches[reach].passes[side])));
            }
        }
    }

    /// When each column is down.
    fn columns(&mut self, plant: &Plant, from: &State, trial: &Trial) {
        let ends = [&from.found, &trial.end.found];
        for (place, column) in plant.columns.iter().enumerate() {
            let course = &mut self.flushed.columns[place];
            let levels = ends.map(|found| found.columns[place].level);
            let down = column.foot + DOWN_M;
            if course.down_at.is_none() && levels[1] <= down {
                let rates =
                    ends.map(|found| out(found, place) / found.columns[place].surface.max(1e-9));
                let seconds = trial.seconds;
                let share = crossing(levels.map(|level| -level), rates, seconds, -down);
                course.down_at = Some(Time::s(from.at_s + share * seconds));
            } else if levels[1] > down {
                course.down_at = None;
            }
        }
    }
}

impl Keeps for Account {
    /// A line that breaks makes errors that tell nothing of the next.
    const REMEMBERED: f64 = 0.0;
    const LEAPS_TELL: bool = false;

    fn step(&mut self, plant: &Plant, _: &Runoff, from: &State, trial: &Trial) {
        self.flushed.steps += 1;
        let full = |void: [f64; 2]| void == [0.0; 2];
        let breaks = from.voids.iter().zip(&trial.end.voids);
        self.broken |= breaks.into_iter().any(|(before, after)| full(*before) && !full(*after));
        for (most, moved) in self.most_flows.iter_mut().zip(&trial.end.found.reaches) {
            *most = most.max(moved.flow.abs());
        }
        let leaves = self.leaving(plant, from, trial);
        self.sweep(plant, from, trial);
        self.columns(plant, from, trial);
        let end = &trial.end;
        let volumes: Vec<f64> = plant.water(end).collect();
        let gone = self.stood.iter().zip(&volumes).map(|(stood, now)| stood - now);
        let gone = gone.sum::<f64>() + self.hosed * end.at_s;
        self.leaves.push((end.at_s, gone, leaves));
        if let Some(limit) = &self.limit {
            self.to_come = limit.above(&Stands::new(plant, end));
        }
        if self.hosed > 0.0 {
            let found = &end.found;
            let flows =
                found.reaches.iter().map(|moved| moved.flow).chain(found.drains.iter().copied());
            self.same.take(end.at_s, flows.collect(), volumes);
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
        self.hangs = plant.reaches.iter().any(|reach| reach.shut.is_some());
        !falls.is_empty()
    }

    fn looser(&self, _: f64) -> f64 {
        if self.broken { BROKEN } else { 1.0 }
    }

    fn errs(&self, trial: &Trial, may_m: f64) -> f64 {
        let error = &trial.error;
        // Speeds that carry silt, which are looked for, have heads that last.
        if self.broken && (!self.looked.is_empty() || !self.fastest(trial)) {
            error.most_m().min(error.levels_m.max(error.lasting_m) * LASTS) / may_m
        } else {
            error.most_m() / may_m
        }
    }

    fn done(&self, state: &State) -> bool {
        let carried = |line: &usize| {
            self.flushed.lines[*line].peak_velocity.to_m_per_s() >= self.carries_m_per_s
        };
        let slows = state.at_s > self.faster_s + SLOWS_S;
        if !self.looked.is_empty() && (slows || self.looked.iter().all(carried)) {
            return true;
        }
        if self.hosed > 0.0 {
            return state.at_s - self.same.from_s > SAME_FOR_S;
        }
        // What still hangs may fall yet: then the run goes on until nothing flows.
        !self.hangs
            && self.limit.as_ref().is_some_and(|limit| films(limit, &self.flushed, self.to_come))
    }
}

impl Same {
    fn take(&mut self, at_s: f64, flows: Vec<f64>, volumes: Vec<f64>) {
        let near = |a: &[f64], b: &[f64], apart: f64| {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() < apart)
        };
        let same = near(&self.flows, &flows, SAME_FLOW)
            && near(&self.volumes, &volumes, SAME_FLOW * SAME_FOR_S);
        if !same {
            *self = Self { from_s: at_s, flows, volumes };
        }
    }
}

/// Whether what is still to come is no more than films.
fn films(limit: &Limit, flushed: &Flushed, to_come: f64) -> bool {
    to_come <= FILMS * (flushed.stood.to_m3() - limit.all())
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
