//! How much water stands in the pipes between storms.

use crate::Judged;
use wetrun_network::{DownspoutId, LineId};
use wetrun_units::Volume;

/// The water that stands in the pipes between storms, for each line, then for each downspout.
pub(crate) fn stale(input: &Judged<'_>) -> Vec<Volume> {
    let (network, rest) = (input.network, &input.steady.rest);
    let lines = line_ids(input).map(|id| rest.in_line(network, id).iter().map(|w| w.volume).sum());
    let downspouts = downspout_ids(input)
        .map(|id| rest.in_downspout(network, id).map_or(Volume::ZERO, |water| water.volume));
    lines.chain(downspouts).collect()
}

fn line_ids(input: &Judged<'_>) -> impl Iterator<Item = LineId> {
    (0..input.network.lines().len()).map(LineId::new)
}

fn downspout_ids(input: &Judged<'_>) -> impl Iterator<Item = DownspoutId> {
    (0..input.network.downspouts().len()).map(DownspoutId::new)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example;
    use wetrun_facts::Facts;
    use wetrun_solver::{FrictionLaw, Scenario, TankState};
    use wetrun_units::{Intensity, Temperature};

    /// By hand: L0 5 m full; L1 full over 4 m of its climb, and of its 6 m fall from 3.0 to 1.0 m
    /// what lies under 2.5 m: 4.5 m if the water is taken level there; L2 9.3 m, L3 6 m full; the
    /// downspouts from 2.0 to 3.0 and from 1.5 to 2.5 m.
    #[test]
    fn the_standing_water_by_hand() {
        let network = example::network();
        let scenario = Scenario {
            law: FrictionLaw::DarcyWeisbach,
            temperature: Temperature::celsius(10.0),
            intensity: Intensity::ZERO,
            tanks: TankState::Full,
        };
        let steady = wetrun_solver::solve(&network, &scenario).unwrap();
        let facts = Facts::default();
        let verdict = crate::verdict(&network, &steady, &facts);
        let input = Judged {
            network: &network,
            scenario: &scenario,
            steady: &steady,
            spill_rains: &Default::default(),
            verdict: &verdict,
            facts: &facts,
            drains: None,
            mends: None,
        };
        let area_m2 = std::f64::consts::PI / 4.0 * 0.01;
        let lengths_m: Vec<f64> = stale(&input).iter().map(|v| v.to_m3() / area_m2).collect();
        for (found, by_hand) in lengths_m.iter().zip([5.0, 8.5, 9.3, 6.0, 1.0, 1.0]) {
            assert!((found - by_hand).abs() < 1e-9, "{lengths_m:?}");
        }
    }
}
