//! How high the water would stand at openings that held it: a solution without those openings.

use super::prelude::*;
use wetrun_network::{OpeningKind, PointId};
use wetrun_verdict::Failure;

/// What mends an opening that stands too low for the storm: a higher top, and for a cap a tight
/// one; with it all others that let water out, now or then. `None` where water that is held leaves
/// elsewhere, or where that is not known.
pub(super) fn mend(input: &Judged<'_>, at: PointId, clear_m: f64) -> Option<String> {
    let leaking = input.network.openings().map(|(id, _)| id);
    let mut held: Vec<PointId> = vec![at];
    held.extend(leaking.filter(|&id| id != at && input.verdict.escapes_at(id)));
    // Each turn adds an opening.
    loop {
        let mended = super::proof::solved(input, |parts| {
            for id in &held {
                parts.points[id.index()].opening = None;
            }
        })?;
        let known = held.len();
        for failure in mended.verdict.failures() {
            match failure {
                Failure::Escapes { at, .. } if !held.contains(at) => held.push(*at),
                _ => {}
            }
        }
        let grown = held.len() > known;
        if !grown && mended.is_worse(input) {
            return None;
        }
        if grown {
            continue;
        }
        let words = held.iter().map(|id| {
            let head_m = mended.steady.points[id.index()].head.to_m();
            words(input, *id, head_m + if *id == at { clear_m } else { 0.0 })
        });
        return Some(words.collect::<Option<Vec<String>>>()?.join("; and with it "));
    }
}

/// `take the vent of P2 up to 106.62 ft or higher`.
fn words(input: &Judged<'_>, at: PointId, head_m: f64) -> Option<String> {
    let point = input.network.point(at);
    let tag = &point.tag;
    let top = say::level_up(input.facts.units, head_m + LEVEL_TOLERANCE_M);
    Some(match point.opening?.kind {
        OpeningKind::Vent => format!("take the vent of {tag} up to {top} or higher"),
        OpeningKind::Cap => format!("seal the cap of {tag}, or raise it to {top} or higher"),
    })
}
