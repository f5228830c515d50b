//! What is kept of a run as it goes: peaks between the steps, volumes by the steps' own weights.

use crate::outcome::{
    COUNTS, ColumnCourse, LineCourse, Moment, OpeningCourse, Passed, TankCourse, Totals,
};
use crate::plant::Plant;
use crate::run::Keeps;
use crate::runoff::Runoff;
use crate::scene::Scene;
use crate::state::State;
use crate::step::{Trial, out};
use crate::sum::Sum;
use wetrun_units::{Flow, Length, Speed, Time, Volume};

/// The record of a run.
pub(crate) struct Record {
    passed: Passed,
    start: Stored,
    /// Nodes of the openings.
    openings: Vec<usize>,
    every_s: Option<f64>,
    moved: Moved,
}

/// What has moved so far, m³.
struct Moved {
    spilled: Vec<Sum>,
    escaped: Vec<Sum>,
    passed: Vec<Sum>,
    received: Vec<Sum>,
    overflowed: Vec<Sum>,
    over_rim: Vec<Sum>,
    /// Of what ran over, what came to other tanks.
    onward: Sum,
}

/// What is stored at a moment, part by part, m³: tanks first.
struct Stored {
    tanks: Vec<f64>,
    rest: Vec<f64>,
}

impl Record {
    pub(crate) fn new(
        scene: &Scene<'_>,
        plant: &Plant,
        state: &State,
        every: Option<Time>,
    ) -> Self {
        let level = |level_m: f64| Length::m(level_m + plant.reference_m);
        let openings: Vec<usize> =
            (scene.network.openings()).map(|(id, _)| plant.columns.len() + id.index()).collect();
        let columns = state.found.columns.iter().map(|stood| ColumnCourse {
            start_level: level(stood.level),
            peak_level: level(stood.level),
            ..ColumnCourse::default()
        });
        let heads = openings.iter().map(|&node| OpeningCourse {
            peak_level: level(state.found.x[node]),
            ..OpeningCourse::default()
        });
        let first = plant.nodes.len();
        let tanks = plant.vessels.iter().enumerate().map(|(place, vessel)| {
            let stands = state.found.x[first + place];
            let full = vessel.stands && stands >= vessel.overflow - SAME_M;
            TankCourse {
                start: vessel.store.map(|_| Volume::m3(state.tanks[place])),
                full_at: full.then_some(Time::ZERO),
                peak_level: vessel.stands.then(|| level(stands)),
                ..TankCourse::default()
            }
        });
        let passed = Passed {
            downspouts: columns.collect(),
            openings: heads.collect(),
            lines: vec![LineCourse::default(); scene.network.lines().len()],
            tanks: tanks.collect(),
            ..Passed::default()
        };
        let start = stored(plant, state);
        let none = |count: usize| vec![Sum::default(); count];
        let tanks = || none(plant.vessels.len());
        let moved = Moved {
            spilled: none(plant.columns.len()),
            escaped: none(openings.len()),
            passed: none(plant.of_line.len()),
            received: tanks(),
            overflowed: tanks(),
            over_rim: tanks(),
            onward: Sum::default(),
        };
        let mut record = Self { passed, start, openings, every_s: every.map(Time::to_s), moved };
        record.moment(plant, state);
        record
    }

    fn take(&mut self, plant: &Plant, runoff: &Runoff, from: &State, trial: &Trial) {
        let seconds = trial.seconds;
        let (start, inner, end) = (&from.found, &trial.inner, &trial.end.found);
        let over = |values: [f64; 3]| trial.over(values);
        let moved = &mut self.moved;
        let level = |level_m: f64| Length::m(level_m + plant.reference_m);
        let then = |share: f64| Time::s(from.at_s + share * seconds);
        let passed = &mut self.passed;
        passed.steps += 1;
        passed.level_error = passed.level_error.max(Length::m(trial.error.most_m()));

        let before = runoff.rates(from.at_s);
        let after = runoff.rates_before(trial.end.at_s);
        for (place, course) in passed.downspouts.iter_mut().enumerate() {
            let (a, b) = (&start.columns[place], &end.columns[place]);
            let rates = [
                (runoff.of(place, &before) - out(start, place)) / surface(plant, place, a.level),
                (runoff.of(place, &after) - out(end, place)) / surface(plant, place, b.level),
            ];
            let brings = runoff.of(place, &before).max(runoff.of(place, &after));
            course.peak_runoff = course.peak_runoff.max(Flow::m3_per_s(brings));
            let (top, share) = highest(a.level, b.level, rates, seconds);
            let top = top.min(plant.columns[place].lip);
            if level(top) > course.peak_level + Length::m(SAME_M) {
                (course.peak_level, course.peak_at) = (level(top), then(share));
            }
            moved.spilled[place].add(over([a.spill, inner.columns[place].spill, b.spill]));
            let spills = [a.spill > 0.0, b.spill > 0.0];
            if spills[1] && course.spills_from.is_none() {
                course.spills_from = Some(then(1.0));
            }
            let part = f64::from(u8::from(spills[0])) + f64::from(u8::from(spills[1]));
            course.spills_for = course.spills_for + Time::s(0.5 * part * seconds);
        }
        let openings = passed.openings.iter_mut().zip(&self.openings);
        for ((course, &node), escaped) in openings.zip(&mut moved.escaped) {
            let top = start.x[node].max(end.x[node]);
            course.peak_level = course.peak_level.max(level(top));
            let escapes = [start.escapes[node], inner.escapes[node], end.escapes[node]];
            escaped.add(over(escapes));
            if end.escapes[node] > 0.0 && course.escapes_from.is_none() {
                course.escapes_from = Some(then(1.0));
            }
        }
        for (place, course) in passed.lines.iter_mut().enumerate() {
            let of = plant.of_line[place].clone();
            for reach in of.clone() {
                let (flow, share) = trial.fastest(from, reach);
                if flow.abs() > course.peak_flow.to_m3_per_s() {
                    course.peak_flow = Flow::m3_per_s(flow.abs());
                    course.peak_velocity =
                        Speed::m_per_s(flow.abs() / plant.reaches[reach].area_m2);
                    course.peak_at = then(share);
                }
            }
            let last = of.end - 1;
            let passes = [start, inner, end].map(|found| found.reaches[last].passes[1]);
            moved.passed[place].add(over(passes));
        }
        let first = plant.nodes.len();
        for (place, course) in passed.tanks.iter_mut().enumerate() {
            let vessel = &plant.vessels[place];
            let found = [start, inner, end];
            moved.received[place].add(over(found.map(|found| found.received[place])));
            moved.overflowed[place].add(over(found.map(|found| found.overflows[place])));
            moved.over_rim[place].add(over(found.map(|found| found.over_rim[place])));
            moved.onward.add(over(found.map(|found| found.onward[place])));
            if !vessel.stands {
                continue;
            }
            let levels = [start.x[first + place], end.x[first + place]];
            let rates = vessel.store.map_or([0.0; 2], |store| {
                [start, end].map(|found| crate::step::filling(found, place) / store.area_m2)
            });
            let top = level(highest(levels[0], levels[1], rates, seconds).0);
            course.peak_level = course.peak_level.map(|peak| peak.max(top));
            if course.full_at.is_none() && levels[1] >= vessel.overflow - SAME_M {
                let share = crossing(levels, rates, seconds, vessel.overflow);
                course.full_at = Some(then(share));
            }
        }
        self.moment(plant, &trial.end);
    }

    /// Keeps a moment, where moments are kept and the last lies far enough back.
    fn moment(&mut self, plant: &Plant, state: &State) {
        let Some(every_s) = self.every_s else { return };
        let due = self.passed.moments.last().map(|last| last.at.to_s() + every_s);
        if due.is_some_and(|due| state.at_s < due - 1e-9) {
            return;
        }
        let level = |level_m: f64| Length::m(level_m + plant.reference_m);
        let found = &state.found;
        let first = plant.nodes.len();
        self.passed.moments.push(Moment {
            at: Time::s(state.at_s),
            levels: found.columns.iter().map(|stood| level(stood.level)).collect(),
            spills: found.columns.iter().map(|stood| Flow::m3_per_s(stood.spill)).collect(),
            flows: (plant.of_line.iter())
                .map(|of| Flow::m3_per_s(found.reaches[of.end - 1].passes[1]))
                .collect(),
            heads: self.openings.iter().map(|&node| level(found.x[node])).collect(),
            tanks: (plant.vessels.iter().enumerate())
                .map(|(place, vessel)| vessel.stands.then(|| level(found.x[first + place])))
                .collect(),
            received: found.received.iter().map(|flow| Flow::m3_per_s(*flow)).collect(),
            overflows: found.overflows.iter().map(|flow| Flow::m3_per_s(*flow)).collect(),
        });
    }

    /// The whole account at the end.
    pub(crate) fn close(mut self, plant: &Plant, runoff: &Runoff, state: &State) -> Passed {
        let account = runoff.account(state.at_s);
        // Where nothing ever moved no step has led to the end.
        if self.passed.moments.last().is_some_and(|last| last.at.to_s() < state.at_s) {
            self.every_s = self.every_s.map(|_| 0.0);
            self.moment(plant, state);
        }
        let now = stored(plant, state);
        let (passed, moved) = (&mut self.passed, &self.moved);
        passed.ended = Time::s(state.at_s);
        passed.iterations = plant.iterations;
        for (place, course) in passed.tanks.iter_mut().enumerate() {
            course.end = course.start.map(|_| Volume::m3(now.tanks[place]));
            course.received = Volume::m3(moved.received[place].get());
            course.overflowed = Volume::m3(moved.overflowed[place].get());
            course.over_rim = Volume::m3(moved.over_rim[place].get());
        }
        for (course, passed) in passed.lines.iter_mut().zip(&moved.passed) {
            course.passed = Volume::m3(passed.get());
        }
        for (course, escaped) in passed.openings.iter_mut().zip(&moved.escaped) {
            course.escaped = Volume::m3(escaped.get());
        }
        for (course, spilled) in passed.downspouts.iter_mut().zip(&moved.spilled) {
            course.spilled = Volume::m3(spilled.get());
            if course.spilled <= COUNTS {
                (course.spills_from, course.spills_for) = (None, Time::ZERO);
            }
        }
        let all =
            |parts: &[Sum]| Volume::m3(parts.iter().map(|part| part.get()).sum::<Sum>().get());
        let spilled = all(&moved.spilled);
        let escaped = all(&moved.escaped);
        let over_rim = all(&moved.over_rim);
        let ran_over = moved.overflowed.iter().map(|part| part.get());
        let left = ran_over.chain([-moved.onward.get()]).sum::<Sum>();
        let overflowed = Volume::m3(left.get());
        let more = now.more_than(&self.start).chain([account.on_roofs]).sum::<Sum>();
        let stored = Volume::m3(more.get());
        let [rain, wetted, no_runoff] =
            [account.rain, account.wetted, account.no_runoff].map(Volume::m3);
        let runoff = rain - wetted - no_runoff;
        let balance = runoff - spilled - escaped - stored - overflowed - over_rim;
        passed.totals = Totals {
            rain,
            wetted,
            no_runoff,
            runoff,
            spilled,
            escaped,
            stored,
            overflowed,
            over_rim,
            balance,
        };
        self.passed
    }
}

impl Keeps for Record {
    fn step(&mut self, plant: &Plant, runoff: &Runoff, from: &State, trial: &Trial) {
        self.take(plant, runoff, from, trial);
    }
}

/// Levels closer than this are one, m.
const SAME_M: f64 = 1e-9;

fn surface(plant: &Plant, column: usize, level: f64) -> f64 {
    plant.columns[column].volume(level).1
}

impl Stored {
    /// What each part holds more than it did.
    fn more_than<'a>(&'a self, before: &'a Self) -> impl Iterator<Item = f64> + 'a {
        let now = self.tanks.iter().chain(&self.rest);
        now.zip(before.tanks.iter().chain(&before.rest)).map(|(now, before)| now - before)
    }
}

fn stored(plant: &Plant, state: &State) -> Stored {
    Stored { tanks: state.tanks.clone(), rest: plant.water(state).collect() }
}

/// The highest value of the cubic through two values with two rates, and where it is first there.
pub(crate) fn highest(from: f64, to: f64, rates: [f64; 2], seconds: f64) -> (f64, f64) {
    let mut best = if to > from { (to, 1.0) } else { (from, 0.0) };
    let [start, end] = rates.map(|rate| rate * seconds);
    if !(start > 0.0 && end < 0.0) {
        return best;
    }
    // The slope start + 2 c2 s + 3 c3 s² is 0 there.
    let rise = to - from;
    let c2 = 3.0 * rise - 2.0 * start - end;
    let c3 = start + end - 2.0 * rise;
    let under = c2 * c2 - 3.0 * c3 * start;
    if under < 0.0 {
        return best;
    }
    let share = -start / (c2 - under.sqrt());
    if share > 0.0 && share < 1.0 {
        let top = from + share * (start + share * (c2 + share * c3));
        if top > best.0 {
            best = (top, share);
        }
    }
    best
}

/// Where the same cubic first passes a value between its ends, by halving.
pub(crate) fn crossing(levels: [f64; 2], rates: [f64; 2], seconds: f64, value: f64) -> f64 {
    let [start, end] = rates.map(|rate| rate * seconds);
    let rise = levels[1] - levels[0];
    let c2 = 3.0 * rise - 2.0 * start - end;
    let c3 = start + end - 2.0 * rise;
    let at = |share: f64| levels[0] + share * (start + share * (c2 + share * c3));
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if at(middle) >= value {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}
