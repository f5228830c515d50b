//! A storm followed from rest to rest: steps by their error, their ends on every break.

use crate::outcome::{NotFollowed, Passed};
use crate::plant::Plant;
use crate::record::Record;
use crate::runoff::Runoff;
use crate::scene::Scene;
use crate::state::{State, rest};
use crate::step::{Trial, Workshop, attempt, backward, leap, opening};
use crate::watch::Watch;
use wetrun_rain::Course;
use wetrun_units::{Length, Time};

/// How a run is followed.
#[derive(Clone, Debug)]
pub struct Pace {
    /// The error of a level that a step of up to half a second may make; from 1e-8 to 1e-3 m. A longer
    /// one of a storm may make as much more as it is longer, eight times as much at the most. Below, steps
    /// are as short as the moments of beginnings and ends are told, 1 ms, and gain nothing.
    pub level: Length,
    /// The latest end; without it a run ends when nothing flows any more, a day after the rain at
    /// the latest.
    pub until: Option<Time>,
    /// Keep moments at least this far apart; none where not given.
    pub moments: Option<Time>,
}

impl Default for Pace {
    fn default() -> Self {
        Self { level: Length::m(5e-5), until: None, moments: None }
    }
}

/// A flow below this is none when a run looks for its end, m³/s.
const NO_FLOW: f64 = 1e-5;
/// So long nothing may flow before a run ends: a column that swings stands still at its turns.
const CALM_S: f64 = 30.0;
/// A run ends so long after the last rain at the latest.
const A_DAY_S: f64 = 86_400.0;
/// Steps are no longer than this.
const LONGEST_S: f64 = 900.0;
/// Steps shorter than this do not help a stage that does not settle.
const SHORTEST_S: f64 = 1e-7;
/// How closely the moment is found at which something begins or ends.
const EVENT_S: f64 = 1e-3;
const FIRST_S: f64 = 1e-4;
/// A step of a storm that is longer than this may err by as much more as it is longer, s.
const SHORT_S: f64 = 0.5;
/// By so many times as much at the most.
const MORE: f64 = 8.0;
/// Once flows are within so many times of none, and no rain falls, steps are no longer than this share
/// of the time so far or than it takes to be calm: a run ends when it does and not a step later.
const NEARLY: f64 = 3.0;
const LATE: f64 = 0.01;
/// A step that was shortened and errs by more than this share of what it did is shortened by so much.
const LESS: f64 = 0.7;
const SHORTER: f64 = 0.25;
/// So many steps after a shock lead on without the rates of before: the first has the shock in its own.
const AFRESH: u8 = 2;
/// A rain that breaks off or sets in swings the columns: no step is longer just after, s.
const SWINGS_S: f64 = 3.0;

/// Follows a storm over a system at rest.
///
/// # Errors
/// [`NotFollowed`] where no step from some moment settles, or nobody waits any more.
pub fn storm(scene: &Scene<'_>, course: &Course, pace: &Pace) -> Result<Passed, NotFollowed> {
    let rest = rest(scene).ok_or(NotFollowed::NoStart)?;
    let mut plant = Plant::new(scene);
    let runoff = Runoff::new(&scene.roofs, plant.columns.len(), course);
    let state = State::at_rest(scene, &plant, &rest);
    let record = Record::new(scene, &plant, &state, pace.moments);
    let scale = scale(&runoff, course, plant.columns.len());
    let ends = Ends {
        last_s: pace.until.map_or(runoff.ends_s() + A_DAY_S, Time::to_s),
        no_flow: pace.until.is_none().then_some(NO_FLOW),
    };
    let watch = scene.watch;
    let run = Run { plant: &mut plant, runoff: &runoff, pace, scale, ends, record, state, watch };
    let (record, state) = run.follow()?;
    Ok(record.close(&plant, &runoff, &state))
}

/// A flow of the size of the problem's: all that runs off in the heaviest rain.
fn scale(runoff: &Runoff, course: &Course, downspouts: usize) -> f64 {
    let rain = course.blocks().iter().map(|block| block.rain_m_per_s).fold(0.0, f64::max);
    let catchment: f64 = (0..downspouts).map(|place| runoff.catchment(place)).sum();
    (rain * catchment).max(1e-5)
}

/// What keeps account of a run.
pub(crate) trait Keeps {
    /// How much of the error of a step counts for the length of the one after the next: an error is
    /// small for once as it changes its sign.
    const REMEMBERED: f64 = 0.5;

    /// Whether leaps tell their errors, for which they are too short to be refused.
    const LEAPS_TELL: bool = true;

    /// Takes in a step that holds.
    fn step(&mut self, plant: &Plant, runoff: &Runoff, from: &State, trial: &Trial);

    /// Changes what a step leads to change, before the next one: whether it did.
    fn turn(&mut self, _plant: &mut Plant, _state: &State) -> bool {
        false
    }

    /// By how much more a level may err in a step of so many seconds than the pace says, 1 or more:
    /// errors add up with time and not with steps.
    fn looser(&self, seconds: f64) -> f64 {
        (seconds / SHORT_S).clamp(1.0, MORE)
    }

    /// How many times what it may be the error of a step is, where levels and heads may err by so much.
    fn errs(&self, trial: &Trial, may_m: f64) -> f64 {
        trial.error.most_m() / may_m
    }

    /// Whether nothing more is to come.
    fn done(&self, _state: &State) -> bool {
        false
    }
}

/// When a run ends.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ends {
    pub(crate) last_s: f64,
    /// The flow below which nothing flows, where the run ends by that.
    pub(crate) no_flow: Option<f64>,
}

pub(crate) struct Run<'a, K> {
    pub(crate) plant: &'a mut Plant,
    pub(crate) runoff: &'a Runoff,
    pub(crate) pace: &'a Pace,
    pub(crate) scale: f64,
    pub(crate) ends: Ends,
    pub(crate) record: K,
    pub(crate) state: State,
    pub(crate) watch: Watch<'a>,
}

impl<K: Keeps> Run<'_, K> {
    /// Follows it to its end.
    pub(crate) fn follow(mut self) -> Result<(K, State), NotFollowed> {
        let rain_ends_s = self.runoff.ends_s();
        let last_s = self.ends.last_s;
        let mut shop = Workshop::default();
        if self.at_rest(&mut shop) {
            // Nothing moves before the first rain: not to the last bit.
            let first = self.runoff.first_runoff_s().unwrap_or(rain_ends_s);
            self.state.at_s = first.min(last_s);
        } else {
            self.first_moment(&mut shop)?;
        }
        let mut seconds: f64 = 0.01;
        let mut calm_from: Option<f64> = None;
        // A moment by which something is known to begin or end.
        let mut known: Option<f64> = None;
        let mut afresh: u8 = 0;
        // The error of the step before, as a share of what it might make.
        let mut erred = 0.0;
        // When the last step began that erred too much, and by how much.
        let mut refused: Option<(f64, f64)> = None;
        while self.state.at_s < last_s {
            if !self.watch.goes_on(self.state.at_s) {
                return Err(NotFollowed::CalledOff);
            }
            if self.record.done(&self.state) {
                break;
            }
            if self.state.at_s >= rain_ends_s
                && let Some(no_flow) = self.ends.no_flow
            {
                let flows = self.state.fastest().max(self.runoff.account(self.state.at_s).flowing);
                if flows <= NEARLY * no_flow {
                    seconds = seconds.min(CALM_S.max(LATE * self.state.at_s));
                }
                if flows > no_flow {
                    calm_from = None;
                } else {
                    let from = *calm_from.get_or_insert(self.state.at_s);
                    if self.state.at_s - from >= CALM_S || self.still(no_flow) {
                        break;
                    }
                }
            }
            let next = self.runoff.next_break(self.state.at_s).unwrap_or(last_s).min(last_s);
            let room = next - self.state.at_s;
            let mut try_s = seconds.min(LONGEST_S);
            if afresh > 0 {
                try_s = try_s.min(EVENT_S);
            }
            if let Some(by) = known {
                try_s = try_s.min(by - self.state.at_s);
            }
            if try_s > room - 1e-9 {
                try_s = room;
            } else if try_s > 0.6 * room {
                try_s = 0.5 * room;
            }
            // Rates of before mean nothing after a shock, nor where no other step settles.
            let trial = if afresh > 0 { None } else { self.attempt(try_s, &mut shop) };
            let trial = trial.filter(|trial| self.errs(trial) <= 1.0 || try_s > EVENT_S);
            let leaps = trial.is_none() && try_s <= EVENT_S;
            let trial = if leaps { self.leap(try_s, &mut shop) } else { trial };
            let Some(trial) = trial else {
                seconds = 0.25 * try_s;
                if seconds < SHORTEST_S {
                    return Err(NotFollowed::Unsettled { at_s: self.state.at_s });
                }
                continue;
            };
            let errs = self.errs(&trial);
            let turns = self.turns(&trial);
            // A shorter step that errs as much has a jump within: its error is no measure of its length.
            let jumps = refused
                .is_some_and(|(at_s, before)| at_s == self.state.at_s && errs > LESS * before);
            if errs > 1.0 && try_s > EVENT_S {
                let shorter = if jumps { grows(errs).min(SHORTER) } else { grows(errs) };
                refused = Some((self.state.at_s, errs));
                let share = turns.map_or(shorter, |share| share.min(shorter));
                seconds = (try_s * share).max(0.5 * EVENT_S);
                continue;
            }
            if let Some(share) = turns
                && try_s > EVENT_S
            {
                // Something begins or ends within: come close to it first.
                known = Some(self.state.at_s + try_s);
                seconds = (share * try_s).max(0.5 * EVENT_S);
                continue;
            }
            afresh = if self.shocks(&trial) { AFRESH } else { afresh.saturating_sub(1) };
            self.record.step(self.plant, self.runoff, &self.state, &trial);
            let grows = grows(errs).min(grows(K::REMEMBERED * erred).max(1.0));
            erred = errs;
            self.state = trial.end;
            if leaps || trial.seconds >= room {
                shop.start_afresh();
            } else {
                shop.keep(trial.inner, trial.seconds);
            }
            let breaks = trial.seconds >= room;
            if breaks {
                self.state.at_s = next; // to the last bit
            }
            if self.record.turn(self.plant, &self.state) {
                afresh = AFRESH;
            }
            seconds = if turns.is_some() {
                known = None;
                (try_s * grows).max(10.0 * EVENT_S)
            } else {
                if known.is_some_and(|by| by <= self.state.at_s + SHORTEST_S) {
                    known = None;
                }
                try_s.max(if known.is_some() { 0.0 } else { seconds.min(2.0 * try_s) }) * grows
            };
            seconds = seconds.max(0.5 * EVENT_S);
            if breaks {
                seconds = seconds.min(SWINGS_S);
            }
        }
        Ok((self.record, self.state))
    }

    /// How many times what it may be the error of a step is.
    fn errs(&self, trial: &Trial) -> f64 {
        let may_m = self.pace.level.to_m() * self.record.looser(trial.seconds);
        self.record.errs(trial, may_m)
    }

    fn attempt(&mut self, seconds: f64, shop: &mut Workshop) -> Option<Trial> {
        attempt(self.plant, self.runoff, &self.state, seconds, self.scale, shop)
    }

    fn leap(&mut self, seconds: f64, shop: &mut Workshop) -> Option<Trial> {
        let seconds = (seconds, K::LEAPS_TELL);
        leap(self.plant, self.runoff, &self.state, seconds, self.scale, shop)
    }

    /// Whether water meets water in a step: flows change at once then.
    fn shocks(&self, trial: &Trial) -> bool {
        self.state
            .voids
            .iter()
            .zip(&trial.end.voids)
            .any(|(before, after)| (0..2).any(|side| before[side] > 0.0 && after[side] <= 0.0))
    }

    /// Whether nothing would move without rain.
    fn at_rest(&mut self, shop: &mut Workshop) -> bool {
        if self.plant.runs_out(&self.state.found.x) > NO_FLOW {
            return false;
        }
        let dry = Runoff::none(self.plant.columns.len());
        let end = backward(self.plant, &dry, &self.state, 1.0, self.scale, shop);
        end.is_some_and(|end| end.fastest() < 1e-9)
    }

    /// The first moment of a start that is not at rest.
    fn first_moment(&mut self, shop: &mut Workshop) -> Result<(), NotFollowed> {
        let trial = self.leap(FIRST_S, shop).ok_or(NotFollowed::Unsettled { at_s: 0.0 })?;
        self.record.step(self.plant, self.runoff, &self.state, &trial);
        self.state = trial.end;
        Ok(())
    }

    /// Whether nothing flows, and nothing is about to.
    fn still(&self, no_flow: f64) -> bool {
        let gains = self.state.column_gains.iter().chain(&self.state.reach_gains);
        gains.fold(0.0_f64, |most, gain| most.max(gain.abs())) * CALM_S < no_flow
    }

    /// Where in a step something begins or ends that changes the law at hand, as a share of it.
    fn turns(&self, trial: &Trial) -> Option<f64> {
        let (start, end) = (&self.state.found, &trial.end.found);
        let mut first: Option<f64> = None;
        let mut at = |share: f64| {
            let share =
                if share.is_finite() && share > 0.0 { share.clamp(0.05, 0.95) } else { 0.5 };
            first = Some(first.map_or(share, |first: f64| first.min(share)));
        };
        for (place, column) in self.plant.columns.iter().enumerate() {
            let (a, b) = (&start.columns[place], &end.columns[place]);
            if (a.spill > 0.0) != (b.spill > 0.0) {
                let volume = a.spill.max(b.spill) * trial.seconds;
                if volume > IGNORED_M3 {
                    let share = if b.spill > 0.0 {
                        // How far the level was from the lip, and how much would have spilled.
                        let short = column.full - self.state.columns[place];
                        short / (short + 0.5 * volume)
                    } else {
                        0.5
                    };
                    at(share);
                }
            }
        }
        for (a, b) in start.escapes.iter().zip(&end.escapes) {
            if (*a > 0.0) != (*b > 0.0) && a.max(*b) * trial.seconds > IGNORED_M3 {
                at(0.5);
            }
        }
        for (place, moved) in end.reaches.iter().enumerate() {
            for side in 0..2 {
                let (a, b) = (self.state.voids[place][side], moved.void[side]);
                // One that opens does so from rest, and needs no moment of its own.
                if a > IGNORED_M3 && b <= 0.0 {
                    at(a / (-opening(start, place, side) * trial.seconds));
                }
            }
        }
        for (a, b) in start.over_rim.iter().zip(&end.over_rim) {
            if (*a > 0.0) != (*b > 0.0) && a.max(*b) * trial.seconds > IGNORED_M3 {
                at(0.5);
            }
        }
        for (place, vessel) in self.plant.vessels.iter().enumerate() {
            let (a, b) = (start.overflows[place], end.overflows[place]);
            let sharp = vessel.pipe.is_none() && vessel.store.is_some();
            if sharp
                && (a != 0.0) != (b != 0.0)
                && a.abs().max(b.abs()) * trial.seconds > IGNORED_M3
            {
                at(0.5);
            }
        }
        first
    }
}

/// A beginning or an end that moves less water than this is not looked for, m³.
const IGNORED_M3: f64 = 1e-7;

/// How a step may grow for an error that is so many times what it may be.
fn grows(errs: f64) -> f64 {
    if errs <= 0.0 { 5.0 } else { (0.9 / libm::cbrt(errs)).clamp(0.2, 5.0) }
}
