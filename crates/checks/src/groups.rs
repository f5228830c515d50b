//! What the groups of pipes that are joined without a tank have to do with tanks.

use std::collections::BTreeMap;
use wetrun_network::{End, Groups, Network, PlaceId, TankId};

/// For each group the highest inlet of the tanks that its lines run into, in metres.
pub(crate) fn highest_inlets_m(network: &Network, groups: &Groups) -> BTreeMap<PlaceId, f64> {
    let mut highest_m = BTreeMap::new();
    for (group, tanks) in tanks(network, groups) {
        let inlets_m = tanks.into_iter().map(|tank| network.tank(tank).inlet.to_m());
        highest_m.insert(group, inlets_m.fold(f64::NEG_INFINITY, f64::max));
    }
    highest_m
}

/// For each group the tanks that its lines run into, in file order.
pub(crate) fn tanks(network: &Network, groups: &Groups) -> BTreeMap<PlaceId, Vec<TankId>> {
    let mut tanks: BTreeMap<PlaceId, Vec<TankId>> = BTreeMap::new();
    for tank in (0..network.tanks().len()).map(TankId::new) {
        for (line, end) in network.meets(End::Tank(tank)) {
            let group = groups.of(network, network.line(line).end(end.other()));
            let of_group = tanks.entry(group).or_default();
            if of_group.last() != Some(&tank) {
                of_group.push(tank);
            }
        }
    }
    tanks
}
