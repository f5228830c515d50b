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
    let mut known = Known::new(network);
    (0..network.downspouts().len())
        .map(|index| {
            let id = DownspoutId::new(index);
            let tanks = outlets.shares(End::Downspout(id), &mut known);
            let sum: f64 = tanks.iter().sum();
            if sum <= ROUNDING {
                let tank = steady.routes.route(network, id).tank;
                let whole = |tank: TankId| (tank.index(), Fraction::ratio(1.0));
                return tank.map(whole).into_iter().collect();
            }
            let counts = |share: f64| share > ROUNDING * sum;
            let whole: f64 = tanks.iter().copied().filter(|&share| counts(share)).sum();
            let shares = tanks.into_iter().enumerate().filter(|&(_, share)| counts(share));
            shares.map(|(tank, share)| (tank, Fraction::ratio(share / whole))).collect()
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

    fn of(&self, place: End) -> &[(End, f64)] {
        let list = match place {
            End::Downspout(id) => self.downspouts.get(id.index()),
            End::Point(id) => self.points.get(id.index()),
            End::Tank(_) => None,
        };
        list.map(Vec::as_slice).unwrap_or_default()
    }

    /// What share of the water at a place reaches each tank. Every place is worked out once, after
    /// those that its water goes on to: in a ring there are far more ways than places.
    fn shares(&self, from: End, known: &mut Known) -> Vec<f64> {
        let mut open = vec![from];
        while let Some(&place) = open.last() {
            let unknown = |to: &&(End, f64)| known.at(to.0) == Found::Not;
            let next: Vec<End> = match known.at(place) {
                Found::Not => self.of(place).iter().filter(unknown).map(|to| to.0).collect(),
                _ => Vec::new(),
            };
            known.begin(place);
            if next.is_empty() {
                open.pop();
                known.work_out(place, self.of(place));
            }
            open.extend(next);
        }
        known.of(from)
    }
}

/// Whether a place's shares are known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Found {
    Not,
    /// Asked for further down the water's way: what runs round in a circle reaches nothing.
    Begun,
    Yes,
}

/// The shares that are known, downspouts first, then points.
struct Known {
    downspouts: usize,
    found: Vec<Found>,
    shares: Vec<Vec<f64>>,
    tanks: usize,
}

impl Known {
    fn new(network: &Network) -> Self {
        let downspouts = network.downspouts().len();
        let places = downspouts + network.points().len();
        Self {
            downspouts,
            found: vec![Found::Not; places],
            shares: vec![Vec::new(); places],
            tanks: network.tanks().len(),
        }
    }

    fn place(&self, end: End) -> Option<usize> {
        match end {
            End::Downspout(id) => Some(id.index()),
            End::Point(id) => Some(self.downspouts + id.index()),
            End::Tank(_) => None,
        }
    }

    fn at(&self, end: End) -> Found {
        self.place(end).map_or(Found::Yes, |place| self.found[place])
    }

    fn begin(&mut self, end: End) {
        if let Some(place) = self.place(end).filter(|place| self.found[*place] == Found::Not) {
            self.found[place] = Found::Begun;
        }
    }

    fn of(&self, end: End) -> Vec<f64> {
        let mut shares = match self.place(end) {
            Some(place) => self.shares[place].clone(),
            None => Vec::new(),
        };
        shares.resize(self.tanks, 0.0);
        if let End::Tank(id) = end {
            shares[id.index()] = 1.0;
        }
        shares
    }

    fn work_out(&mut self, end: End, away: &[(End, f64)]) {
        let Some(place) = self.place(end).filter(|place| self.found[*place] != Found::Yes) else {
            return;
        };
        let sum: f64 = away.iter().map(|(_, flow)| flow).sum();
        let mut shares = vec![0.0; self.tanks];
        for (to, flow) in away {
            for (share, part) in shares.iter_mut().zip(self.of(*to)) {
                *share += part * flow / sum;
            }
        }
        self.shares[place] = shares;
        self.found[place] = Found::Yes;
    }
}
