//! What else could be done: one pipe a size smaller, and the trunk in each of its sizes.

use super::design::{Design, DesignError};
use super::pipes::length_m;
use super::search::{Outcome, Progress, choose_near};
use super::{OpenPipe, Owner, Problem};
use wetrun_network::LineId;
use wetrun_solver::Scenario;
use wetrun_units::{Intensity, Speed, Volume};

/// A design with one pipe a size smaller than chosen.
#[derive(Clone, Debug)]
pub struct OneStep {
    /// The place of the open pipe.
    pub open: usize,
    /// The design, solved.
    pub design: Design,
}

/// What the trunk does in one of its sizes.
#[derive(Clone, Debug)]
pub struct TrunkStep {
    /// The place of the trunk's candidate.
    pub candidate: usize,
    /// The cheapest design with it, or the one that comes nearest where none works.
    pub design: Option<Design>,
    /// Whether that design works.
    pub works: bool,
    /// Whether nothing cheaper works with this trunk; where none works, whether that is sure.
    pub proven: bool,
    /// Speed in the trunk in the ordinary rain, where the state was found.
    pub ordinary_speed: Option<Speed>,
    /// Water that stands in all pipes between storms, where the state was found.
    pub stale: Option<Volume>,
}

/// Designs with one pipe a size smaller, and how many more there are.
#[derive(Clone, Debug, Default)]
pub struct OneStepDown {
    /// The dearest, which save least, first.
    pub steps: Vec<OneStep>,
    /// So many pipes more could be smaller; they were not solved.
    pub more: usize,
}

/// For the open pipes that save least by it, at most `most`, the design with that one a size
/// smaller. One whose steady state was not found is left out.
pub fn one_step_down(problem: &Problem, from: &Design, most: usize) -> OneStepDown {
    let mut smaller: Vec<(f64, usize, usize)> = Vec::new();
    for (open, pipe) in problem.open.iter().enumerate() {
        let bore_m = |candidate: usize| pipe.candidates[candidate].pipe.inside.to_m();
        let next = (0..pipe.candidates.len())
            .filter(|&candidate| bore_m(candidate) < bore_m(from.sizes[open]))
            .max_by(|&a, &b| bore_m(a).total_cmp(&bore_m(b)));
        if let Some(next) = next {
            let cost_per_m = |candidate: usize| pipe.candidates[candidate].cost_per_m;
            let saved = cost_per_m(from.sizes[open]) - cost_per_m(next);
            smaller.push((saved * length_m(&problem.network, pipe.owner), open, next));
        }
    }
    smaller.sort_by(|a, b| a.0.total_cmp(&b.0));
    let more = smaller.len().saturating_sub(most);
    let solved = smaller.into_iter().take(most).filter_map(|(_, open, next)| {
        let mut sizes = from.sizes.clone();
        sizes[open] = next;
        Some(OneStep { open, design: Design::new(problem, sizes).ok()? })
    });
    OneStepDown { steps: solved.collect(), more }
}

/// The trunk: of the open lines the one that carries most in the storm.
pub fn trunk(problem: &Problem, design: &Design) -> Option<usize> {
    let carries = |line: LineId| design.steady.lines[line.index()].flow.to_m3_per_s().abs();
    let lines = problem.open.iter().enumerate().filter_map(|(open, pipe)| match pipe.owner {
        Owner::Line(line) => Some((open, carries(line))),
        Owner::Downspout(_) => None,
    });
    let mut best: Option<(usize, f64)> = None;
    for (open, flow) in lines {
        if best.is_none_or(|(_, most)| flow > most) {
            best = Some((open, flow));
        }
    }
    best.map(|(open, _)| open)
}

/// The trunk in each of its sizes, the smallest first: for each the cheapest design of all else,
/// on loops looked for around `chosen` first. `tell` hears of each search.
///
/// # Errors
/// [`DesignError`] where the steady state of a design was not found.
pub fn trunk_steps(
    problem: &Problem,
    trunk: usize,
    chosen: &Design,
    ordinary: Intensity,
    solves: usize,
    tell: &mut dyn FnMut(Progress),
) -> Result<Vec<TrunkStep>, DesignError> {
    let bore_m = |candidate: &usize| problem.open[trunk].candidates[*candidate].pipe.inside.to_m();
    let mut order: Vec<usize> = (0..problem.open[trunk].candidates.len()).collect();
    order.sort_by(|a, b| bore_m(a).total_cmp(&bore_m(b)));
    let each = order.into_iter();
    let mut near = chosen.sizes.clone();
    near[trunk] = 0; // the only one that is left to it
    each.map(|candidate| step(problem, (trunk, candidate), &near, ordinary, solves, tell)).collect()
}

fn step(
    problem: &Problem,
    (trunk, candidate): (usize, usize),
    near: &[usize],
    ordinary: Intensity,
    solves: usize,
    tell: &mut dyn FnMut(Progress),
) -> Result<TrunkStep, DesignError> {
    let mut held = problem.clone();
    let only = problem.open[trunk].candidates[candidate].clone();
    let owner = problem.open[trunk].owner;
    held.open[trunk] = OpenPipe { owner, candidates: vec![only] };
    let (mut design, works, proven) = match choose_near(&held, Some(near), solves, false, tell)? {
        Outcome::Chosen(chosen) => {
            let works = chosen.design.fault.is_none();
            (Some(chosen.design), works, chosen.proven)
        }
        Outcome::NoneWorks(none) => (none.nearest, false, none.proven),
    };
    if let Some(design) = &mut design {
        design.sizes[trunk] = candidate;
    }
    let state = |intensity: Intensity| {
        let network = &design.as_ref()?.network;
        wetrun_solver::solve(network, &Scenario { intensity, ..problem.scenario }).ok()
    };
    let state = state(ordinary);
    let ordinary_speed = match owner {
        Owner::Line(line) => (state.as_ref())
            .map(|steady| Speed::m_per_s(steady.lines[line.index()].velocity.to_m_per_s().abs())),
        Owner::Downspout(_) => None,
    };
    let stale =
        state.zip(design.as_ref()).map(|(state, design)| state.rest.volume(&design.network));
    Ok(TrunkStep { candidate, design, works, proven, ordinary_speed, stale })
}
