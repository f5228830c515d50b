//! How high the water would stand at an opening that held it: a solution without that opening.

use super::prelude::*;
use wetrun_network::{Network, OpeningKind, PointId};

/// Larger networks are not solved again: it would take too long.
const MOST_TO_SOLVE: usize = 500;

/// What mends an opening that stands too low for the storm: a higher top, and for a cap a tight
/// one. `None` where water that is held there leaves elsewhere, or where that is not known.
pub(super) fn mend(input: &Judged<'_>, at: PointId, clear_m: f64) -> Option<String> {
    if input.network.lines().len() > MOST_TO_SOLVE {
        return None;
    }
    let opening = input.network.point(at).opening?;
    let mut parts = input.network.to_parts();
    parts.points[at.index()].opening = None;
    let network = Network::build(parts).ok()?;
    let steady = wetrun_solver::solve(&network, input.scenario).ok()?;
    let held = crate::verdict(&network, &steady, input.facts);
    let worse = held.failures().iter().any(|new| {
        let same = |old: &wetrun_verdict::Failure| {
            old.cause() == new.cause() && old.tag(input.network) == new.tag(&network)
        };
        !input.verdict.failures().iter().any(same)
    });
    if worse {
        return None;
    }
    let head_m = steady.points[at.index()].head.to_m();
    let top = say::level_up(input.facts.units, head_m + clear_m + LEVEL_TOLERANCE_M);
    Some(match opening.kind {
        OpeningKind::Vent => format!("take the vent up to {top} or higher"),
        OpeningKind::Cap => format!("seal the cap, or raise it to {top} or higher"),
    })
}
