//! The pipes as a graph for the rules: neighbours, groups, and the level water rests at.

use ordered_float::OrderedFloat;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};
use wetrun_network::{DownspoutId, End, Line, LineId, Network, PointId, TankId};
use wetrun_solver::TankState;

/// The nodes of a network and what joins them. Downspouts come first, then points, then tanks.
pub(crate) struct Pipes<'a> {
    network: &'a Network,
    joined: Vec<Vec<(LineId, usize)>>,
    rest_m: Vec<f64>,
    group: Vec<usize>,
}

impl<'a> Pipes<'a> {
    /// The pipes of `network`, with rest levels for tanks that stand so.
    pub(crate) fn new(network: &'a Network, tanks: TankState) -> Self {
        let nodes = network.downspouts().len() + network.points().len() + network.tanks().len();
        let mut joined = vec![Vec::new(); nodes];
        for (index, line) in network.lines().iter().enumerate() {
            let (from, to) = (place(network, line.from), place(network, line.to));
            joined[from].push((LineId::new(index), to));
            joined[to].push((LineId::new(index), from));
        }
        let mut pipes = Self { network, joined, rest_m: Vec::new(), group: Vec::new() };
        pipes.rest_m = pipes.rest_levels(tanks);
        pipes.group = pipes.groups();
        pipes
    }

    /// The level water rests at in a downspout between storms, in metres.
    pub(crate) fn rest_at_downspout_m(&self, index: usize) -> f64 {
        self.rest_m[index]
    }

    /// The level water rests at over a node, in metres.
    pub(crate) fn rest_at_m(&self, end: End) -> f64 {
        self.rest_m[place(self.network, end)]
    }

    /// The level water rests at over each station of a line, in metres.
    pub(crate) fn rest_along_m(&self, line: &Line) -> Vec<f64> {
        let climb = |start_m: f64, levels: &mut dyn Iterator<Item = f64>| -> Vec<f64> {
            levels
                .scan(start_m, |highest_m, level_m| {
                    *highest_m = highest_m.max(level_m);
                    Some(*highest_m)
                })
                .collect()
        };
        let levels = || line.profile.iter().map(|s| s.level.to_m());
        let forth = climb(self.rest_m[place(self.network, line.from)], &mut levels());
        let mut back = climb(self.rest_m[place(self.network, line.to)], &mut levels().rev());
        back.reverse();
        forth.iter().zip(back).map(|(a, b)| a.min(b)).collect()
    }

    /// Lines at a node, each with the node at its other end.
    pub(crate) fn at(&self, end: End) -> &[(LineId, usize)] {
        &self.joined[place(self.network, end)]
    }

    /// The place of an end among all nodes.
    pub(crate) fn place(&self, end: End) -> usize {
        place(self.network, end)
    }

    /// What stands at a place among all nodes.
    pub(crate) fn end(&self, place: usize) -> End {
        let (d, p) = (self.network.downspouts().len(), self.network.points().len());
        if place < d {
            End::Downspout(DownspoutId::new(place))
        } else if place < d + p {
            End::Point(PointId::new(place - d))
        } else {
            End::Tank(TankId::new(place - d - p))
        }
    }

    /// The group of lines that a downspout or point stands in: all that water can reach
    /// without passing a tank.
    pub(crate) fn group(&self, end: End) -> usize {
        self.group[place(self.network, end)]
    }

    /// For each group the highest inlet of the tanks that its lines run into, in metres.
    pub(crate) fn highest_inlets_m(&self) -> BTreeMap<usize, f64> {
        let mut highest_m = BTreeMap::new();
        for (index, tank) in self.network.tanks().iter().enumerate() {
            for &(_, other) in self.at(End::Tank(TankId::new(index))) {
                let highest = highest_m.entry(self.group[other]).or_insert(f64::NEG_INFINITY);
                *highest = tank.inlet.to_m().max(*highest);
            }
        }
        highest_m
    }

    /// For each group the tanks that its lines run into, in file order.
    pub(crate) fn tanks_of_groups(&self) -> BTreeMap<usize, Vec<TankId>> {
        let mut tanks: BTreeMap<usize, Vec<TankId>> = BTreeMap::new();
        for tank in (0..self.network.tanks().len()).map(TankId::new) {
            for &(_, other) in self.at(End::Tank(tank)) {
                let of_group = tanks.entry(self.group[other]).or_default();
                if of_group.last() != Some(&tank) {
                    of_group.push(tank);
                }
            }
        }
        tanks
    }

    /// For each node the lowest level over which its water can leave into a tank: the least,
    /// over all ways, of the highest invert on the way.
    fn rest_levels(&self, tanks: TankState) -> Vec<f64> {
        let first_tank = self.network.downspouts().len() + self.network.points().len();
        let mut rest_m = vec![f64::INFINITY; self.joined.len()];
        let mut queue = Queue::default();
        for (index, tank) in self.network.tanks().iter().enumerate() {
            let full_m = match (&tank.overflow, tanks) {
                (Some(overflow), TankState::Full) => overflow.level.to_m(),
                _ => f64::NEG_INFINITY,
            };
            rest_m[first_tank + index] = full_m;
            queue.add(full_m, first_tank + index);
        }
        while let Some((level_m, node)) = queue.least() {
            if level_m > rest_m[node] {
                continue;
            }
            for &(line, other) in &self.joined[node] {
                let over_m = level_m.max(crest_m(self.network.line(line)));
                if other < first_tank && over_m < rest_m[other] {
                    rest_m[other] = over_m;
                    queue.add(over_m, other);
                }
            }
        }
        rest_m
    }

    fn groups(&self) -> Vec<usize> {
        let first_tank = self.network.downspouts().len() + self.network.points().len();
        let mut group: Vec<usize> = vec![usize::MAX; self.joined.len()];
        for start in 0..first_tank {
            if group[start] != usize::MAX {
                continue;
            }
            group[start] = start;
            let mut stack = vec![start];
            while let Some(node) = stack.pop() {
                for &(_, other) in &self.joined[node] {
                    if other < first_tank && group[other] == usize::MAX {
                        group[other] = start;
                        stack.push(other);
                    }
                }
            }
        }
        group
    }
}

/// The highest invert of a line, in metres.
pub(crate) fn crest_m(line: &Line) -> f64 {
    line.profile.iter().map(|s| s.level.to_m()).fold(f64::NEG_INFINITY, f64::max)
}

/// The part of a straight pipe between two levels that stands full of water at rest.
pub(crate) fn wet_fraction(levels_m: (f64, f64), rest_m: f64) -> f64 {
    let (low_m, high_m) = (levels_m.0.min(levels_m.1), levels_m.0.max(levels_m.1));
    if rest_m >= high_m && rest_m > low_m {
        1.0
    } else if rest_m <= low_m {
        0.0
    } else {
        (rest_m - low_m) / (high_m - low_m)
    }
}

fn place(network: &Network, end: End) -> usize {
    match end {
        End::Downspout(id) => id.index(),
        End::Point(id) => network.downspouts().len() + id.index(),
        End::Tank(id) => network.downspouts().len() + network.points().len() + id.index(),
    }
}

/// Nodes by the least number found for each so far.
#[derive(Default)]
pub(crate) struct Queue(BinaryHeap<Reverse<(OrderedFloat<f64>, usize)>>);

impl Queue {
    /// Adds a node with a number.
    pub(crate) fn add(&mut self, number: f64, node: usize) {
        self.0.push(Reverse((OrderedFloat(number), node)));
    }

    /// Takes the node of the least number.
    pub(crate) fn least(&mut self) -> Option<(f64, usize)> {
        self.0.pop().map(|Reverse((number, node))| (number.0, node))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example;
    use wetrun_units::{Intensity, Temperature};

    /// By hand: D0 and P0 stand behind the crest at 3.0 m, D1 and P1 behind the inlet at 2.5 m.
    #[test]
    fn rest_levels_by_hand_and_by_the_solver() {
        let network = example::network();
        let pipes = Pipes::new(&network, TankState::Full);
        assert_eq!((pipes.rest_at_downspout_m(0), pipes.rest_at_downspout_m(1)), (3.0, 2.5));
        let scenario = wetrun_solver::Scenario {
            law: wetrun_solver::FrictionLaw::DarcyWeisbach,
            temperature: Temperature::celsius(10.0),
            intensity: Intensity::ZERO,
            tanks: TankState::Full,
        };
        let steady = wetrun_solver::solve(&network, &scenario).unwrap();
        let first_point = network.downspouts().len();
        for (index, point) in steady.points.iter().enumerate() {
            assert_eq!(point.rest_level.map(|l| l.to_m()), Some(pipes.rest_m[first_point + index]));
        }
        // Over the falling part of L1 water stands at the tank's level, not at the crest's.
        assert_eq!(pipes.rest_along_m(&network.lines()[1]), [3.0, 3.0, 2.5]);
    }

    #[test]
    fn wet_part_of_a_slope() {
        // From 1 m to 3 m under water at 2 m: half; above or below it: none or all.
        assert_eq!(wet_fraction((1.0, 3.0), 2.0), 0.5);
        assert_eq!(wet_fraction((3.0, 1.0), 2.0), 0.5);
        assert_eq!(wet_fraction((1.0, 3.0), 0.0), 0.0);
        assert_eq!(wet_fraction((1.0, 3.0), 4.0), 1.0);
    }
}
