//! A set of sizes put into the network, solved as a whole and judged.

use super::law::{speed_m_per_s, still_m3_per_s};
use super::layout::{Toward, place};
use super::pipes::length_m;
use super::{Owner, Problem};
use thiserror::Error;
use wetrun_network::{DownspoutId, LineId, Network, Pipe, PointId, TankId};
use wetrun_solver::{NotSolved, Steady};
use wetrun_units::{Flow, Length};
use wetrun_verdict::{Failure, Verdict};

/// A design: one candidate for each open pipe, and the steady state it gives.
#[derive(Clone, Debug)]
pub struct Design {
    /// For each open pipe the place of its candidate.
    pub sizes: Vec<usize>,
    /// Sum of the open pipes' costs.
    pub cost: f64,
    /// The network with these sizes.
    pub network: Network,
    /// Its steady state in the design storm.
    pub steady: Steady,
    /// For each downspout its headroom less the freeboard asked.
    pub margins: Vec<Length>,
    /// What the water comes to.
    pub verdict: Verdict,
    /// Why it is no solution, if it is none.
    pub fault: Option<Fault>,
}

/// Why a design is no solution: the worst of what is wrong.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// A downspout spills in the design storm.
    Spills {
        /// Which; the one that spills most.
        downspout: DownspoutId,
        /// What does not get in, or comes out.
        spilled: Flow,
    },
    /// A downspout's headroom is less than the freeboard.
    Freeboard {
        /// Which; the worst.
        downspout: DownspoutId,
        /// How much is lacking.
        short: Length,
    },
    /// Water comes out of a vent or an open cap.
    Escapes {
        /// The point; where most comes out.
        point: PointId,
        /// What comes out.
        escapes: Flow,
    },
    /// Water runs over a tank's wall.
    OverRim {
        /// The tank.
        tank: TankId,
        /// What runs over.
        over: Flow,
    },
    /// A pipe has a smaller bore than one that feeds it.
    Narrows {
        /// The pipe that is too small.
        line: LineId,
        /// The pipe that feeds it.
        fed_by: Owner,
    },
    /// Water runs faster or slower in a line than the targets let it.
    Speed {
        /// The line.
        line: LineId,
    },
}

/// A design could not be worked out.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum DesignError {
    /// No steady state was found.
    #[error(transparent)]
    NotSolved(#[from] NotSolved),
    /// A candidate makes no network.
    #[error("the sizes make no network: {0}")]
    Invalid(String),
}

impl Design {
    /// Puts one candidate for each open pipe into the network and solves it.
    ///
    /// # Errors
    /// [`DesignError`] where there is no steady state to judge.
    pub fn new(problem: &Problem, sizes: Vec<usize>) -> Result<Self, DesignError> {
        let network = with_sizes(problem, &sizes)?;
        let steady = wetrun_solver::solve(&network, &problem.scenario)?;
        let cost = (problem.open.iter().zip(&sizes))
            .map(|(open, &size)| {
                open.candidates[size].cost_per_m * length_m(&problem.network, open.owner)
            })
            .sum();
        let verdict = Verdict::new(&network, &steady, problem.targets.freeboard);
        let margins = verdict.margins.iter().map(|m| m.margin).collect();
        let mut design = Self { sizes, cost, network, steady, margins, verdict, fault: None };
        design.fault = design.find_fault(problem);
        Ok(design)
    }

    /// The downspout with the least margin.
    pub fn worst(&self) -> Option<DownspoutId> {
        let margin_m = |d: &usize| self.margins[*d].to_m();
        (0..self.margins.len())
            .min_by(|a, b| margin_m(a).total_cmp(&margin_m(b)))
            .map(DownspoutId::new)
    }

    /// The least margin; `None` without downspouts.
    pub fn worst_margin(&self) -> Option<Length> {
        self.worst().map(|d| self.margins[d.index()])
    }

    /// The pipe chosen for an open pipe, by its place.
    pub fn pipe<'p>(&self, problem: &'p Problem, open: usize) -> &'p Pipe {
        &problem.open[open].candidates[self.sizes[open]].pipe
    }

    fn find_fault(&self, problem: &Problem) -> Option<Fault> {
        let water = self.verdict.worst_failure().and_then(|failure| match *failure {
            Failure::Spills { at, spilled } => Some(Fault::Spills { downspout: at, spilled }),
            Failure::Freeboard { at, headroom, asked } => {
                Some(Fault::Freeboard { downspout: at, short: asked - headroom })
            }
            Failure::Escapes { at, escapes } => Some(Fault::Escapes { point: at, escapes }),
            Failure::OverRim { at, over } => Some(Fault::OverRim { tank: at, over }),
            // What a gutter cannot carry no pipe mends.
            _ => None,
        });
        if water.is_some() {
            return water;
        }
        self.narrows(problem).or_else(|| self.speed(problem))
    }

    fn narrows(&self, problem: &Problem) -> Option<Fault> {
        let downspouts = self.network.downspouts();
        let nodes = downspouts.len() + self.network.points().len();
        // The widest pipe that feeds each node.
        let mut widest: Vec<Option<(f64, Owner)>> = vec![None; nodes];
        for (index, state) in self.steady.downspouts.iter().enumerate() {
            if state.admitted.to_m3_per_s() > 0.0 {
                let owner = Owner::Downspout(DownspoutId::new(index));
                widest[index] = Some((downspouts[index].pipe.inside.to_m(), owner));
            }
        }
        let mut leaving = Vec::new();
        let still = still_m3_per_s(problem);
        for (index, (line, state)) in
            self.network.lines().iter().zip(&self.steady.lines).enumerate()
        {
            let flow = state.flow.to_m3_per_s();
            if flow.abs() <= still {
                continue;
            }
            let (from, to) = if flow > 0.0 { (line.from, line.to) } else { (line.to, line.from) };
            let bore_m = line.pipe.inside.to_m();
            if let Toward::Node(node) = place(downspouts.len(), to)
                && widest[node].is_none_or(|(most_m, _)| bore_m > most_m)
            {
                widest[node] = Some((bore_m, Owner::Line(LineId::new(index))));
            }
            if let Toward::Node(node) = place(downspouts.len(), from) {
                leaving.push((index, bore_m, node));
            }
        }
        leaving.into_iter().find_map(|(index, bore_m, node)| {
            let (most_m, fed_by) = widest[node]?;
            (bore_m < most_m).then_some(Fault::Narrows { line: LineId::new(index), fed_by })
        })
    }

    fn speed(&self, problem: &Problem) -> Option<Fault> {
        let targets = &problem.targets;
        let lines = self.network.lines().iter().zip(&self.steady.lines).enumerate();
        let still = still_m3_per_s(problem);
        let wrong = |pipe: &Pipe, flow: f64| {
            let speed = speed_m_per_s(pipe, flow);
            flow.abs() > still
                && (targets.most_speed.is_some_and(|most| speed > most.to_m_per_s())
                    || targets.least_speed.is_some_and(|least| speed < least.to_m_per_s()))
        };
        lines
            .filter(|(_, (line, state))| wrong(&line.pipe, state.flow.to_m3_per_s()))
            .map(|(index, _)| Fault::Speed { line: LineId::new(index) })
            .next()
    }
}

/// The network with one candidate for each open pipe.
pub(crate) fn with_sizes(problem: &Problem, sizes: &[usize]) -> Result<Network, DesignError> {
    let mut parts = problem.network.to_parts();
    for (open, &size) in problem.open.iter().zip(sizes) {
        let pipe = open.candidates[size].pipe.clone();
        match open.owner {
            Owner::Downspout(id) => parts.downspouts[id.index()].pipe = pipe,
            Owner::Line(id) => parts.lines[id.index()].pipe = pipe,
        }
    }
    build(parts)
}

pub(crate) fn build(parts: wetrun_network::Parts) -> Result<Network, DesignError> {
    Network::build(parts).map_err(|problems| {
        let words: Vec<String> = problems.iter().map(ToString::to_string).collect();
        DesignError::Invalid(words.join("; "))
    })
}
