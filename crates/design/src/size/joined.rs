//! What a wye or tee costs for three bores and two flows that come in.

use wetrun_network::{JunctionKind, Pipe};
use wetrun_solver::laws::junction;
use wetrun_units::{Flow, Length};

/// A line that comes in.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Leg<'p> {
    pub(crate) pipe: &'p Pipe,
    pub(crate) flow_m3_per_s: f64,
}

/// What the junction adds to the head of its point as the two incoming lines and then the
/// outgoing one see it. `branch` is the one of the three that comes in at an angle.
pub(crate) fn offsets_m(
    kind: JunctionKind,
    branch: usize,
    legs: [Leg<'_>; 2],
    out: &Pipe,
) -> [f64; 3] {
    let [one, other] = legs.map(|leg| leg.flow_m3_per_s);
    let flows = [one, other, -(one + other)].map(Flow::m3_per_s);
    let bores = [legs[0].pipe.inside, legs[1].pipe.inside, out.inside];
    // The law has the branch first, then the run.
    let order = match branch {
        0 => [0, 1, 2],
        1 => [1, 0, 2],
        _ => [2, 0, 1],
    };
    let heads = junction::offsets(kind, order.map(|leg| bores[leg]), order.map(|leg| flows[leg]));
    let mut offsets_m = [0.0; 3];
    for (leg, head) in order.into_iter().zip(heads) {
        offsets_m[leg] = Length::to_m(head);
    }
    offsets_m
}
