//! The search itself: what hangs exactly, what lies on loops set by set, and the proof.

use super::Problem;
use super::branch::{self, Cut, Found};
use super::design::{Design, DesignError};
use super::frame::Frame;
use super::law::{demand_m3_per_s, over_a_rim, water_levels};
use super::layout::Layout;
use super::mend::{Lack, Mend, Shortfall, shortfall};
use super::pipes::{Choices, Picks};
use super::tree::{Keep, Tree};

/// The cheapest design found, and what is known of cheaper ones.
#[derive(Clone, Debug)]
pub struct Chosen {
    /// The design, solved as a whole.
    pub design: Design,
    /// No design that works costs less.
    pub lower_bound: f64,
    /// Whether the bound reaches the cost, so that nothing cheaper works.
    pub proven: bool,
    /// What ended the search before its end.
    pub cut: Option<Cut>,
    /// Sets of sizes solved and boxes of them looked at, on loops.
    pub tried: usize,
}

/// No design works, or none was found.
#[derive(Clone, Debug)]
pub struct NoneWorks {
    /// The design that comes nearest, where one could be solved.
    pub nearest: Option<Design>,
    /// What it lacks.
    pub shortfall: Option<Shortfall>,
    /// The changes of level that would make some design work, the smallest first.
    pub mends: Vec<Mend>,
    /// No design that works costs less than this; infinite where it is proven that none works.
    pub lower_bound: f64,
    /// Whether every design was ruled out.
    pub proven: bool,
    /// What ended the search before its end.
    pub cut: Option<Cut>,
}

/// What a search came to.
#[derive(Clone, Debug)]
pub enum Outcome {
    /// A design works.
    Chosen(Box<Chosen>),
    /// None does.
    NoneWorks(Box<NoneWorks>),
}

/// How far a search has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Progress {
    /// Lines of trees that are done.
    Tree {
        /// Lines done.
        done: usize,
        /// Of so many.
        of: usize,
    },
    /// Sets of sizes on loops.
    Ring {
        /// Sets solved.
        solves: usize,
        /// At most so many will be.
        most: usize,
        /// No design costs less.
        bound: f64,
        /// Cost of the best design found.
        best: Option<f64>,
    },
    /// Changes of level, where nothing works.
    Mends {
        /// Changes tried.
        tried: usize,
        /// At most so many will be.
        most: usize,
    },
}

/// Finds the cheapest design that works.
///
/// On trees that each lead to one tank the answer is the optimum. Elsewhere at most `solves`
/// sets of sizes of the lines on loops are solved; the answer then comes with a lower bound.
///
/// # Errors
/// [`DesignError`] where the steady state of a design could not be found.
pub fn choose(
    problem: &Problem,
    solves: usize,
    tell: &mut dyn FnMut(Progress),
) -> Result<Outcome, DesignError> {
    choose_near(problem, None, solves, true, tell)
}

/// Tries that settle what can be settled on small loops, and end in some minutes on large ones, where
/// each takes the longer the more lines there are.
pub fn usual_tries(problem: &Problem) -> usize {
    let lines = Layout::new(&problem.network, &problem.scenario).ring.len();
    for_lines(USUAL_TRIES, lines).max(LEAST_TRIES)
}

/// So many tries where a ring has no more than [`FEW_LINES`] lines.
const USUAL_TRIES: usize = 100_000;
const FEW_LINES: usize = 20;
/// And never fewer than these.
const LEAST_TRIES: usize = 100;

/// Fewer tries the more lines there are on loops.
pub(crate) fn for_lines(tries: usize, lines: usize) -> usize {
    let share = FEW_LINES as f64 / lines.max(FEW_LINES) as f64;
    (tries as f64 * share * share).ceil() as usize
}

/// Finds the cheapest design that works; on loops the search starts from `near`, a candidate of
/// each open pipe, before it starts from elsewhere. With `mends` changes of level are looked for where
/// none works.
pub(crate) fn choose_near(
    problem: &Problem,
    near: Option<&[usize]>,
    solves: usize,
    mends: bool,
    tell: &mut dyn FnMut(Progress),
) -> Result<Outcome, DesignError> {
    let choices = Choices::new(problem);
    let layout = Layout::new(&problem.network, &problem.scenario);
    let raised = vec![0.0; problem.network.downspouts().len()];
    let near = near.map(|sizes| choices.picks(problem, sizes));
    let Found { best, lower_bound, cut, tried } =
        cheapest(problem, &choices, &layout, &raised, near.as_ref(), solves, tell)?;
    let exact = still_lips_bear_on_nothing(problem) && every_vent_is_passed(problem, &layout);
    let Some((_, picks)) = best else {
        let Lack { nearest, shortfall, mends } =
            shortfall(problem, &choices, &layout, solves, mends, tell)?;
        let proven = exact && lower_bound.is_infinite();
        let none = NoneWorks { nearest, shortfall, mends, lower_bound, proven, cut };
        return Ok(Outcome::NoneWorks(Box::new(none)));
    };
    let design = Design::new(problem, choices.candidates(problem, &picks))?;
    let lower_bound = lower_bound.min(design.cost);
    // The costs of the search and of the design are the same sum in another order.
    let reached = design.cost - lower_bound <= 1e-9 * design.cost;
    let lower_bound = if reached { design.cost } else { lower_bound };
    let proven = exact && reached && design.fault.is_none();
    Ok(Outcome::Chosen(Box::new(Chosen { design, lower_bound, proven, cut, tried })))
}

/// The cheapest picks with the openings raised, and the bound; searches on loops start from `near`
/// first.
pub(crate) fn cheapest(
    problem: &Problem,
    choices: &Choices,
    layout: &Layout,
    raised_m: &[f64],
    near: Option<&Picks>,
    solves: usize,
    tell: &mut dyn FnMut(Progress),
) -> Result<Found, DesignError> {
    let of = layout.order.len();
    let tree = Tree::new(problem, choices, layout, raised_m, Keep::All, &mut |done, _| {
        tell(Progress::Tree { done, of });
    });
    if layout.ring.is_empty() {
        let best = pick_trees(problem, choices, layout, &tree);
        let lower_bound = best.as_ref().map_or(f64::INFINITY, |(cost, _)| *cost);
        return Ok(Found { best, lower_bound, cut: None, tried: 0 });
    }
    let frame = Frame::new(problem, choices, layout, &tree);
    branch::search(&frame, near, solves, false, &mut |solves_done, bound, best| {
        tell(Progress::Ring { solves: solves_done, most: solves, bound, best });
    })
}

/// Picks for a network without loops; `None` where nothing works.
pub(crate) fn pick_trees(
    problem: &Problem,
    choices: &Choices,
    layout: &Layout,
    tree: &Tree<'_>,
) -> Option<(f64, Picks)> {
    let water = water_levels(&problem.network, &problem.scenario, &layout.inflows_m3_per_s());
    if over_a_rim(&problem.network, |tank| water[tank]) {
        return None;
    }
    let mut picks = choices.largest();
    let mut cost = 0.0;
    for (tank, behind) in layout.behind_tank.iter().enumerate() {
        for &node in behind {
            cost += tree.pick_at_tank(node, water[tank], &mut picks)?;
        }
    }
    for node in layout.kept() {
        cost += tree.pick_node(node, f64::NEG_INFINITY, f64::INFINITY, &mut picks)?;
    }
    Some((cost, picks))
}

/// Whether water moves below every opening that hangs: one over still water behind a crest lets
/// nothing out, and is taken for one that does.
fn every_vent_is_passed(problem: &Problem, layout: &Layout) -> bool {
    let open = |node: &usize| {
        let point = node.checked_sub(layout.downspouts);
        point.is_some_and(|point| problem.network.points()[point].opening.is_some())
    };
    layout.order.iter().filter(|node| open(node)).all(|&node| layout.gathered_m3_per_s[node] > 0.0)
}

/// Whether still water that runs off over a lip cannot save a downspout that brings none. It
/// only could without any freeboard, where the lip is the opening; then nothing is proven.
fn still_lips_bear_on_nothing(problem: &Problem) -> bool {
    let downspouts = problem.network.downspouts();
    problem.targets.freeboard.to_m() > 0.0
        || downspouts.iter().all(|d| demand_m3_per_s(&problem.scenario, d) > 0.0)
}
