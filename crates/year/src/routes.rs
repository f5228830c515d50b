//! Which tank each downspout's water reaches in the steady storm, by shares where it divides.

use wetrun_network::{DownspoutId, End, Network, TankId};
use wetrun_solver::Steady;
use wetrun_units::Fraction;

/// A share below this is what rounding left over.
const ROUNDING: f64 = 1e-9;

/// For each downspout the tanks its water reaches, by index, with shares that sum to 1. A downspout
/// that takes nothing in that storm goes by the route of the fewest lines.
pub fn ways(network: &Network, steady: &Steady) -> Vec<Vec<(usize, Fraction)>> {
    let outlets = Outlets::new(network, steady);
    (0..network.downspouts().len())
        .map(|index| {
            let id = DownspoutId::new(index);
            let mut tanks = vec![0.0; network.tanks().len()];
            outlets.follow(End::Downspout(id), &mut tanks, network.lines().len());
            let sum: f64 = tanks.iter().sum();
            if sum <= ROUNDING {
                let tank = steady.routes.route(network, id).tank;
                return tank
                    .map(TankId::index)
                    .map(|t| (t, Fraction::ratio(1.0)))
                    .into_iter()
                    .collect();
            }
            let shares = tanks.iter().enumerate().filter(|(_, share)| **share > 0.0);
            shares.map(|(tank, share)| (tank, Fraction::ratio(share / sum))).collect()
        })
        .collect()
}

/// The lines that carry water away from each downspout and point, with their flows.
struct Outlets {
    downspouts: Vec<Vec<(End, f64)>>,
    points: Vec<Vec<(End, f64)>>,
}

impl Outlets {
    fn new(network: &Network, steady: &Steady) -> Self {
        let mut outlets = Self {
            downspouts: vec![Vec::new(); network.downspouts().len()],
            points: vec![Vec::new(); network.points().len()],
        };
        for (line, state) in network.lines().iter().zip(&steady.lines) {
            let flow = state.flow.to_m3_per_s();
            let (away, to) = if flow >= 0.0 { (line.from, line.to) } else { (line.to, line.from) };
            let list = match away {
                End::Downspout(id) => outlets.downspouts.get_mut(id.index()),
                End::Point(id) => outlets.points.get_mut(id.index()),
                End::Tank(_) => None,
            };
            if let Some(list) = list.filter(|_| flow != 0.0) {
                list.push((to, flow.abs()));
            }
        }
        outlets
    }

    /// Adds to each tank what reaches it of a share that starts at `from`.
    fn follow(&self, from: End, tanks: &mut [f64], most_steps: usize) {
        let mut open = vec![(from, 1.0, 0)];
        while let Some((at, share, steps)) = open.pop() {
            let away = match at {
                End::Tank(id) => {
                    if let Some(tank) = tanks.get_mut(id.index()) {
                        *tank += share;
                    }
                    continue;
                }
                End::Downspout(id) => self.downspouts.get(id.index()),
                End::Point(id) => self.points.get(id.index()),
            };
            let away = away.map(Vec::as_slice).unwrap_or_default();
            let sum: f64 = away.iter().map(|(_, flow)| flow).sum();
            if steps <= most_steps && share >= ROUNDING {
                open.extend(away.iter().map(|(to, flow)| (*to, share * flow / sum, steps + 1)));
            }
        }
    }
}
