//! High and low places along the pipes: where air stays, and where water does.

use ordered_float::OrderedFloat;
use std::cmp::Reverse;
use std::collections::BinaryHeap;
use wetrun_network::{DownspoutId, End, LineId, Network, PointId};

/// Levels closer than this count as the same.
const FLAT_M: f64 = 1e-6;

/// A place on the pipes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Spot {
    /// A downspout's foot or a point.
    Node(End),
    /// Where a line enters a tank.
    TankEnd,
    /// A station of a line's profile between its ends.
    Along(LineId, usize),
}

/// A high or a low place: one spot, or several joined by level pipe.
#[derive(Clone, Debug)]
pub(crate) struct Extreme {
    /// The spots.
    pub(crate) spots: Vec<Spot>,
    /// Their level, in metres.
    pub(crate) level_m: f64,
    /// How far the pipe must fall (or rise) before it leads on; infinite where it never does.
    pub(crate) height_m: f64,
}

/// Every invert of a network, joined as the pipes join them.
pub(crate) struct Terrain {
    spots: Vec<(Spot, f64)>,
    joined: Vec<Vec<usize>>,
}

impl Terrain {
    /// The inverts of `network`.
    pub(crate) fn new(network: &Network) -> Self {
        let mut terrain = Self { spots: Vec::new(), joined: Vec::new() };
        for (index, downspout) in network.downspouts().iter().enumerate() {
            let end = End::Downspout(DownspoutId::new(index));
            terrain.add(Spot::Node(end), downspout.foot.to_m());
        }
        for (index, point) in network.points().iter().enumerate() {
            terrain.add(Spot::Node(End::Point(PointId::new(index))), point.level.to_m());
        }
        for (index, line) in network.lines().iter().enumerate() {
            let last = line.profile.len().saturating_sub(1);
            let mut before: Option<usize> = None;
            for (station, s) in line.profile.iter().enumerate() {
                let level_m = s.level.to_m();
                let here = match station {
                    0 => terrain.end(network, line.from, level_m),
                    s if s == last => terrain.end(network, line.to, level_m),
                    s => terrain.add(Spot::Along(LineId::new(index), s), level_m),
                };
                if let Some(before) = before {
                    terrain.joined[before].push(here);
                    terrain.joined[here].push(before);
                }
                before = Some(here);
            }
        }
        terrain
    }

    /// High places between lower ones, except where the pipe is open to the air.
    pub(crate) fn humps(&self) -> Vec<Extreme> {
        let open = |spot: Spot| matches!(spot, Spot::TankEnd | Spot::Node(End::Downspout(_)));
        self.extremes(1.0, open).into_iter().filter(|e| !e.spots.iter().any(|&s| open(s))).collect()
    }

    /// Low places between higher ones.
    pub(crate) fn sags(&self) -> Vec<Extreme> {
        let all = self.extremes(-1.0, |_| false).into_iter();
        all.filter(|e| !e.spots.contains(&Spot::TankEnd)).collect()
    }

    fn add(&mut self, spot: Spot, level_m: f64) -> usize {
        self.spots.push((spot, level_m));
        self.joined.push(Vec::new());
        self.spots.len() - 1
    }

    fn end(&mut self, network: &Network, end: End, level_m: f64) -> usize {
        match end {
            End::Downspout(id) => id.index(),
            End::Point(id) => network.downspouts().len() + id.index(),
            End::Tank(_) => self.add(Spot::TankEnd, level_m),
        }
    }

    /// Places higher (`sign` 1) or lower (-1) than all around them.
    fn extremes(&self, sign: f64, open: impl Fn(Spot) -> bool) -> Vec<Extreme> {
        let mut seen = vec![false; self.spots.len()];
        let mut found = Vec::new();
        for start in 0..self.spots.len() {
            if seen[start] {
                continue;
            }
            let level = self.spots[start].1;
            let mut flat = vec![start];
            let mut is_extreme = true;
            let mut has_side = false;
            let mut next = 0;
            seen[start] = true;
            while let Some(&here) = flat.get(next) {
                next += 1;
                for &there in &self.joined[here] {
                    let step = sign * (self.spots[there].1 - level);
                    if step.abs() <= FLAT_M {
                        if !seen[there] {
                            seen[there] = true;
                            flat.push(there);
                        }
                    } else if step > 0.0 {
                        is_extreme = false;
                    } else {
                        has_side = true;
                    }
                }
            }
            if is_extreme && has_side {
                let height_m = self.way_on(&flat, sign, &open);
                let spots = flat.iter().map(|&i| self.spots[i].0).collect();
                found.push(Extreme { spots, level_m: level, height_m });
            }
        }
        found
    }

    /// How far one must go down (for `sign` 1) from a level stretch before the pipe climbs
    /// past it or is open.
    fn way_on(&self, flat: &[usize], sign: f64, open: &impl Fn(Spot) -> bool) -> f64 {
        let top = sign * self.spots[flat[0]].1;
        let mut reached = vec![f64::NEG_INFINITY; self.spots.len()];
        // Ways on by their lowest place so far: the one that falls least comes first.
        let mut queue: BinaryHeap<(OrderedFloat<f64>, Reverse<usize>)> =
            flat.iter().map(|&spot| (OrderedFloat(top), Reverse(spot))).collect();
        while let Some((OrderedFloat(lowest), Reverse(spot))) = queue.pop() {
            let here = sign * self.spots[spot].1;
            if here > top + FLAT_M || open(self.spots[spot].0) {
                return top - lowest;
            }
            for &there in &self.joined[spot] {
                let through = lowest.min(sign * self.spots[there].1);
                if through > reached[there] {
                    reached[there] = through;
                    queue.push((OrderedFloat(through), Reverse(there)));
                }
            }
        }
        f64::INFINITY
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example;
    use wetrun_network::{End, LineId, PointId};

    /// By hand: the one hump is the crest of L1 at 3.0 m. The nearest opening is the foot of D0
    /// behind the sag at 1.8 m, 1.2 m further down; the other way leads through P1 at 1.0 m.
    #[test]
    fn the_crest_is_a_hump() {
        let humps = Terrain::new(&example::network()).humps();
        assert_eq!(humps.len(), 1);
        assert_eq!(humps[0].spots, [Spot::Along(LineId(1), 1)]);
        assert_eq!(humps[0].level_m, 3.0);
        assert!((humps[0].height_m - 1.2).abs() < 1e-12);
    }

    /// By hand: P0 at 1.8 m lies 1.2 m under the crest that leads on to P1, the lowest place.
    #[test]
    fn the_low_points_are_sags() {
        let sags = Terrain::new(&example::network()).sags();
        let at = |index: u32| [Spot::Node(End::Point(PointId(index)))];
        assert_eq!((sags[0].spots.as_slice(), sags[1].spots.as_slice()), (&at(0)[..], &at(1)[..]));
        assert!((sags[0].height_m - 1.2).abs() < 1e-12);
        assert!(sags[1].height_m.is_infinite());
        assert_eq!(sags.len(), 2);
    }
}
