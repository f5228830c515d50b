//! Proof of a mend: the network with it is solved, and nothing fails that did not fail before.

use crate::Judged;
use crate::finding::Outcome;
use crate::rule::Rule;
use wetrun_network::{Network, Parts};
use wetrun_solver::{SpillRains, Steady};
use wetrun_verdict::Verdict;

/// Larger networks are not solved again: it would take too long.
const MOST_TO_SOLVE: usize = 500;

/// A network with a mend, solved and judged.
pub(super) struct Mended {
    /// The network.
    pub(super) network: Network,
    /// Its steady state.
    pub(super) steady: Steady,
    /// The verdict on it.
    pub(super) verdict: Verdict,
}

impl Mended {
    /// Whether something fails in it that did not fail before: in the verdict, or by any rule.
    pub(super) fn is_worse(&self, input: &Judged<'_>) -> bool {
        let mut new = self.verdict.failures().iter();
        let in_verdict = new.any(|new| {
            let mut old = input.verdict.failures().iter();
            !old.any(|old| {
                old.cause() == new.cause() && old.tag(input.network) == new.tag(&self.network)
            })
        });
        in_verdict || self.turns_a_rule(input)
    }

    /// Whether a rule still has something against a place.
    pub(super) fn fails(&self, input: &Judged<'_>, rule: &Rule, at: &str) -> bool {
        let found = rule.judge(&self.judged(input, &SpillRains::NONE));
        found.iter().any(|f| f.outcome == Outcome::Fail && f.at == at)
    }

    fn judged<'a>(&'a self, input: &Judged<'a>, spill_rains: &'a SpillRains) -> Judged<'a> {
        Judged {
            network: &self.network,
            steady: &self.steady,
            verdict: &self.verdict,
            spill_rains,
            drains: None,
            mends: None,
            ..*input
        }
    }

    fn turns_a_rule(&self, input: &Judged<'_>) -> bool {
        let rains = crate::rains_asked_for(input, &self.network);
        let before = match rains.downspouts.is_empty() {
            true => Judged { spill_rains: &SpillRains::NONE, mends: None, ..*input },
            false => Judged { mends: None, ..*input },
        };
        let follow = || input.mends.and_then(|proof| (proof.drains)(&self.network));
        crate::turns_a_rule(&before, &self.judged(input, &rains), follow)
    }
}

/// The network changed by `change`, where it can be solved; failures are still to be looked at.
pub(super) fn solved(input: &Judged<'_>, change: impl FnOnce(&mut Parts)) -> Option<Mended> {
    if input.mends.is_none() || input.network.lines().len() > MOST_TO_SOLVE {
        return None;
    }
    let mut parts = input.network.to_parts();
    change(&mut parts);
    let network = Network::build(parts).ok()?;
    let steady = wetrun_solver::solve(&network, input.scenario).ok()?;
    let verdict = crate::verdict(&network, &steady, input.facts);
    Some(Mended { network, steady, verdict })
}

/// The network changed by `change`, where nothing fails in it that did not fail before.
pub(super) fn sound(input: &Judged<'_>, change: impl FnOnce(&mut Parts)) -> Option<Mended> {
    solved(input, change).filter(|mended| !mended.is_worse(input))
}
