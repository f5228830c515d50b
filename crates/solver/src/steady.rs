//! The steady state: the tree's own flows where they answer, else Newton's method, led by a
//! pseudo-transient where it does not get there by itself. What lies behind these is a fallback.

mod search;
mod transient;

use crate::assembly::Assembly;
use crate::balance;
use crate::coupling::{self, Offsets};
use crate::gap::{Gap, HEAD_M, Survey, survey, with_rises};
use crate::heads::{Levels, Reading};
use crate::junction::JunctionModel;
use crate::lip::Lip;
use crate::model::{Iterate, Model};
use crate::polish::{Start, polish};
use crate::settings::Settings;
use crate::still;
use crate::tree::Forest;
use search::search;
use transient::transient;

/// A solved set of unknowns with its gap.
#[derive(Clone)]
pub(crate) struct Solved {
    pub(crate) at: Iterate,
    pub(crate) survey: Survey,
}

/// A search that ended without an answer.
pub(crate) struct Failed {
    pub(crate) gap: Gap,
}

/// The share of a rain from which its state is followed where nothing else flows, and the growth from
/// one step to the next.
const SEED: f64 = 1.0 / 1024.0;
const GROWTH: f64 = 2.0;
/// Each of these may take this part of the steps that are left.
const ON_THE_WAY: u32 = 8;

/// Rains are nearly the same where one is so many times the other. Then a few steps should lead from
/// one's state to the other's.
const ALIKE: std::ops::RangeInclusive<f64> = 0.5..=2.0;
const CLOSE_STEPS: u32 = 10;

/// Steps on flows and heads: of the first try, and of each after another search.
const FIRST_STEPS: u32 = 30;
const STEPS: u32 = 40;
/// For so many downspouts one more: where many spill, each step tells some of them apart from those
/// that hold.
const PER_STEP: u32 = 20;

/// A search on the heads: how a state is read from them, the imbalance over the scale that it is content
/// with, and its most steps.
struct Search {
    reading: Reading,
    enough: f64,
    steps: u32,
}

const fn search_of(levels: Levels, over_opening_m: f64, enough: f64, steps: u32) -> Search {
    Search { reading: Reading { levels, over_opening_m }, enough, steps }
}

/// Each transient goes on from the last, first with the levels that its flows ask for, then with levels
/// found with the heads. The last fill pools that take up no more than a trickle, over whose crests
/// Newton's steps would throw them, and openings let out what comes ever closer to their level.
const TRANSIENTS: [Search; 4] = [
    search_of(Levels::Held, 1e-3, 1e-2, 400),
    search_of(Levels::Free, 1e-3, 1e-3, 400),
    search_of(Levels::Free, 1e-5, 1e-6, 400),
    search_of(Levels::Free, 1e-7, 1e-10, 1000),
];
/// The searches on the heads behind them.
const FALLBACKS: [Search; 2] =
    [search_of(Levels::Held, 1e-3, 1e-2, 200), search_of(Levels::Free, 1e-3, 1e-3, 200)];

/// So many times the rain a search begins with that dies down to a drizzle: little stands still in the
/// first, and each is close to the next.
const DYING_DOWN: [f64; 9] = [1e4, 1e3, 1e2, 30.0, 10.0, 3.0, 1.3, 1.1, 1.0];

/// A lip that takes all but so small a share of its demand takes all: what is missing is rounding.
const WHOLE: f64 = 1e-12;

/// What a search left over may be so many times [`still::LEFT_OVER`] in a pool that nothing feeds.
const MORE_LEFT_OVER: [f64; 3] = [1.0, 1e2, 1e4];

/// A model with what can be worked out once for all its solves.
pub(crate) struct Solver {
    pub(crate) model: Model,
    pub(crate) forest: Forest,
    /// Built by the first search: a tree that holds needs none.
    pub(crate) assembly: Option<Assembly>,
    /// A level that water nowhere passes: above every lip, inlet, invert and tank at rest.
    pub(crate) top_m: f64,
    settings: Settings,
    /// Steps that the search under way may still take, and those that it took.
    left: u32,
    steps: u32,
    /// How often searches had to fall back on another way than the transient's.
    pub(crate) fallbacks: u32,
    /// Whether it starts from a state of nearly the same rain.
    close: bool,
    /// The states that the last search passed while the rain grew, each of so great a share of it.
    pub(crate) passed: Vec<(f64, Iterate)>,
}

impl Solver {
    pub(crate) fn new(model: Model, settings: Settings) -> Self {
        Self {
            forest: Forest::new(&model),
            top_m: top_m(&model),
            model,
            assembly: None,
            settings,
            left: settings.steps,
            steps: 0,
            fallbacks: 0,
            close: false,
            passed: Vec::new(),
        }
    }

    /// Takes a model of the same lines, each joining what it did; what hangs on its numbers is
    /// [`Self::changed`]'s.
    pub(crate) fn put(&mut self, model: Model) {
        if model.moving != self.model.moving {
            self.assembly = None;
        }
        self.model = model;
    }

    /// Works out what hangs on the model's numbers after some have changed.
    pub(crate) fn changed(&mut self) {
        self.forest = Forest::new(&self.model);
        self.top_m = top_m(&self.model);
    }

    /// Solves, starting from `near` where a state close by is known: of so many times this rain.
    ///
    /// Wyes and tees can allow several states. Then the answer is the one that is reached when the
    /// rain grows from nothing, and `near` must be that of a lesser rain.
    pub(crate) fn solve(&mut self, near: Option<(&Iterate, f64)>) -> Result<Solved, Failed> {
        self.begin();
        if self.may_have_several() {
            return self.grown(near.filter(|(_, share)| (SEED..1.0).contains(share)));
        }
        self.close = near.is_some_and(|(_, share)| ALIKE.contains(&share));
        let near = near.map(|(at, share)| self.of_more_rain(at, share));
        let solved = self.single(near.as_ref());
        self.close = false;
        solved
    }

    /// Solves, starting from a state that is led on to this rain from one of a lighter rain close by.
    /// Where that leads to none it is the caller's to start elsewhere.
    pub(crate) fn solve_led(&mut self, led: Iterate) -> Result<Solved, Failed> {
        self.begin();
        if holds(&self.model, &led)
            && let Some(solved) = self.tree()
        {
            return Ok(solved);
        }
        self.close = true;
        let solved = coupling::settle(self, led, true);
        self.close = false;
        // In a tree in which water moves in every line nothing stands still or goes round.
        let least = still::LEFT_OVER * self.model.scale;
        match solved {
            Ok(solved)
                if self.forest.exact && solved.at.flow.iter().all(|flow| flow.abs() > least) =>
            {
                Ok(solved)
            }
            solved => self.calm(solved?),
        }
    }

    /// The model with the system of its straight lines.
    pub(crate) fn with_assembly(&mut self) -> (&Model, &mut Assembly) {
        let Self { model, assembly, .. } = self;
        let assembly = assembly.get_or_insert_with(|| Assembly::new(model));
        (model, assembly)
    }

    /// Whether the flows may settle in more than one way: wyes and tees tie them together.
    pub(crate) fn may_have_several(&self) -> bool {
        !self.model.junctions.is_empty()
    }

    /// The state that is reached when the rain grows: each follows from that of a little less.
    fn grown(&mut self, from: Option<(&Iterate, f64)>) -> Result<Solved, Failed> {
        if let Some(solved) = self.tree() {
            return Ok(solved); // the flows are the demands
        }
        let demands: Vec<f64> = self.model.lips.iter().map(Lip::demand).collect();
        let still = demands.iter().all(|demand| *demand == 0.0);
        let mut share = from.map_or(0.0, |(_, share)| share);
        let mut near = from.map(|(at, _)| at.clone());
        if near.is_none() && !still {
            near = self.without_rain();
        }
        let seed = if still { 1.0 } else { self.seed(near.as_ref(), demands.iter().sum()) };
        loop {
            let before = share;
            share = (GROWTH * share).max(seed).min(1.0);
            self.model.set_demands(|d| share * demands[d]);
            let near_by = near.map(|at| self.of_more_rain(&at, before / share));
            // Most is kept for the rain itself: one that leads to it may be left out.
            let kept = if share < 1.0 { self.left - self.left / ON_THE_WAY } else { 0 };
            self.left -= kept;
            let solved = match near_by.map(|at| self.from(at, true)) {
                Some(Ok(solved)) => Ok(solved),
                _ => self.single(None),
            };
            self.left += kept;
            if share == 1.0 {
                return solved;
            }
            near = solved.ok().map(|solved| solved.at);
            self.passed.extend(near.iter().map(|at| (share, at.clone())));
        }
    }

    /// The share of a rain from which its state is followed: the more flows without rain the less does
    /// the first rain change, and what wyes and tees cannot tell from still water has but one state.
    fn seed(&self, without_rain: Option<&Iterate>, demand: f64) -> f64 {
        let flowing = without_rain.map_or(0.0, Iterate::largest_flow);
        let told = |junction: &JunctionModel| junction.least_flow(&self.model.lines, HEAD_M);
        let told = self.model.junctions.iter().map(told).fold(f64::INFINITY, f64::min);
        (SEED * (1.0 + flowing / demand)).max(told / demand).min(1.0)
    }

    /// What tanks that feed lines drive without rain; `None` where nothing moves then.
    fn without_rain(&mut self) -> Option<Iterate> {
        self.model.set_demands(|_| 0.0);
        let at = self.single(None).ok()?.at;
        at.flow.iter().any(|flow| *flow != 0.0).then_some(at)
    }

    /// A state of `share` of this rain as a start for this rain.
    pub(crate) fn of_more_rain(&self, at: &Iterate, share: f64) -> Iterate {
        let mut at = at.clone();
        for (admitted, lip) in at.admitted.iter_mut().zip(&self.model.lips) {
            if *admitted >= (1.0 - WHOLE) * share * lip.demand() || *admitted > lip.demand() {
                *admitted = lip.demand();
            }
        }
        at
    }

    /// Solves where there is but one state.
    fn single(&mut self, near: Option<&Iterate>) -> Result<Solved, Failed> {
        // Where it spills close by it most likely spills here, and the tree's flows are no answer.
        if (!self.close || near.is_none_or(|near| holds(&self.model, near)))
            && let Some(solved) = self.tree()
        {
            return Ok(solved);
        }
        // Where a system has several outlets, water mostly takes the ways of a trickle; with wyes and
        // tees the search from elsewhere is long.
        if near.is_none() && !self.forest.exact && self.may_have_several() {
            let start = self.trickle();
            let at_once = coupling::settle_at_once(self, start);
            if let Some(Ok(solved)) = at_once.map(|solved| self.calm(solved)) {
                return Ok(solved);
            }
        }
        let start = near.cloned().unwrap_or_else(|| self.guess(&self.forest));
        if let Ok(solved) = self.from(start, false) {
            return Ok(solved);
        }
        let start = self.trickle();
        self.from(start, false).or_else(|failed| self.dying_down().ok_or(failed))
    }

    /// Solves from a start; one that is `near` leads to the state there, if it can.
    fn from(&mut self, start: Iterate, near: bool) -> Result<Solved, Failed> {
        let solved = coupling::settle(self, start, near)?;
        self.calm(solved)
    }

    /// A state with its trickles taken for still water, where every law then holds.
    fn calm(&self, solved: Solved) -> Result<Solved, Failed> {
        let mut gap = solved.survey.gap;
        for share in [still::LEFT_OVER, still::NO_FLOW] {
            let (at, survey) = settled(&self.model, &solved.at, share);
            if survey.gap.closed() {
                return Ok(Solved { at, survey });
            }
            gap = survey.gap;
        }
        Err(Failed { gap })
    }

    /// The last fallback: solves a much heavier rain, in which little stands still, and lets it die down to this one.
    fn dying_down(&mut self) -> Option<Solved> {
        self.fallbacks += 1;
        let demands: Vec<f64> = self.model.lips.iter().map(|d| d.demand()).collect();
        let mut solved: Option<Solved> = None;
        for heavier in DYING_DOWN {
            let start = solved.map(|solved| {
                let mut at = solved.at;
                for (d, admitted) in at.admitted.iter_mut().enumerate() {
                    if *admitted == self.model.lips[d].demand() {
                        *admitted = heavier * demands[d];
                    }
                }
                at
            });
            self.model.set_demands(|d| heavier * demands[d]);
            let start = start.unwrap_or_else(|| self.guess(&self.forest));
            solved = self.from(start, false).ok();
        }
        solved
    }

    /// The answer where the lines form a forest with one tank a tree and nothing spills: the
    /// demands are the flows, and the heads follow from the tanks upward.
    fn tree(&self) -> Option<Solved> {
        if !self.forest.exact {
            return None;
        }
        let model = &self.model;
        let mut at = model.still();
        self.forest.set_flows(model, &mut at);
        coupling::set_water(model, &mut at);
        if !coupling::levels_agree(model, &at) {
            return None; // what runs over a rim answers to the level beyond
        }
        coupling::set_offsets(model, &mut at);
        let lines = self.forest.set_heads(model, &mut at);
        still::stand(model, &mut at);
        let survey = with_rises(model, &at, lines);
        survey.gap.closed().then_some(Solved { at, survey })
    }

    /// A first guess: a forest's flows, with no head above the highest lip.
    fn guess(&self, forest: &Forest) -> Iterate {
        let model = &self.model;
        let mut at = model.still();
        forest.set_flows(model, &mut at);
        forest.set_heads(model, &mut at);
        let top = self.top_m;
        for head in &mut at.head {
            *head = head.min(top);
        }
        at
    }

    /// Solves with the junctions' offsets held as they are.
    pub(crate) fn inner(&mut self, start: Iterate) -> Result<Solved, Failed> {
        self.rounds(start, Offsets::Held)
    }

    /// Solves with the junctions' offsets found together with heads and flows. From a start that is
    /// `near` only steps that keep to the state there are taken.
    pub(crate) fn jointly(&mut self, start: &Iterate, near: bool) -> Option<Solved> {
        if !near {
            return self.rounds(start.clone(), Offsets::Found).ok();
        }
        let solved =
            self.polish(start.clone(), Offsets::Found, STEPS, self.forest.exact, Start::Near);
        solved.survey.gap.closed().then_some(solved)
    }

    /// Newton's steps on flows and heads; where they lead nowhere, the transient from still water with
    /// such steps behind it; where neither does, the fallback.
    fn rounds(&mut self, start: Iterate, offsets: Offsets) -> Result<Solved, Failed> {
        if self.close {
            let near = self.polish(start.clone(), offsets, CLOSE_STEPS, false, Start::Near);
            if near.survey.gap.closed() {
                return Ok(near);
            }
        }
        let mut best = self.polish(start, offsets, FIRST_STEPS, self.forest.exact, Start::Far);
        if best.survey.gap.closed() {
            return Ok(best);
        }
        let mut at = self.brimful(&best.at);
        for Search { reading, enough, steps } in TRANSIENTS {
            let (reading, most) = (self.strict(reading, &best.at), steps.min(self.left));
            let (model, assembly) = self.with_assembly();
            let (moved, steps) = transient(model, assembly, at, reading, enough, most);
            self.take(steps);
            if self.leads_on(&mut best, &moved, offsets) {
                return Ok(best);
            }
            at = moved;
            coupling::set_water(&self.model, &mut at);
        }
        for Search { reading, enough, steps } in FALLBACKS {
            self.fallbacks += 1;
            let (reading, most) = (self.strict(reading, &best.at), steps.min(self.left));
            let (model, assembly) = self.with_assembly();
            let (at, steps) = search(model, assembly, best.at.clone(), reading, enough, most);
            self.take(steps);
            if self.leads_on(&mut best, &at, offsets) {
                return Ok(best);
            }
        }
        Err(Failed { gap: best.survey.gap })
    }

    /// Openings let out what tanks feed, too: many times the rain where that is a drizzle.
    fn strict(&self, reading: Reading, at: &Iterate) -> Reading {
        let share = self.model.scale / (self.model.scale + at.largest_flow());
        Reading { over_opening_m: share * reading.over_opening_m, ..reading }
    }

    /// Follows a state by Newton's steps on flows and heads, and keeps where that leads if it is closer;
    /// gives whether it solves.
    fn leads_on(&mut self, best: &mut Solved, at: &Iterate, offsets: Offsets) -> bool {
        for start in [Start::Led, Start::Far] {
            let mut found = self.polish(at.clone(), offsets, STEPS, self.forest.exact, start);
            if offsets == Offsets::Held
                && let Some((at, survey)) = calmed(&self.model, &found.at)
            {
                found = Solved { at, survey };
            }
            if found.survey.gap.size() < best.survey.gap.size() {
                *best = found;
            }
            if best.survey.gap.fine() {
                break;
            }
        }
        best.survey.gap.closed()
    }

    fn polish(
        &mut self,
        at: Iterate,
        offsets: Offsets,
        most: u32,
        one_way: bool,
        start: Start,
    ) -> Solved {
        let most = (most + self.model.lips.len() as u32 / PER_STEP).min(self.left);
        let (model, assembly) = self.with_assembly();
        let (at, survey, steps) = polish(model, assembly, at, offsets, most, one_way, start);
        self.take(steps);
        Solved { at, survey }
    }

    /// Still water at every brim with what the rain brings on its way over it, wyes and tees as they are
    /// in a state.
    fn brimful(&self, of: &Iterate) -> Iterate {
        let mut at = self.trickle();
        at.offset.clone_from(&of.offset);
        at
    }

    /// A first guess along the ways of a trickle.
    fn trickle(&self) -> Iterate {
        let water = self.model.still().water;
        self.guess(&Forest::of_a_trickle(&self.model, &water))
    }

    fn begin(&mut self) {
        (self.left, self.steps) = (self.settings.steps, 0);
        self.passed.clear();
    }

    /// Counts steps; one that took none is not free either, so that every search ends.
    fn take(&mut self, steps: u32) {
        self.left = self.left.saturating_sub(steps.max(1));
        self.steps += steps;
    }

    /// The steps that the last search took, all in all.
    pub(crate) fn steps(&self) -> u32 {
        self.steps
    }
}

/// Whether every lip takes all its demand.
fn holds(model: &Model, at: &Iterate) -> bool {
    at.admitted.iter().zip(&model.lips).all(|(admitted, lip)| *admitted == lip.demand())
}

/// A level above every lip, inlet, water level and invert.
fn top_m(model: &Model) -> f64 {
    let lips = model.lips.iter().map(|d| d.lip_m);
    let inverts = model.lines.iter().flat_map(|l| l.inverts.iter().map(|i| i.level_m));
    let water = model.still().water.into_iter().flatten();
    lips.chain(inverts).chain(water).fold(0.0, f64::max) + 1.0
}

/// The state with the trickles of a search taken for still water, where that solves it: in a pool
/// that nothing feeds they may never quite die down.
fn calmed(model: &Model, at: &Iterate) -> Option<(Iterate, Survey)> {
    MORE_LEFT_OVER.into_iter().find_map(|more| {
        let (at, survey) = settled(model, at, more * still::LEFT_OVER);
        survey.gap.closed().then_some((at, survey))
    })
}

/// A state with flows below a share of the problem's scale taken for still water; where its heads
/// then satisfy every law but its flows do not balance, these are sent on.
fn settled(model: &Model, at: &Iterate, share: f64) -> (Iterate, Survey) {
    let mut at = at.clone();
    still::settle(model, &mut at, share);
    let found = survey(model, &at);
    if found.gap.balanced() || found.gap.head_m > HEAD_M {
        return (at, found);
    }
    let mut sent = at.clone();
    balance::send_on(model, &mut sent);
    let survey = survey(model, &sent);
    if survey.gap.closed() { (sent, survey) } else { (at, found) }
}
