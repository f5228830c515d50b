//! All combinations of sizes, each put into the network, solved by the full solver and judged
//! by the words of the contract, with nothing of the search under test.

use wetrun_design::size::{Owner, Problem};
use wetrun_network::{End, Network};
use wetrun_solver::Steady;

/// What trying everything came to.
pub(crate) struct Tried {
    /// Cost of the cheapest combination that works.
    pub(crate) best: Option<f64>,
    /// Combinations that could not be solved.
    pub(crate) unsolved: usize,
    pub(crate) works: usize,
    pub(crate) tried: usize,
}

pub(crate) fn all(problem: &Problem) -> Tried {
    let mut tried = Tried { best: None, unsolved: 0, works: 0, tried: 0 };
    each(problem, |at, cost| {
        tried.tried += 1;
        let network = network(problem, at);
        match wetrun_solver::solve(&network, &problem.scenario) {
            Err(_) => tried.unsolved += 1,
            Ok(state) if works(problem, &network, &state) => {
                tried.works += 1;
                tried.best = Some(tried.best.map_or(cost, |best: f64| best.min(cost)));
            }
            Ok(_) => {}
        }
    });
    tried
}

/// Of all combinations that cost less, keep the rules and spill nothing, how much freeboard the
/// one lacks that lacks least; infinite where there is none.
pub(crate) fn least_lack_m(problem: &Problem, below: f64) -> f64 {
    let mut least_m = f64::INFINITY;
    each(problem, |at, cost| {
        if cost >= below {
            return;
        }
        let network = network(problem, at);
        let Ok(state) = wetrun_solver::solve(&network, &problem.scenario) else { return };
        if state.downspouts.iter().all(|d| d.spilled.to_m3_per_s().abs() <= 1e-12)
            && keeps_rules(problem, &network, &state)
        {
            let margins = state.downspouts.iter().map(|d| d.headroom - problem.targets.freeboard);
            let worst_m = margins.map(|margin| margin.to_m()).fold(f64::INFINITY, f64::min);
            least_m = least_m.min(-worst_m);
        }
    });
    least_m
}

fn each(problem: &Problem, mut visit: impl FnMut(&[usize], f64)) {
    let mut at = vec![0; problem.open.len()];
    loop {
        visit(&at, cost(problem, &at));
        let Some(next) = (0..at.len()).find(|&i| at[i] + 1 < problem.open[i].candidates.len())
        else {
            return;
        };
        at[next] += 1;
        at[..next].fill(0);
    }
}

fn cost(problem: &Problem, at: &[usize]) -> f64 {
    let length_m = |owner| match owner {
        Owner::Line(id) => problem.network.line(id).length.to_m(),
        Owner::Downspout(id) => {
            let downspout = problem.network.downspout(id);
            downspout.outlet.to_m() - downspout.foot.to_m()
        }
    };
    let each = problem.open.iter().zip(at);
    each.map(|(open, &size)| open.candidates[size].cost_per_m * length_m(open.owner)).sum()
}

pub(crate) fn network(problem: &Problem, at: &[usize]) -> Network {
    let mut parts = problem.network.to_parts();
    for (open, &size) in problem.open.iter().zip(at) {
        let pipe = open.candidates[size].pipe.clone();
        match open.owner {
            Owner::Line(id) => parts.lines[id.index()].pipe = pipe,
            Owner::Downspout(id) => parts.downspouts[id.index()].pipe = pipe,
        }
    }
    Network::build(parts).unwrap()
}

/// The contract's sentence on what a solution is.
pub(crate) fn works(problem: &Problem, network: &Network, state: &Steady) -> bool {
    let freeboard_m = problem.targets.freeboard.to_m();
    let kept = state
        .downspouts
        .iter()
        .all(|d| d.headroom.to_m() >= freeboard_m - 1e-9 && d.spilled.to_m3_per_s().abs() <= 1e-12);
    kept && stays_in(state) && keeps_rules(problem, network, state)
}

/// Nothing comes out of an opening or runs over a rim.
fn stays_in(state: &Steady) -> bool {
    let total: f64 = state.downspouts.iter().map(|d| d.demand.to_m3_per_s()).sum();
    let still = |flow: wetrun_units::Flow| flow.to_m3_per_s() <= 1e-8 * total.max(1e-4);
    state.openings.iter().all(|o| still(o.escapes)) && state.tanks.iter().all(|t| still(t.over_rim))
}

fn keeps_rules(problem: &Problem, network: &Network, state: &Steady) -> bool {
    // The contract balances flows to 1e-9 of all demands: what is less stands still.
    let total: f64 = state.downspouts.iter().map(|d| d.demand.to_m3_per_s()).sum();
    let still = 1e-9 * total;
    widens(network, state, still) && speeds(problem, state, still)
}

fn widens(network: &Network, state: &Steady, still: f64) -> bool {
    // Every pipe that runs into a place, and every one that runs out of it.
    let mut feeds: Vec<(End, f64)> = Vec::new();
    let mut fed: Vec<(End, f64)> = Vec::new();
    for (i, d) in network.downspouts().iter().enumerate() {
        if state.downspouts[i].admitted.to_m3_per_s() > 0.0 {
            feeds.push((End::Downspout(wetrun_network::DownspoutId::new(i)), d.pipe.inside.to_m()));
        }
    }
    for (line, state) in network.lines().iter().zip(&state.lines) {
        let flow = state.flow.to_m3_per_s();
        let (from, to) = if flow > 0.0 { (line.from, line.to) } else { (line.to, line.from) };
        if flow.abs() > still {
            fed.push((from, line.pipe.inside.to_m()));
            feeds.push((to, line.pipe.inside.to_m()));
        }
    }
    feeds.iter().all(|(place, bore)| {
        matches!(place, End::Tank(_))
            || fed.iter().all(|(from, next)| from != place || next >= bore)
    })
}

fn speeds(problem: &Problem, state: &Steady, still: f64) -> bool {
    state.lines.iter().all(|state| {
        let speed = state.velocity.to_m_per_s().abs();
        state.flow.to_m3_per_s().abs() <= still
            || (problem.targets.most_speed.is_none_or(|most| speed <= most.to_m_per_s())
                && problem.targets.least_speed.is_none_or(|least| speed >= least.to_m_per_s()))
    })
}
