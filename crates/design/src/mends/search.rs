//! The search for mends: few solves for each way, and the whole judgement before one is told.

use super::change::{Change, Mend, changed};
use super::tank;
use crate::levels::{Drawn, SetPoint, State};
use std::cell::Cell;
use wetrun_network::{DownspoutId, LineId, Network, Pipe, TankId};
use wetrun_units::{Length, UnitSystem};
use wetrun_verdict::{Cause, Failure, Verdict};

/// Larger networks are not solved again: it would take too long.
pub const MOST_LINES: usize = 500;
/// So many solves for one failure at the most.
const MOST_SOLVES: usize = 200;
/// No level is moved farther.
const FAR_M: f64 = 3.0;
/// No more pipes than this are changed in one mend.
const MOST_PIPES: usize = 6;

/// A drawing that fails, and what a mend is held against.
pub struct Asked<'a> {
    /// The drawing.
    pub drawn: &'a Drawn,
    /// Its state.
    pub state: &'a State,
    /// What levels are rounded in.
    pub units: UnitSystem,
    /// Whether a rule of the review turns in a state of a changed drawing.
    pub turns: &'a dyn Fn(&Drawn, &State) -> bool,
}

/// The ways to mend a failure, one of each kind at the most, each solved and judged as a whole. None
/// for gutters, and none for networks of more than [`MOST_LINES`] lines.
pub fn ways(asked: &Asked<'_>, failure: &Failure) -> Vec<Mend> {
    if asked.drawn.network.lines().len() > MOST_LINES {
        return Vec::new();
    }
    let search = Search { asked, failure, left: Cell::new(MOST_SOLVES) };
    match *failure {
        Failure::Spills { at, .. } | Failure::Freeboard { at, .. } => search.downspout(at),
        Failure::Escapes { at, .. } => search.by(&[SetPoint::Vent(at), SetPoint::Cap(at)], 1.0),
        Failure::OverRim { at, .. } => search.rim(at),
        _ => Vec::new(),
    }
}

struct Search<'a> {
    asked: &'a Asked<'a>,
    failure: &'a Failure,
    left: Cell<usize>,
}

impl Search<'_> {
    fn network(&self) -> &Network {
        &self.asked.drawn.network
    }

    fn downspout(&self, at: DownspoutId) -> Vec<Mend> {
        let mut found = Vec::new();
        let route = self.asked.state.steady.routes.route(self.network(), at);
        let mut tank = route.tank;
        // The tank it runs to; then those that may hold that one's water up.
        for _ in 0..3 {
            let Some(this) = tank else { break };
            if let Some(mend) = self.lower(this) {
                found.push(mend);
                break;
            }
            tank = self.network().tank(this).overflow.as_ref().and_then(|o| o.to);
        }
        found.extend(self.move_together(&[SetPoint::Opening(at)], 1.0));
        found.extend(self.enlarge(at));
        found
    }

    /// A tank set lower: its overflow alone, its inlet alone, or both; of these the least move.
    fn lower(&self, at: TankId) -> Option<Mend> {
        let inlet = tank::inlet(self.network(), &self.asked.drawn.own_ends, at);
        let overflow = tank::overflow(self.network(), at);
        let both: Vec<SetPoint> = inlet.iter().copied().chain(overflow).collect();
        let mut ways: Vec<Vec<SetPoint>> =
            overflow.map(|overflow| vec![overflow]).into_iter().collect();
        ways.push(inlet);
        ways.extend(overflow.map(|_| both));
        let mends = ways.iter().filter_map(|moves| self.move_together(moves, -1.0));
        mends.min_by(|a, b| far_m(a).total_cmp(&far_m(b)))
    }

    fn rim(&self, at: TankId) -> Vec<Mend> {
        let mut found = Vec::new();
        let this = self.network().tank(at);
        if let Some(from) = this.rim {
            let to = |distance_m: f64| {
                let to = self.rounded(from + Length::m(distance_m), 1.0)?;
                Some(vec![Change::Rim { at, from, to }])
            };
            found.extend(self.least(to));
        }
        found.extend(self.larger_overflow(at));
        let mut next = Some(at);
        for _ in 0..3 {
            let Some(tank) = next else { break };
            let overflow = tank::overflow(self.network(), tank);
            let lower = overflow.and_then(|overflow| self.move_together(&[overflow], -1.0));
            if lower.is_some() {
                found.extend(lower);
                break;
            }
            next = self.network().tank(tank).overflow.as_ref().and_then(|o| o.to);
        }
        found
    }

    fn larger_overflow(&self, at: TankId) -> Option<Mend> {
        let mut pipe = self.network().tank(at).overflow.as_ref()?.pipe.clone()?;
        for _ in 0..MOST_PIPES {
            pipe = next_size(&pipe)?;
            let changes = vec![Change::OverflowPipe(at, pipe.clone())];
            if self.passes(&changes) {
                return self.told(changes);
            }
        }
        None
    }

    /// Each of some levels alone, where the drawing has it.
    fn by(&self, each: &[SetPoint], sign: f64) -> Vec<Mend> {
        let drawn = self.asked.drawn.set_points();
        let there = each.iter().filter(|set_point| drawn.contains(set_point));
        there.filter_map(|&set_point| self.move_together(&[set_point], sign)).collect()
    }

    /// Some levels moved one way together by the least that mends.
    fn move_together(&self, moves: &[SetPoint], sign: f64) -> Option<Mend> {
        self.least(|distance_m| {
            let each = moves.iter().map(|&at| {
                let from = self.asked.drawn.level(at);
                let to = self.rounded(from + Length::m(sign * distance_m), sign)?;
                Some(Change::Level { at, from, to })
            });
            each.collect()
        })
    }

    /// A level as it is printed, on the side that it moves to.
    fn rounded(&self, level: Length, sign: f64) -> Option<Length> {
        let units = self.asked.units;
        let side = if sign < 0.0 { units.down() } else { units.up() };
        units.read_level(&side.show_level(level).to_string()).ok()
    }

    /// The least distance that mends. Distances double until one does: one too far may fail again,
    /// where a crest takes over.
    fn least(&self, changes: impl Fn(f64) -> Option<Vec<Change>>) -> Option<Mend> {
        let step_m = match self.asked.units {
            UnitSystem::Us => 0.003_048,
            UnitSystem::Si => 0.001,
        };
        let passes = |steps: u32| {
            changes(f64::from(steps) * step_m).is_some_and(|changes| self.passes(&changes))
        };
        let most = (FAR_M / step_m) as u32;
        let (mut low, mut high) = (0, 8);
        while !passes(high) {
            (low, high) = (high, high * 2);
            if high > most {
                return None;
            }
        }
        while high - low > 1 {
            let middle = u32::midpoint(low, high);
            if passes(middle) { high = middle } else { low = middle }
        }
        self.told(changes(f64::from(high) * step_m)?)
    }

    /// The line of the route that loses most enlarged, and what below it would be smaller, one size
    /// after the other, until that mends.
    fn enlarge(&self, at: DownspoutId) -> Option<Mend> {
        let mut drawn = self.asked.drawn.clone();
        let mut steady = self.asked.state.steady.clone();
        let mut pipes: Vec<(LineId, Pipe)> = Vec::new();
        for _ in 0..4 * MOST_PIPES {
            let route = steady.routes.route(&drawn.network, at).lines;
            let lost_m = |id: &LineId| {
                let line = &steady.lines[id.index()];
                (line.friction_loss + line.fitting_loss).to_m().abs()
            };
            let pipe = |id: LineId| &drawn.network.line(id).pipe;
            let larger = route.iter().enumerate().filter(|(_, id)| next_size(pipe(**id)).is_some());
            let (place, worst) = larger
                .max_by(|a, b| lost_m(a.1).total_cmp(&lost_m(b.1)))
                .map(|(p, id)| (p, *id))?;
            let new = next_size(pipe(worst))?;
            let mut grown = vec![(worst, new.clone())];
            for &below in &route[place + 1..] {
                let mut this = pipe(below).clone();
                while this.inside.to_m() < new.inside.to_m() - 1e-6 {
                    this = next_size(&this)?;
                }
                if this != *pipe(below) {
                    grown.push((below, this));
                }
            }
            for (line, pipe) in grown {
                match pipes.iter_mut().find(|(known, _)| *known == line) {
                    Some((_, known)) => *known = pipe,
                    None => pipes.push((line, pipe)),
                }
            }
            if pipes.len() > MOST_PIPES {
                return None;
            }
            let changes: Vec<Change> =
                pipes.iter().map(|(line, pipe)| Change::Pipe(*line, pipe.clone())).collect();
            let (changed, state) = self.solved(&changes)?;
            if self.gone(&state.verdict) {
                return self.told(changes);
            }
            (drawn, steady) = (changed, state.steady);
        }
        None
    }

    /// Solves the drawing with changes; `None` where that makes no network or has no steady state,
    /// or where no solves are left.
    fn solved(&self, changes: &[Change]) -> Option<(Drawn, State)> {
        self.left.set(self.left.get().checked_sub(1)?);
        let drawn = changed(self.asked.drawn, changes)?;
        let state = drawn.state().ok()?;
        Some((drawn, state))
    }

    fn passes(&self, changes: &[Change]) -> bool {
        self.solved(changes).is_some_and(|(_, state)| self.gone(&state.verdict))
    }

    /// Whether what fails no longer does: at a downspout neither spill nor lack.
    fn gone(&self, verdict: &Verdict) -> bool {
        let water = |cause: Cause| matches!(cause, Cause::Spill | Cause::Freeboard);
        let (cause, network) = (self.failure.cause(), self.network());
        !verdict.failures().iter().any(|left| {
            let same = left.cause() == cause || (water(left.cause()) && water(cause));
            same && left.tag(network) == self.failure.tag(network)
        })
    }

    /// The mend, where it is gone by it and nothing else comes of it.
    fn told(&self, changes: Vec<Change>) -> Option<Mend> {
        let (drawn, state) = self.solved(&changes)?;
        let network = self.network();
        let before = self.asked.state.verdict.failures();
        let new = state.verdict.failures().iter().any(|new| {
            !before
                .iter()
                .any(|old| old.cause() == new.cause() && old.tag(network) == new.tag(network))
        });
        let holds = self.gone(&state.verdict) && !new && !(self.asked.turns)(&drawn, &state);
        holds.then_some(Mend { changes })
    }
}

fn far_m(mend: &Mend) -> f64 {
    mend.changes.iter().map(Change::distance_m).fold(0.0, f64::max)
}

fn next_size(pipe: &Pipe) -> Option<Pipe> {
    let kind = wetrun_catalogue::pipe_type(&pipe.kind).ok()?;
    let larger = kind.sizes.iter().find(|size| size.inside().to_m() > pipe.inside.to_m() + 1e-6)?;
    Some(kind.pipe_in(larger))
}
