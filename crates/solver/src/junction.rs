//! A wye or tee: what it adds to the head of its point, as each of the three lines sees it.

use crate::laws::junction::point_heads;
use crate::line::LineModel;
use wetrun_network::{Junction, JunctionKind};

/// A junction's three legs, each a line and the end of it that is here: the branch, then the
/// two legs of the run.
#[derive(Clone, Debug)]
pub(crate) struct JunctionModel {
    kind: JunctionKind,
    pub(crate) legs: [(usize, usize); 3],
    area_m2: [f64; 3],
    /// What is added to both coefficients of the relation.
    added_k: f64,
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
            added_k: junction.added_k,
        })
    }

    /// What the junction adds to its point's head at each leg, for these line flows.
    pub(crate) fn offsets(&self, flow: &[f64]) -> [f64; 3] {
        let inward = self.legs.map(|(line, side)| if side == 1 { flow[line] } else { -flow[line] });
        point_heads(self.kind, self.area_m2, self.added_k, inward)
    }
}
