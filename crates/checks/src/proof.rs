//! What a proof of a mend asks of whoever solves: what the drains of a changed network do.

use crate::opened::DrainOpened;
use crate::{Judged, rules};
use std::fmt;
use wetrun_network::Network;
use wetrun_solver::SpillRains;

/// Rules that go by what opening a drain does.
pub const ASK_DRAINS: [&str; 2] = [rules::self_cleansing::RULE.name, rules::drain_time::RULE.name];

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

/// The spill rains of a changed network, where a rule of the site goes by more than the design storm;
/// else, or where they are not found, none.
pub fn rains_asked_for(input: &Judged<'_>, network: &Network) -> SpillRains {
    if rules::low_roof::RULE.limit_si(input) <= 1.0 {
        return SpillRains::NONE;
    }
    wetrun_solver::spill_rains(network, input.scenario).unwrap_or(SpillRains::NONE)
}
