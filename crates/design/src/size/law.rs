//! What a piece of pipe asks for, for one flow and one bore: the laws as sums and thresholds.
//!
//! With its flow known, a line lifts the head to `max(downstream + loss, crest)` at its upstream
//! end: the inverts on the way that could break it are folded into one level, `crest`.

use super::Problem;
use wetrun_network::{Downspout, End, Line, LineEnd, Network, Pipe};
use wetrun_solver::laws::{head_loss, outfall, water};
use wetrun_solver::{FrictionLaw, Scenario, TankState};
use wetrun_units::{Flow, Length};

/// Levels are the same within this: a tenth of what a check allows.
pub(crate) const SAME_M: f64 = 1e-10;

/// A line of one bore that carries one flow.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Passage {
    /// Head lost from end to end where no invert breaks the pipe.
    pub(crate) loss_m: f64,
    /// The head at the upstream end is never below this.
    pub(crate) crest_m: f64,
    /// Specific energy at critical depth above the invert.
    critical_m: f64,
    /// Velocity head.
    velocity_head_m: f64,
}

impl Passage {
    /// The passage of `flow` (not negative) through `line`, upstream end given.
    pub(crate) fn new(
        scenario: &Scenario,
        line: &Line,
        pipe: &Pipe,
        flow_m3_per_s: f64,
        upstream: LineEnd,
    ) -> Self {
        let speed = head_loss::full_speed(Flow::m3_per_s(flow_m3_per_s), pipe.inside);
        let velocity_head_m = head_loss::fitting(1.0, speed).to_m();
        let critical_m =
            outfall::critical_energy(Flow::m3_per_s(flow_m3_per_s), pipe.inside).to_m();
        let length_m = line.length.to_m();
        let fittings = line.total_k() * velocity_head_m;
        let loss_m = friction_m(scenario, pipe, flow_m3_per_s, length_m) + fittings;
        let slope = loss_m / length_m;
        let [last, end] = match upstream {
            LineEnd::From => [line.profile.len() - 1, 0],
            LineEnd::To => [0, line.profile.len() - 1],
        };
        let tank = |end: End| matches!(end, End::Tank(_));
        let (downstream_is_tank, upstream_is_tank) = match upstream {
            LineEnd::From => (tank(line.to), tank(line.from)),
            LineEnd::To => (tank(line.from), tank(line.to)),
        };
        let upstream_at_m = line.profile[end].at.to_m();
        let mut crest_m = f64::NEG_INFINITY;
        for (index, station) in line.profile.iter().enumerate() {
            if (index == last && downstream_is_tank) || (index == end && upstream_is_tank) {
                continue;
            }
            let rest_m = (station.at.to_m() - upstream_at_m).abs();
            crest_m = crest_m.max(station.level.to_m() + critical_m + slope * rest_m);
        }
        Self { loss_m, crest_m, critical_m, velocity_head_m }
    }

    /// Head at the upstream end for a head at the downstream end.
    pub(crate) fn rise(&self, downstream_m: f64) -> f64 {
        (downstream_m + self.loss_m).max(self.crest_m)
    }

    /// The highest head at the downstream end that keeps the upstream end at or below a head;
    /// `None` where an invert holds it above that anyway.
    pub(crate) fn allowed(&self, upstream_m: f64) -> Option<f64> {
        (self.crest_m <= upstream_m + SAME_M).then_some(upstream_m - self.loss_m)
    }

    /// Total head at the tank end of a line, its invert there and the water level given.
    pub(crate) fn outfall(&self, invert_m: f64, water_m: Option<f64>) -> f64 {
        let free_m = invert_m + self.critical_m;
        water_m.map_or(free_m, |level_m| free_m.max(level_m + self.velocity_head_m))
    }
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
    let slope = friction_m(scenario, pipe, demand, 1.0);
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
    let next = |t: usize| overflow(t).and_then(|o| o.to).map(|to| to.index());
    let mut waiting = vec![0_usize; tanks.len()];
    (0..tanks.len()).filter_map(next).for_each(|to| waiting[to] += 1);
    let mut order: Vec<usize> = (0..tanks.len()).filter(|&t| waiting[t] == 0).collect();
    let mut receives = inflow_m3_per_s.to_vec();
    let mut done = 0;
    while let Some(&tank) = order.get(done) {
        done += 1;
        if let Some(to) = next(tank) {
            receives[to] += receives[tank].max(0.0);
            waiting[to] -= 1;
            if waiting[to] == 0 {
                order.push(to);
            }
        }
    }
    let mut levels = vec![None; tanks.len()];
    for &tank in order.iter().rev() {
        let Some(overflow) = overflow(tank) else { continue };
        let received = Flow::m3_per_s(receives[tank].max(0.0));
        let heads = overflow.pipe.as_ref().map(|pipe| {
            let free = outfall::overflow_head(received, pipe.inside, overflow.k);
            let across = outfall::drowned_overflow_head(received, pipe.inside, overflow.k);
            (free.to_m(), across.to_m())
        });
        let (free_m, across_m) = heads.unwrap_or_default();
        let beyond_m = next(tank).and_then(|to| levels[to]).unwrap_or(f64::NEG_INFINITY);
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

fn friction_m(scenario: &Scenario, pipe: &Pipe, flow_m3_per_s: f64, length_m: f64) -> f64 {
    let (flow, length) = (Flow::m3_per_s(flow_m3_per_s), Length::m(length_m));
    match scenario.law {
        FrictionLaw::DarcyWeisbach => {
            let roughness = pipe.roughness.unwrap_or(Length::ZERO);
            let viscosity = water::viscosity(scenario.temperature);
            head_loss::darcy_weisbach(flow, roughness, pipe.inside, length, viscosity).to_m()
        }
        FrictionLaw::HazenWilliams => {
            let c = pipe.c.unwrap_or(f64::NAN);
            head_loss::hazen_williams(flow, c, pipe.inside, length).to_m()
        }
    }
}
