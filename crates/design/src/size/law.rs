//! What a piece of pipe asks for, for one flow and one bore: the laws as sums and thresholds.

use super::Problem;
use wetrun_network::{Downspout, Network, Pipe, cascade};
use wetrun_solver::laws::{head_loss, outfall};
use wetrun_solver::{Passage, Scenario, TankState, friction};
use wetrun_units::{Flow, Length};

/// Levels are the same within this: a tenth of what a check allows.
pub(crate) const SAME_M: f64 = 1e-10;

/// The highest head at the downstream end that keeps the upstream end at or below a head;
/// `None` where an invert holds it above that anyway.
pub(crate) fn allowed(passage: &Passage, upstream_m: f64) -> Option<f64> {
    let held = passage.crest().to_m() <= upstream_m + SAME_M;
    held.then_some(upstream_m - passage.loss().to_m())
}

/// The highest head at a downspout's foot at which it takes its whole demand and stands at
/// least the freeboard below its opening.
pub(crate) fn allowed_at_foot(
    scenario: &Scenario,
    downspout: &Downspout,
    pipe: &Pipe,
    freeboard: Length,
) -> f64 {
    let demand = demand_m3_per_s(scenario, downspout);
    let speed = head_loss::full_speed(Flow::m3_per_s(demand), pipe.inside);
    let slope = friction(scenario, pipe, Flow::m3_per_s(demand), Length::m(1.0)).to_m();
    let foot_m = downspout.foot.to_m();
    let fitting_m = head_loss::fitting(downspout.total_k(), speed).to_m();
    // Of every metre that the water stands over the foot, friction takes its share.
    let over_foot_m = downspout.opening().to_m() - freeboard.to_m() - foot_m;
    let stands_m =
        if over_foot_m > 0.0 { over_foot_m * (1.0 - slope).max(0.0) } else { over_foot_m };
    let spills_m = (downspout.spill_level().to_m() - foot_m) * (1.0 - slope);
    foot_m - fitting_m + stands_m.min(spills_m)
}

/// Raises a downspout's opening, its lip and its leaf head.
pub(crate) fn raise(downspout: &mut Downspout, by: Length) {
    downspout.outlet = downspout.outlet + by;
    downspout.lip = downspout.lip + by;
    downspout.leaf_head = downspout.leaf_head.map(|rim| rim + by);
}

/// What a downspout's roofs bring.
pub(crate) fn demand_m3_per_s(scenario: &Scenario, downspout: &Downspout) -> f64 {
    downspout.catchment.to_m2() * scenario.intensity.to_m_per_s()
}

/// Flows up to this stand still: a billionth of all demands, as closely as the solver balances.
pub(crate) fn still_m3_per_s(problem: &Problem) -> f64 {
    let demands = problem.network.downspouts().iter();
    1e-9 * demands.map(|d| demand_m3_per_s(&problem.scenario, d)).sum::<f64>()
}

/// The water level of each tank for what its lines bring, overflows added and no wall passed;
/// `None` where it stands empty.
pub(crate) fn water_levels(
    network: &Network,
    scenario: &Scenario,
    inflow_m3_per_s: &[f64],
) -> Vec<Option<f64>> {
    let tanks = network.tanks();
    let full = scenario.tanks == TankState::Full;
    let overflow = |t: usize| tanks[t].overflow.as_ref().filter(|_| full);
    let next: Vec<_> = (0..tanks.len()).map(|t| overflow(t).and_then(|o| o.to)).collect();
    let order = cascade(&next);
    let mut receives = inflow_m3_per_s.to_vec();
    for tank in &order {
        if let Some(to) = next[tank.index()] {
            receives[to.index()] += receives[tank.index()].max(0.0);
        }
    }
    let mut levels = vec![None; tanks.len()];
    for tank in order.iter().rev().map(|tank| tank.index()) {
        let Some(overflow) = overflow(tank) else { continue };
        let received = Flow::m3_per_s(receives[tank].max(0.0));
        let heads = overflow.pipe.as_ref().map(|pipe| {
            let free = outfall::overflow_head(received, pipe.inside, overflow.k);
            let across = outfall::drowned_overflow_head(received, pipe.inside, overflow.k);
            (free.to_m(), across.to_m())
        });
        let (free_m, across_m) = heads.unwrap_or_default();
        let beyond_m = next[tank].and_then(|to| levels[to.index()]).unwrap_or(f64::NEG_INFINITY);
        levels[tank] = Some((overflow.level.to_m() + free_m).max(beyond_m + across_m));
    }
    levels
}

/// Whether the water of some tank stands over its wall for sure.
pub(crate) fn over_a_rim(network: &Network, water_m: impl Fn(usize) -> Option<f64>) -> bool {
    network.tanks().iter().enumerate().any(|(index, tank)| {
        let rim_and_water = tank.rim.zip(water_m(index));
        rim_and_water.is_some_and(|(rim, water_m)| water_m > rim.to_m() + SAME_M)
    })
}

/// Speed over the full bore.
pub(crate) fn speed_m_per_s(pipe: &Pipe, flow_m3_per_s: f64) -> f64 {
    head_loss::full_speed(Flow::m3_per_s(flow_m3_per_s.abs()), pipe.inside).to_m_per_s()
}
