//! What each pipe of a network may be: one choice where it is fixed, its candidates where open.

use super::{Owner, Problem};
use wetrun_network::{Network, Pipe};

/// One pipe that may stand at a place, with what it costs over the whole length there.
#[derive(Clone, Debug)]
pub(crate) struct Choice {
    pub(crate) pipe: Pipe,
    pub(crate) bore_m: f64,
    pub(crate) cost: f64,
    /// Its place among the open pipe's candidates.
    candidate: Option<usize>,
}

/// The choices for every pipe, the smallest bore first.
#[derive(Clone, Debug)]
pub(crate) struct Choices {
    pub(crate) downspouts: Vec<Vec<Choice>>,
    pub(crate) lines: Vec<Vec<Choice>>,
}

/// One choice for every pipe, by its place in [`Choices`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Picks {
    pub(crate) downspouts: Vec<usize>,
    pub(crate) lines: Vec<usize>,
}

impl Choices {
    pub(crate) fn new(problem: &Problem) -> Self {
        let network = &problem.network;
        let downspouts = network.downspouts().iter().map(|d| vec![fixed(&d.pipe)]).collect();
        let lines = network.lines().iter().map(|l| vec![fixed(&l.pipe)]).collect();
        let mut choices = Self { downspouts, lines };
        for open in &problem.open {
            let length_m = length_m(network, open.owner);
            let mut found: Vec<Choice> = (open.candidates.iter().enumerate())
                .map(|(index, candidate)| Choice {
                    pipe: candidate.pipe.clone(),
                    bore_m: candidate.pipe.inside.to_m(),
                    cost: candidate.cost_per_m * length_m,
                    candidate: Some(index),
                })
                .collect();
            found.sort_by(|a, b| a.bore_m.total_cmp(&b.bore_m).then(a.cost.total_cmp(&b.cost)));
            match open.owner {
                Owner::Downspout(id) => choices.downspouts[id.index()] = found,
                Owner::Line(id) => choices.lines[id.index()] = found,
            }
        }
        choices
    }

    /// The largest bore everywhere.
    pub(crate) fn largest(&self) -> Picks {
        let last = |choices: &Vec<Choice>| choices.len() - 1;
        Picks {
            downspouts: self.downspouts.iter().map(last).collect(),
            lines: self.lines.iter().map(last).collect(),
        }
    }

    /// The candidate that was picked for each open pipe, in the problem's order.
    pub(crate) fn candidates(&self, problem: &Problem, picks: &Picks) -> Vec<usize> {
        let of = |owner| match owner {
            Owner::Downspout(id) => {
                self.downspouts[id.index()][picks.downspouts[id.index()]].candidate
            }
            Owner::Line(id) => self.lines[id.index()][picks.lines[id.index()]].candidate,
        };
        problem.open.iter().map(|open| of(open.owner).unwrap_or(0)).collect()
    }

    /// The picks of these candidates of the open pipes, in the problem's order.
    pub(crate) fn picks(&self, problem: &Problem, candidates: &[usize]) -> Picks {
        let mut picks = self.largest();
        for (open, &candidate) in problem.open.iter().zip(candidates) {
            let (choices, pick) = match open.owner {
                Owner::Downspout(id) => {
                    (&self.downspouts[id.index()], &mut picks.downspouts[id.index()])
                }
                Owner::Line(id) => (&self.lines[id.index()], &mut picks.lines[id.index()]),
            };
            let place = choices.iter().position(|choice| choice.candidate == Some(candidate));
            *pick = place.unwrap_or(*pick);
        }
        picks
    }
}

/// The length that a pipe's cost counts: the line's, or from foot to outlet.
pub(crate) fn length_m(network: &Network, owner: Owner) -> f64 {
    match owner {
        Owner::Downspout(id) => {
            let downspout = network.downspout(id);
            downspout.outlet.to_m() - downspout.foot.to_m()
        }
        Owner::Line(id) => network.line(id).length.to_m(),
    }
}

fn fixed(pipe: &Pipe) -> Choice {
    Choice { pipe: pipe.clone(), bore_m: pipe.inside.to_m(), cost: 0.0, candidate: None }
}
