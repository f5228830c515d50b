//! What inflow at a line's upper end carries silt through it while drains stand open.

use super::{Inflow, opened};
use wetrun_facts::Facts;
use wetrun_motion::ShutInlet;
use wetrun_network::{LineId, Network, Parts, PointId};
use wetrun_site::Site;
use wetrun_solver::{Scenario, TankState};
use wetrun_units::{Area, Flow, Intensity, Speed};

/// A system whose drains stand open in dry weather, its tanks taken as empty and drowned inlets as
/// shut.
pub(super) struct Opened {
    parts: Parts,
    /// Whether every drain could be opened.
    open: bool,
    scenario: Scenario,
}

/// So much more is poured in than the speed asks for: it is reached, and not only approached.
const A_LITTLE: f64 = 1e-3;
/// So many times the flow at that speed is poured in at the most.
const MOST: f64 = 4.0;
const TRIES: u32 = 12;

impl Opened {
    pub(super) fn new(
        site: &Site,
        facts: &Facts,
        scenario: &Scenario,
        open: &[PointId],
        shut: &[ShutInlet],
    ) -> Self {
        // A rain of 1 m/s falls where water is poured in, and nowhere else.
        let intensity = Intensity::m_per_s(1.0);
        let scenario = Scenario { intensity, tanks: TankState::Full, ..*scenario };
        let mut parts = site.network.to_parts();
        for downspout in &mut parts.downspouts {
            downspout.catchment = Area::ZERO;
        }
        for tank in &mut parts.tanks {
            tank.overflow = None;
        }
        for inlet in shut {
            parts.plug(inlet.line, inlet.end);
        }
        let drains = open.iter().map(|at| {
            let drain = opened(site, facts, *at)?;
            parts.open_drain(*at, drain.k, drain.outlet, false)
        });
        let all = drains.collect::<Option<Vec<_>>>().is_some();
        Self { parts, open: all, scenario }
    }

    /// The least that does it for a line, held on: what fills its bore at that speed where all of it
    /// has one way down, more where it divides.
    pub(super) fn needs(&self, line: usize, carries: Speed) -> Inflow {
        let id = LineId::new(line);
        let bore_m = self.parts.lines[line].pipe.inside.to_m();
        let area_m2 = core::f64::consts::FRAC_PI_4 * bore_m * bore_m;
        let asked = area_m2 * carries.to_m_per_s() * (1.0 + A_LITTLE);
        let flow = Flow::m3_per_s(asked);
        let passes = |poured: f64| self.passes(id, poured).unwrap_or(0.0) - asked;
        let short = |miss: f64| miss < -0.5 * A_LITTLE * asked;
        let (mut low, mut high) = (asked, asked);
        let mut at_low = passes(low);
        let mut at_high = at_low;
        while short(at_high) && high < MOST * asked {
            (low, at_low) = (high, at_high);
            high *= 2.0;
            at_high = passes(high);
        }
        if short(at_high) {
            return Inflow { flow, does: false };
        }
        for _ in 0..TRIES {
            if high - low <= A_LITTLE * high {
                break;
            }
            let share = (at_low / (at_low - at_high)).clamp(0.1, 0.9);
            let middle = low + share * (high - low);
            let miss = passes(middle);
            if short(miss) {
                (low, at_low) = (middle, miss);
            } else {
                (high, at_high) = (middle, miss);
            }
        }
        Inflow { flow: Flow::m3_per_s(high), does: true }
    }

    /// What passes a line where so much is poured in at its upper end, without sign, m³/s.
    fn passes(&self, id: LineId, poured: f64) -> Option<f64> {
        let mut parts = self.open.then(|| self.parts.clone())?;
        let line = &parts.lines[id.index()];
        let upper = line.upper();
        parts.pour(id, upper, Area::m2(poured));
        let network = Network::build(parts).ok()?;
        let steady = wetrun_solver::solve(&network, &self.scenario).ok()?;
        Some(steady.lines[id.index()].flow.to_m3_per_s().abs())
    }
}
