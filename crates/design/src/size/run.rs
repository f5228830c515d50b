//! A line of a ring as water may run through it one way, in any of the pipes left to it.
//!
//! At a given flow the widest pipe loses least and the narrowest most, and all that a pipe asks
//! for grows with the flow. So a range of flows and of pipes gives a range of heads, and back.
//! Flows go by fixed steps, least ones rounded down and most ones up, so that what a step asks
//! for is worked out once.

use super::pipes::Choice;
use std::cell::{Cell, RefCell};
use std::rc::Rc;
use wetrun_network::{Line, LineEnd};
use wetrun_solver::laws::outfall;
use wetrun_solver::{Passage, Scenario};
use wetrun_units::{Flow, Length};

/// Each step of flow is larger than the one before by this share.
const STEP: f64 = 0.005;
/// The first step after no flow, as a share of the flow that steps are made for.
const FIRST: f64 = 1e-6;

/// The steps that flows are rounded to: 0, then rising by an even share.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Steps {
    first: f64,
    count: usize,
}

impl Steps {
    /// Steps fine enough for a flow, and up to another.
    pub(crate) fn new(fine: f64, most: f64) -> Self {
        let first = FIRST * fine;
        let rises = if first > 0.0 { libm::log(most / first) / libm::log1p(STEP) } else { 0.0 };
        Self { first, count: rises.max(0.0).ceil() as usize + 3 }
    }

    /// The flow of a step.
    pub(crate) fn flow(self, step: usize) -> f64 {
        match step.checked_sub(1) {
            None => 0.0,
            Some(rises) => self.first * libm::exp(rises as f64 * libm::log1p(STEP)),
        }
    }

    /// The last step not above a flow.
    pub(crate) fn down(self, flow: f64) -> usize {
        let near = self.near(flow);
        (near.saturating_sub(2)..=near + 1).rev().find(|&s| self.flow(s) <= flow).unwrap_or(0)
    }

    /// The first step not below a flow; the last of all for flows beyond.
    pub(crate) fn up(self, flow: f64) -> usize {
        let near = self.near(flow);
        let steps = near.saturating_sub(2)..=near + 2;
        let found = steps.into_iter().find(|&s| self.flow(s) >= flow);
        found.unwrap_or(self.count).min(self.count - 1)
    }

    fn near(self, flow: f64) -> usize {
        if flow <= self.first || self.first <= 0.0 {
            return 0;
        }
        let rises = libm::log(flow / self.first) / libm::log1p(STEP);
        (rises.max(0.0) as usize + 1).min(self.count - 2)
    }
}

/// What stands at the downstream end.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Below {
    /// A head.
    Head(f64),
    /// The water of a tank, or `None` where it stands empty.
    Tank(Option<f64>),
}

impl Below {
    /// Whether there is a bound at all.
    pub(crate) fn is_known(self) -> bool {
        match self {
            Self::Head(head_m) => head_m.is_finite(),
            Self::Tank(water_m) => water_m.is_none_or(f64::is_finite),
        }
    }
}

/// A line that water runs through in one direction, with what each of its choices asks for at
/// each step of flow.
pub(crate) struct Run<'p> {
    scenario: &'p Scenario,
    line: &'p Line,
    choices: &'p [Choice],
    upstream: LineEnd,
    pub(crate) steps: Steps,
    /// For each choice the steps in pages, each made when it is first asked for.
    known: Vec<RefCell<Vec<Option<Page>>>>,
    /// How many more pages may be made on the whole ring.
    left: Rc<Cell<usize>>,
}

/// So many steps of flow are kept together.
const PAGE: usize = 32;

/// What some steps in a row ask for.
type Page = Box<[Option<Passage>; PAGE]>;

/// No more pages than this are kept on a ring: 50 MB.
pub(crate) const MOST_PAGES: usize = 32_000;

impl<'p> Run<'p> {
    pub(crate) fn new(
        scenario: &'p Scenario,
        line: &'p Line,
        choices: &'p [Choice],
        upstream: LineEnd,
        steps: Steps,
        left: &Rc<Cell<usize>>,
    ) -> Self {
        let pages = steps.count.div_ceil(PAGE);
        let known = choices.iter().map(|_| RefCell::new(vec![None; pages])).collect();
        let left = Rc::clone(left);
        Self { scenario, line, choices, upstream, steps, known, left }
    }

    /// The passage of a flow through a choice.
    pub(crate) fn passage(&self, choice: usize, flow_m3_per_s: f64) -> Passage {
        let pipe = &self.choices[choice].pipe;
        let flow = Flow::m3_per_s(flow_m3_per_s);
        Passage::new(self.scenario, self.line, pipe, flow, self.upstream)
    }

    /// The passage of a step of flow through a choice.
    pub(crate) fn at(&self, choice: usize, step: usize) -> Passage {
        let passage = || self.passage(choice, self.steps.flow(step));
        let mut pages = self.known[choice].borrow_mut();
        let Some(page) = pages.get_mut(step / PAGE) else { return passage() };
        if page.is_none() {
            let Some(left) = self.left.get().checked_sub(1) else { return passage() };
            self.left.set(left);
        }
        let page = page.get_or_insert_with(|| Box::new([None; PAGE]));
        *page[step % PAGE].get_or_insert_with(passage)
    }

    /// The head at the downstream end.
    pub(crate) fn end_m(&self, passage: &Passage, below: Below) -> f64 {
        match below {
            Below::Head(head_m) => head_m,
            Below::Tank(water_m) => {
                let invert = self.line.end_level(self.upstream.other());
                passage.outfall(invert, water_m.map(Length::m)).to_m()
            }
        }
    }

    /// The head at the upstream end.
    pub(crate) fn rise_m(&self, passage: &Passage, below: Below) -> f64 {
        passage.rise(Length::m(self.end_m(passage, below))).to_m()
    }

    /// The least head at the upstream end that any of some choices asks for at a step.
    pub(crate) fn least_rise_m(&self, choices: &[usize], step: usize, below: Below) -> f64 {
        let rises = choices.iter().map(|&choice| self.rise_m(&self.at(choice, step), below));
        rises.fold(f64::INFINITY, f64::min)
    }

    /// The most that any of some choices asks for.
    pub(crate) fn most_rise_m(&self, choices: &[usize], step: usize, below: Below) -> f64 {
        let rises = choices.iter().map(|&choice| self.rise_m(&self.at(choice, step), below));
        rises.fold(f64::NEG_INFINITY, f64::max)
    }

    /// The first step, from `low` on, at which every choice asks for more than a head; `high`
    /// where none below it does.
    pub(crate) fn first_above(
        &self,
        choices: &[usize],
        head_m: f64,
        below: Below,
        [low, high]: [usize; 2],
    ) -> usize {
        search([low, high], |step| self.least_rise_m(choices, step, below) > head_m)
    }

    /// The first step, from `low` on, at which some choice asks for a head or more; `high` where
    /// none below it does.
    pub(crate) fn first_reaching(
        &self,
        choices: &[usize],
        head_m: f64,
        below: Below,
        [low, high]: [usize; 2],
    ) -> usize {
        search([low, high], |step| self.most_rise_m(choices, step, below) >= head_m)
    }

    /// The most that a tank with this water can feed into the line.
    pub(crate) fn feed_limit(&self, choices: &[usize], water_m: f64) -> f64 {
        let over = Length::m(water_m) - self.line.end_level(self.upstream);
        let limits = choices.iter().map(|&choice| {
            let bore = self.choices[choice].pipe.inside;
            outfall::overflow_flow(over, bore, 0.0).to_m3_per_s()
        });
        limits.fold(0.0, f64::max)
    }
}

/// The first step in a range at which what becomes true and stays so is true, or its end.
fn search([mut low, mut high]: [usize; 2], holds: impl Fn(usize) -> bool) -> usize {
    while low < high {
        let middle = (low + high) / 2;
        if holds(middle) { high = middle } else { low = middle + 1 }
    }
    high
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flow_lies_between_its_steps() {
        let steps = Steps::new(0.01, 0.5);
        for flow in [0.0, 1e-12, 9.99e-9, 1e-8, 1.0000001e-8, 3e-5, 0.01, 0.499, 0.5] {
            let (down, up) = (steps.down(flow), steps.up(flow));
            assert!(steps.flow(down) <= flow && flow <= steps.flow(up), "{flow}: {down} {up}");
            assert!(up - down <= 1, "{flow}: {down} {up}");
        }
        assert!(steps.flow(steps.count - 1) >= 0.5);
    }
}
