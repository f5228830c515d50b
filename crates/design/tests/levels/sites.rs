//! Random sites that pass with little in hand, so that limits lie near.

use crate::support::random::{Dice, EVERYTHING, Kinds, PLAIN_TREE, site};
use std::sync::Arc;
use wetrun_design::levels::{Drawn, Judgement, PointLevels};
use wetrun_network::{Network, Opening};
use wetrun_solver::{Scenario, Steady};
use wetrun_units::Length;
use wetrun_verdict::Verdict;

/// The freeboard of all of these sites.
pub(crate) const FREEBOARD: Length = Length::m(0.1);

/// Judges by the water alone.
#[derive(Debug)]
pub(crate) struct ByFreeboard(pub(crate) Length);

impl Judgement for ByFreeboard {
    fn verdict(&self, network: &Network, steady: &Steady) -> Verdict {
        Verdict::new(network, steady, self.0)
    }
}

/// A site judged by the water alone, with nothing standing at its points.
pub(crate) fn by_freeboard(network: Network, scenario: Scenario, freeboard: Length) -> Drawn {
    let own_ends = vec![[false; 2]; network.lines().len()];
    let points = vec![PointLevels::default(); network.points().len()];
    Drawn { network, scenario, own_ends, points, judge: Arc::new(ByFreeboard(freeboard)) }
}

/// Loops, tanks, crests, overflows and junctions in turn; openings are set by [`near_limits`].
pub(crate) const MIXED: Kinds = Kinds { low_lips: false, most: 5, ..EVERYTHING };

/// How many random sites a test looks at; `WETRUN_LONG=1` for the long run.
pub(crate) fn count(short: u64, long: u64) -> u64 {
    if std::env::var_os("WETRUN_LONG").is_some() { long } else { short }
}

/// A random site that passes: each opening is put a little more than the freeboard above the
/// standing level, some of them as leaf heads; some
/// line ends get levels of their own, and some points vents and caps, some tanks rims, with a
/// little in hand.
pub(crate) fn near_limits(seed: u64, kinds: Kinds) -> Option<Drawn> {
    let (network, scenario) = site(seed, kinds);
    let steady = wetrun_solver::solve(&network, &scenario).ok()?;
    let mut dice = Dice::cold(seed ^ 0xABCD);
    let mut parts = network.to_parts();
    for (downspout, state) in parts.downspouts.iter_mut().zip(&steady.downspouts) {
        if state.spilled.to_m3_per_s() > 1e-9 {
            return None;
        }
        let standing_m = state.standing_level.to_m().max(downspout.foot.to_m());
        let opening_m = standing_m + FREEBOARD.to_m() + dice.between(0.005, 0.3);
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
    let mut points = vec![PointLevels::default(); parts.points.len()];
    for ((point, levels), state) in parts.points.iter_mut().zip(&mut points).zip(&steady.points) {
        let above = |dice: &mut Dice| state.head + Length::m(dice.between(0.003, 0.4));
        levels.vent = dice.chance(0.15).then(|| above(&mut dice));
        levels.cap = dice.chance(0.15).then(|| above(&mut dice));
        point.opening = Opening::lowest(levels.vent, levels.cap);
    }
    for (tank, state) in parts.tanks.iter_mut().zip(&steady.tanks) {
        tank.rim = state
            .water_level
            .filter(|_| dice.chance(0.3))
            .map(|level| level + Length::m(dice.between(0.002, 0.3)));
    }
    let network = Network::build(parts).ok()?;
    let drawn = Drawn { own_ends, points, ..by_freeboard(network, scenario, FREEBOARD) };
    drawn.state().ok()?.passes().then_some(drawn)
}

/// Plain trees and mixed networks in turn.
pub(crate) fn any(seed: u64) -> Option<Drawn> {
    near_limits(seed, if seed.is_multiple_of(3) { PLAIN_TREE } else { MIXED })
}
