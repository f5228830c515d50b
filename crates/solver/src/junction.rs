//! A wye or tee: what it adds to the head of its point, as each of the three lines sees it.

use crate::laws::friction::G as GRAVITY;
use crate::laws::junction::{branch_k, run_k};
use crate::line::LineModel;
use wetrun_network::{Junction, JunctionKind};

/// A junction's three legs, each a line and the end of it that is here: the branch, then the
/// two legs of the run.
#[derive(Clone, Debug)]
pub(crate) struct JunctionModel {
    kind: JunctionKind,
    pub(crate) legs: [(usize, usize); 3],
    area_m2: [f64; 3],
}

impl JunctionModel {
    pub(crate) fn new(
        junction: Junction,
        legs: &[(usize, usize)],
        lines: &[LineModel],
    ) -> Option<Self> {
        let branch = legs.iter().position(|&(line, _)| line == junction.branch.index())?;
        let mut run = (0..legs.len()).filter(|&leg| leg != branch);
        let legs = [legs[branch], legs[run.next()?], legs[run.next()?]];
        Some(Self { kind: junction.kind, legs, area_m2: legs.map(|(line, _)| lines[line].area_m2) })
    }

    /// What the junction adds to its point's head at each leg, for these line flows.
    ///
    /// The published relation is for two legs that combine into one leg of the run. It is
    /// carried on without a jump: the loss of a branch that turns to run outward stays that of
    /// a still branch, and where the branch alone feeds both legs of the run, the second leg's
    /// term fades as its outflow grows to the first's.
    pub(crate) fn offsets(&self, flow: &[f64]) -> [f64; 3] {
        // Flow into the point along each leg.
        let inward = self.legs.map(|(line, side)| if side == 1 { flow[line] } else { -flow[line] });
        let mut offsets = [0.0; 3];
        // The leg of the run that carries the most out of the point takes the combined flow.
        let (out, other) = if inward[1] <= inward[2] { (1, 2) } else { (2, 1) };
        if inward[out] >= 0.0 {
            // Both legs of the run come in and leave by the branch.
            let speed = inward[other] / self.area_m2[out];
            offsets[0] = branch_k(self.kind, self.beta2(out), 0.0).0 * head(speed);
            return offsets;
        }
        let combined = -inward[out];
        if inward[0] <= 0.0 {
            // The run divides into the branch: the speed that passes it is that of the run's inflow.
            let passing = inward[other].max(0.0);
            let speed = passing / self.area_m2[out];
            offsets[0] = branch_k(self.kind, self.beta2(out), 0.0).0 * head(speed);
            return offsets;
        }
        let velocity_head = head(combined / self.area_m2[out]);
        let beta2 = self.beta2(out);
        let share = (inward[0] / combined).min(1.0);
        offsets[0] = branch_k(self.kind, beta2, share).0 * velocity_head;
        let fade = if inward[other] < 0.0 { 1.0 + inward[other] / combined } else { 1.0 };
        offsets[other] = run_k(self.kind, beta2, share).0 * velocity_head * fade;
        offsets
    }

    fn beta2(&self, leg: usize) -> f64 {
        self.area_m2[0] / self.area_m2[leg]
    }
}

fn head(speed: f64) -> f64 {
    speed * speed / (2.0 * GRAVITY)
}
