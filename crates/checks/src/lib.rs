//! Judgement of a solved network: one file a rule, and the findings they come to.
//!
//! A check never changes a result: the rules read a [`Judged`] and return [`Finding`]s.

mod facts;
mod finding;
mod rules;
mod say;

pub use facts::{Facts, Units};
pub use finding::{Amount, Finding, Outcome};

use wetrun_network::Network;
use wetrun_solver::{Scenario, Steady};
use wetrun_units::Intensity;

/// What the rules judge: a network, the circumstances, its solved state, and what else the
/// drawing shows.
#[derive(Clone, Copy, Debug)]
pub struct Judged<'a> {
    /// The network.
    pub network: &'a Network,
    /// What the state was solved for.
    pub scenario: &'a Scenario,
    /// The solved state.
    pub steady: &'a Steady,
    /// For each downspout the rain at which water first leaves there, where that is known.
    pub spill_rains: &'a [Option<Intensity>],
    /// What else the site file shows.
    pub facts: &'a Facts,
}

/// The few rules that decide whether a design holds: freeboard and spill at every downspout,
/// gutters where they are given, and cautions on overflows and on laws outside their range.
pub fn check(input: &Judged<'_>) -> Vec<Finding> {
    let mut found = rules::freeboard::judge(input);
    found.extend(rules::no_spill::judge(input));
    found.extend(rules::overflow_cascade::judge(input));
    found.extend(rules::law_range::judge(input));
    found
}
