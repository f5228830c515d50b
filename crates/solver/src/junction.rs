//! A wye or tee: what it adds to the head of its point, as each of the three lines sees it.

use crate::laws::friction::G as GRAVITY;
use crate::laws::junction::JunctionLaw;
use crate::line::LineModel;
use wetrun_network::Junction;
use wetrun_units::Length;

/// A junction's three legs, each a line and the end of it that is here: the branch, then the
/// two legs of the run.
#[derive(Clone, Debug)]
pub(crate) struct JunctionModel {
    law: JunctionLaw,
    pub(crate) legs: [(usize, usize); 3],
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
        let bores = legs.map(|(line, _)| Length::m(lines[line].bore_m));
        Some(Self { law: JunctionLaw::new(&junction, bores), legs })
    }

    /// What the junction adds to its point's head at each leg, for these line flows.
    pub(crate) fn offsets(&self, flow: &[f64]) -> [f64; 3] {
        self.law.heads_m(self.inward(flow))
    }

    /// The flow whose velocity head in the narrowest leg is `head_m`: one below adds no more than about that.
    pub(crate) fn least_flow(&self, lines: &[LineModel], head_m: f64) -> f64 {
        let areas = self.legs.map(|(line, _)| lines[line].friction.area_m2());
        areas.into_iter().fold(f64::INFINITY, f64::min) * (2.0 * GRAVITY * head_m).sqrt()
    }

    /// How these answer to the flows inward along each leg; see [`JunctionLaw::slopes`].
    pub(crate) fn slopes(&self, flow: &[f64], scale: f64) -> [[f64; 3]; 3] {
        self.law.slopes_s_per_m2(self.inward(flow), scale)
    }

    fn inward(&self, flow: &[f64]) -> [f64; 3] {
        self.legs.map(|(line, side)| if side == 1 { flow[line] } else { -flow[line] })
    }
}
