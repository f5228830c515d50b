//! A tank that is set lower, with the ends of its lines and the tops of its risers.

use crate::levels::{OwnEnds, SetPoint};
use wetrun_network::{End, LineEnd, LineId, Network, TankId};
use wetrun_units::Length;

/// Inverts this close to a line's end are the level top of a riser, which moves with it.
const LEVEL_TOP_M: f64 = 1e-3;

/// What goes down with a tank's inlet: the inlet itself, ends of its lines with levels of their own,
/// and the level tops of risers that bend over to it. A crest that stands higher stays.
pub(crate) fn inlet(network: &Network, own_ends: &OwnEnds, tank: TankId) -> Vec<SetPoint> {
    let mut all = vec![SetPoint::Inlet(tank)];
    for (index, line) in network.lines().iter().enumerate() {
        let id = LineId::new(index);
        let own = own_ends.get(index).copied().unwrap_or_default();
        let last = line.profile.len() - 1;
        for (end, own, side) in [(line.from, own[0], LineEnd::From), (line.to, own[1], LineEnd::To)]
        {
            if end != End::Tank(tank) {
                continue;
            }
            all.extend(own.then_some(SetPoint::End(id, side)));
            let top = line.end_level(side);
            let inward: Vec<usize> = match side {
                LineEnd::From => (1..last).collect(),
                LineEnd::To => (1..last).rev().collect(),
            };
            let level =
                |station: &usize| (line.profile[*station].level - top).to_m().abs() <= LEVEL_TOP_M;
            let tops = inward.into_iter().take_while(level);
            all.extend(tops.map(|station| SetPoint::Station(id, station)));
        }
    }
    all
}

/// A tank's overflow, where it has one.
pub(crate) fn overflow(network: &Network, tank: TankId) -> Option<SetPoint> {
    network.tank(tank).overflow.as_ref().map(|_| SetPoint::Overflow(tank))
}

/// The network with a tank's inlet and overflow so much lower, and what goes down with them.
pub(crate) fn lowered(network: &Network, tank: TankId, by: Length) -> Option<Network> {
    let own_ends = standing_apart(network);
    let mut moves = inlet(network, &own_ends, tank);
    moves.extend(overflow(network, tank));
    let mut parts = network.to_parts();
    for set_point in moves {
        let level = set_point.level(network, &[]) - by;
        set_point.put(&mut parts, &mut [], &own_ends, level);
    }
    Network::build(parts).ok()
}

/// The ends of lines that do not stand at the level of what they are joined to.
fn standing_apart(network: &Network) -> OwnEnds {
    let level = |end: End| match end {
        End::Downspout(id) => network.downspout(id).foot,
        End::Point(id) => network.point(id).level,
        End::Tank(id) => network.tank(id).inlet,
    };
    let apart = |end: End, at: Length| level(end) != at;
    let each = network.lines().iter();
    each.map(|l| [apart(l.from, l.from_level()), apart(l.to, l.to_level())]).collect()
}
