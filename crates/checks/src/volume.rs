//! How much water stands in the pipes between storms.

use crate::Judged;
use wetrun_network::{DownspoutId, End, Groups, LineId, PlaceId};
use wetrun_solver::StandingWater;
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

/// The water of a group of lines by its level: how much stands in each thin layer.
pub(crate) struct Layers {
    bottom_m: f64,
    thickness_m: f64,
    layers_m3: Vec<f64>,
}

/// Layers from the lowest water of a group to its highest.
const LAYERS: usize = 4000;

impl Layers {
    /// The water of the group of lines `group`.
    pub(crate) fn new(input: &Judged<'_>, groups: &Groups, group: PlaceId) -> Self {
        let columns = columns(input, groups, group);
        let bottom_m = columns.iter().map(|c| c.low.to_m()).fold(f64::INFINITY, f64::min);
        let top_m = columns.iter().map(|c| c.high.to_m()).fold(f64::NEG_INFINITY, f64::max);
        let thickness_m = ((top_m - bottom_m) / LAYERS as f64).max(f64::MIN_POSITIVE);
        let mut layers_m3 = vec![0.0; LAYERS];
        for column in columns {
            let layer = |level_m: f64| (level_m - bottom_m) / thickness_m;
            let (low, high) = (layer(column.low.to_m()), layer(column.high.to_m()));
            let last = LAYERS - 1;
            if high - low < 1e-9 {
                layers_m3[(low as usize).min(last)] += column.volume.to_m3();
                continue;
            }
            for (index, layer_m3) in
                layers_m3.iter_mut().enumerate().take(high as usize + 1).skip(low as usize)
            {
                let here = index as f64;
                let part = (high.min(here + 1.0) - low.max(here)).max(0.0) / (high - low);
                *layer_m3 += column.volume.to_m3() * part;
            }
        }
        Self { bottom_m, thickness_m, layers_m3 }
    }

    /// The layers above a level, each with the level of its middle and its water in m³.
    pub(crate) fn above(&self, level_m: f64) -> impl Iterator<Item = (f64, f64)> {
        self.layers_m3.iter().enumerate().filter_map(move |(index, &m3)| {
            let low_m = self.bottom_m + self.thickness_m * index as f64;
            let high_m = low_m + self.thickness_m;
            let part = ((high_m - level_m.max(low_m)) / self.thickness_m).clamp(0.0, 1.0);
            (part > 0.0 && m3 > 0.0).then(|| ((high_m + level_m.max(low_m)) / 2.0, m3 * part))
        })
    }
}

/// The standing water of a group of lines.
fn columns(input: &Judged<'_>, groups: &Groups, group: PlaceId) -> Vec<StandingWater> {
    let (network, rest) = (input.network, &input.steady.rest);
    let in_group = |end: End| !matches!(end, End::Tank(_)) && groups.of(network, end) == group;
    let lines = line_ids(input).filter(|&id| {
        let line = network.line(id);
        in_group(line.from) || in_group(line.to)
    });
    let downspouts = downspout_ids(input).filter(|&id| in_group(End::Downspout(id)));
    let in_downspouts = downspouts.filter_map(|id| rest.in_downspout(network, id));
    lines.flat_map(|id| rest.in_line(network, id)).chain(in_downspouts).collect()
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
            mends: false,
        };
        let area_m2 = std::f64::consts::PI / 4.0 * 0.01;
        let lengths_m: Vec<f64> = stale(&input).iter().map(|v| v.to_m3() / area_m2).collect();
        for (found, by_hand) in lengths_m.iter().zip([5.0, 8.5, 9.3, 6.0, 1.0, 1.0]) {
            assert!((found - by_hand).abs() < 1e-9, "{lengths_m:?}");
        }
        let layers = Layers::new(&input, &network.groups(), PlaceId::new(0));
        let total_m3: f64 = layers.above(0.0).map(|(_, m3)| m3).sum();
        assert!((total_m3 / area_m2 - 30.8).abs() < 1e-6, "{}", total_m3 / area_m2);
    }
}
