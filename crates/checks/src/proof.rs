//! Whether a change of the drawing makes a rule fail, and what that asks of whoever solves: what the
//! drains of the changed network do.

use crate::finding::{Finding, Outcome};
use crate::opened::DrainOpened;
use crate::rule::Rule;
use crate::{Judged, rules};
use std::fmt;
use wetrun_network::Network;
use wetrun_solver::SpillRains;

/// Rules that go by what opening a drain does.
const ASK_DRAINS: [&str; 2] = [rules::self_cleansing::RULE.name, rules::drain_time::RULE.name];

/// Follows the drains of a network that a mend has changed, each opened by itself.
#[derive(Clone, Copy)]
pub struct Proof<'a> {
    /// `None` where they cannot be followed, or no more than was: such a mend is left out.
    pub drains: &'a dyn Fn(&Network) -> Option<Vec<DrainOpened>>,
}

impl fmt::Debug for Proof<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Proof")
    }
}

/// Whether a rule fails at a place of `after` where it does not in `before`. What opening a drain does is
/// followed last, and only where that can decide; where it cannot be followed that counts as failing.
pub fn turns_a_rule(
    before: &Judged<'_>,
    after: &Judged<'_>,
    follow: impl FnOnce() -> Option<Vec<DrainOpened>>,
) -> bool {
    let (of_drains, others): (Vec<&Rule>, Vec<&Rule>) =
        crate::rules().iter().partition(|rule| ASK_DRAINS.contains(&rule.name));
    let undrained = Judged { drains: None, ..*after };
    if turns(&others, before, &undrained) {
        return true;
    }
    // What is not followed has no time, and cleans where a drain could draw enough at the most.
    let may_not_clean = turns(&of_drains, before, &undrained);
    let in_time = |f: &Finding| f.outcome == Outcome::Pass;
    let timed = rules::drain_time::RULE.judge(before).iter().any(in_time);
    if before.drains.is_none_or(<[_]>::is_empty) || !(may_not_clean || timed) {
        return may_not_clean;
    }
    let Some(drains) = follow() else { return true };
    turns(&of_drains, before, &Judged { drains: Some(&drains), ..*after })
}

/// The same of some rules.
fn turns(rules: &[&Rule], before: &Judged<'_>, after: &Judged<'_>) -> bool {
    let failing = |rule: &Rule, judged: &Judged<'_>| -> Vec<String> {
        let found = rule.judge(judged).into_iter();
        found.filter(|f| f.outcome == Outcome::Fail).map(|f| f.at).collect()
    };
    rules.iter().any(|rule| {
        let fails = failing(rule, after);
        !fails.is_empty() && {
            let failed = failing(rule, before);
            fails.iter().any(|at| !failed.contains(at))
        }
    })
}

/// The spill rains of a changed network, where a rule of the site goes by more than the design storm;
/// else, or where they are not found, none.
pub fn rains_asked_for(input: &Judged<'_>, network: &Network) -> SpillRains {
    if rules::low_roof::RULE.limit_si(input) <= 1.0 {
        return SpillRains::NONE;
    }
    wetrun_solver::spill_rains(network, input.scenario).unwrap_or(SpillRains::NONE)
}
