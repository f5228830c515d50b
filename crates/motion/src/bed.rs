//! The bed of a reach: how high a surface stands that has gone back so far from one of its ends.

/// Level over distance from one end, down to the lowest place; beyond it the level stays.
#[derive(Clone, Debug)]
pub(crate) struct Bed {
    /// Distance from the end and level, the end first.
    stations: Vec<(f64, f64)>,
}

impl Bed {
    /// A bed from distances and levels along the whole reach, the end first.
    pub(crate) fn new(along: &[(f64, f64)]) -> Self {
        let mut stations = Vec::with_capacity(along.len());
        let mut low = f64::INFINITY;
        for &(at, level) in along {
            low = low.min(level);
            stations.push((at, low));
        }
        Self { stations }
    }

    /// Level of the end itself.
    pub(crate) fn top(&self) -> f64 {
        self.stations.first().map_or(0.0, |s| s.1)
    }

    /// How long the last stretch is, and how low it leads.
    pub(crate) fn last(&self) -> (f64, f64) {
        match self.stations[..] {
            [.., before, last] => (last.0 - before.0, last.1),
            _ => (0.0, self.top()),
        }
    }

    /// Level of a surface so far from the end, and the derivative by that distance: never above 0.
    pub(crate) fn level(&self, distance: f64) -> (f64, f64) {
        let mut before = self.stations[0];
        if distance <= before.0 {
            return (before.1, 0.0);
        }
        for &here in &self.stations[1..] {
            if distance < here.0 {
                let slope = (here.1 - before.1) / (here.0 - before.0);
                return (before.1 + slope * (distance - before.0), slope);
            }
            before = here;
        }
        (before.1, 0.0)
    }

    /// How far from the end the bed lies below a level: where a surface of that level stands.
    pub(crate) fn distance(&self, level: f64) -> f64 {
        let mut before = self.stations[0];
        if level >= before.1 {
            return 0.0;
        }
        for &here in &self.stations[1..] {
            if level >= here.1 {
                let share = (before.1 - level) / (before.1 - here.1);
                return before.0 + share * (here.0 - before.0);
            }
            before = here;
        }
        before.0
    }
}
