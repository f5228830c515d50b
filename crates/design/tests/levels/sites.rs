//! Random sites that pass with little in hand, so that limits lie near.

use crate::support::random::{Dice, EVERYTHING, Kinds, PLAIN_TREE, site};
use wetrun_design::levels::Drawn;
use wetrun_network::Network;
use wetrun_units::Length;

/// Loops, tanks, crests, overflows and junctions in turn; openings are set by [`near_limits`].
pub(crate) const MIXED: Kinds = Kinds { low_lips: false, most: 5, ..EVERYTHING };

/// How many random sites a test looks at; `WETRUN_LONG=1` for the long run.
pub(crate) fn count(short: u64, long: u64) -> u64 {
    if std::env::var_os("WETRUN_LONG").is_some() { long } else { short }
}

/// A random site that passes: each opening is put a little more than the freeboard above the
/// standing level, some of them as leaf heads, and some line ends get levels of their own.
pub(crate) fn near_limits(seed: u64, kinds: Kinds) -> Option<Drawn> {
    let (network, scenario) = site(seed, kinds);
    let steady = wetrun_solver::solve(&network, &scenario).ok()?;
    let mut dice = Dice::new(seed ^ 0xABCD);
    let freeboard_m = 0.1;
    let mut parts = network.to_parts();
    for (downspout, state) in parts.downspouts.iter_mut().zip(&steady.downspouts) {
        if state.spilled.to_m3_per_s() > 1e-9 {
            return None;
        }
        let standing_m = state.standing_level.to_m().max(downspout.foot.to_m());
        let opening_m = standing_m + freeboard_m + dice.between(0.005, 0.3);
        downspout.outlet = Length::m(opening_m);
        downspout.lip = Length::m(opening_m + dice.pick(&[0.0, 0.05, 0.08]));
        if dice.chance(0.25) {
            downspout.leaf_head = Some(downspout.outlet);
            downspout.outlet = downspout.outlet + Length::m(0.5);
            downspout.lip = downspout.lip + Length::m(0.5);
        }
    }
    let mut own_ends = vec![[false; 2]; parts.lines.len()];
    for (line, own) in parts.lines.iter_mut().zip(&mut own_ends) {
        if dice.chance(0.15) {
            let low = Length::m(dice.between(-0.3, 0.0));
            if let Some(station) = line.profile.first_mut() {
                station.level = station.level + low;
                own[0] = true;
            }
        }
    }
    let network = Network::build(parts).ok()?;
    let drawn = Drawn { network, scenario, freeboard: Length::m(freeboard_m), own_ends };
    drawn.state().ok()?.passes().then_some(drawn)
}

/// Plain trees and mixed networks in turn.
pub(crate) fn any(seed: u64) -> Option<Drawn> {
    near_limits(seed, if seed.is_multiple_of(3) { PLAIN_TREE } else { MIXED })
}
