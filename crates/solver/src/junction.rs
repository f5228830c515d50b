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
        Some(Self {
            kind: junction.kind,
            legs,
            area_m2: legs.map(|(line, _)| lines[line].friction.area_m2()),
        })
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
        // Where both legs of the run flow the same way, the losses by either's bore are blended so
        // that nothing jumps when the other becomes the greater.
        let alike = if inward[out] * inward[other] > 0.0 {
            let sizes = [inward[out].abs(), inward[other].abs()];
            sizes[0].min(sizes[1]) / sizes[0].max(sizes[1])
        } else {
            0.0
        };
        let blend = |loss: &dyn Fn(f64) -> f64| {
            let [main, second] = [self.area_m2[out], self.area_m2[other]];
            loss(main) + 0.5 * alike * (loss(second) - loss(main))
        };
        let combined = -inward[out];
        if inward[0] <= 0.0 || combined <= 0.0 {
            // The run divides, or both its legs leave, into the branch.
            let passing = inward[other].max(0.0);
            offsets[0] = blend(&|area_m2| {
                let beta2 = self.area_m2[0] / area_m2;
                branch_k(self.kind, beta2, 0.0).0 * head(passing / area_m2)
            });
            return offsets;
        }
        let share = (inward[0] / combined).min(1.0);
        offsets[0] = blend(&|area_m2| {
            let beta2 = self.area_m2[0] / area_m2;
            branch_k(self.kind, beta2, share).0 * head(combined / area_m2)
        });
        let beta2 = self.area_m2[0] / self.area_m2[out];
        offsets[other] =
            run_k(self.kind, beta2, share).0 * head(combined / self.area_m2[out]) * (1.0 - alike);
        offsets
    }
}

fn head(speed: f64) -> f64 {
    speed * speed / (2.0 * GRAVITY)
}
