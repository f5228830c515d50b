//! A wye or tee: what it adds to the head of its point, as each of the three lines sees it.

use crate::laws::junction::point_heads;
use crate::line::LineModel;
use wetrun_network::{Junction, JunctionKind};

/// The share of the largest flow by which flows are moved to see how offsets answer: a law of the
/// second degree is told from it to ten digits.
const NUDGE: f64 = 1e-5;

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
        point_heads(self.kind, self.area_m2, self.added_k, self.inward(flow))
    }

    /// How much more each leg's offset is for each m³/s more that flows inward along each leg.
    /// `scale` is a flow of the size of the problem's.
    pub(crate) fn slopes(&self, flow: &[f64], scale: f64) -> [[f64; 3]; 3] {
        let inward = self.inward(flow);
        let largest = inward.iter().fold(NUDGE * scale, |most, flow| most.max(flow.abs()));
        let nudge = NUDGE * largest;
        let mut slopes = [[0.0; 3]; 3];
        for leg in 0..3 {
            let [less, more] = [-nudge, nudge].map(|nudge| {
                let mut inward = inward;
                inward[leg] += nudge;
                point_heads(self.kind, self.area_m2, self.added_k, inward)
            });
            for (of, slopes) in slopes.iter_mut().enumerate() {
                slopes[leg] = (more[of] - less[of]) / (2.0 * nudge);
            }
        }
        slopes
    }

    fn inward(&self, flow: &[f64]) -> [f64; 3] {
        self.legs.map(|(line, side)| if side == 1 { flow[line] } else { -flow[line] })
    }
}
