//! Random networks of every kind the contract allows, from a seed.
#![allow(clippy::disallowed_methods)]

use super::*;
use wetrun_network::{Junction, JunctionKind, LineId, Opening, OpeningKind};

#[path = "../../../../tests/dice.rs"]
mod dice;

pub(crate) use dice::Dice;

/// What a random network may contain.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Kinds {
    pub(crate) loops: bool,
    pub(crate) tanks: usize,
    pub(crate) crests: bool,
    pub(crate) junctions: bool,
    pub(crate) overflows: bool,
    pub(crate) low_lips: bool,
    /// Vents and loose caps.
    pub(crate) openings: bool,
    pub(crate) rims: bool,
    pub(crate) most: usize,
}

pub(crate) const PLAIN_TREE: Kinds = Kinds {
    loops: false,
    tanks: 1,
    crests: false,
    junctions: false,
    overflows: false,
    low_lips: false,
    openings: false,
    rims: false,
    most: 8,
};

pub(crate) const EVERYTHING: Kinds = Kinds {
    loops: true,
    tanks: 4,
    crests: true,
    junctions: true,
    overflows: true,
    low_lips: true,
    openings: true,
    rims: true,
    most: 12,
};

const BORES: [f64; 6] = [0.05, 0.0779, 0.1, 0.10226, 0.15, 0.2];

/// A random network and scenario.
pub(crate) fn site(seed: u64, kinds: Kinds) -> (Network, Scenario) {
    let mut dice = Dice::cold(seed);
    for _ in 0..8 {
        dice.next();
    }
    let mut sketch = Sketch::new();
    let tanks = 1 + dice.below(kinds.tanks);
    let points = 1 + dice.below(kinds.most);
    let downspouts = 1 + dice.below(kinds.most);
    for _ in 0..downspouts {
        let high = if kinds.low_lips { dice.between(1.8, 5.0) } else { 60.0 };
        let foot = dice.between(-0.5, 1.0);
        let demand = if dice.chance(0.1) { 0.0 } else { 10f64.powf(dice.between(-5.0, -1.8)) };
        let mut one = downspout(high, foot, dice.pick(&BORES), demand);
        one.lip = Length::m(high + if dice.chance(0.5) { dice.between(0.0, 0.1) } else { 0.0 });
        one.k = if dice.chance(0.5) { dice.between(0.0, 2.0) } else { 0.0 };
        sketch = sketch.downspout(one);
    }
    for _ in 0..points {
        let level = if kinds.crests && dice.chance(0.2) {
            dice.between(1.5, 3.5)
        } else {
            dice.between(-1.0, 0.5)
        };
        sketch = sketch.point(level);
    }
    for t in 0..tanks {
        let inlet = dice.between(1.5, 3.0);
        let mut one = tank(inlet);
        if kinds.overflows && dice.chance(0.8) {
            let pipe = if dice.chance(0.8) { Some(dice.pick(&BORES)) } else { None };
            let to = if t > 0 && dice.chance(0.4) { Some(dice.below(t)) } else { None };
            one.overflow = Some(overflow(inlet + dice.between(-0.6, 0.4), pipe, to));
        }
        sketch = sketch.tank(one);
    }
    // A tree over points and tanks' first, then downspouts onto points, then more lines.
    let mut lines: Vec<(End, End)> = vec![(P(0), T(0))];
    for p in 1..points {
        lines.push((P(p), P(dice.below(p))));
    }
    for t in 1..tanks {
        lines.push((P(dice.below(points)), T(t)));
    }
    for d in 0..downspouts {
        lines.push((D(d), P(dice.below(points))));
    }
    if kinds.loops {
        for _ in 0..dice.below(4) {
            let (a, b) = (dice.below(points), dice.below(points));
            if a != b {
                lines.push((P(a), P(b)));
            }
        }
        if dice.chance(0.2) {
            lines.push((D(dice.below(downspouts)), T(dice.below(tanks))));
        }
    }
    for (a, b) in lines {
        let (from, to) = if dice.chance(0.5) { (a, b) } else { (b, a) };
        let bore = dice.pick(&BORES);
        let length = dice.between(0.5, 60.0);
        let k = if dice.chance(0.7) { dice.between(0.0, 4.0) } else { 0.0 };
        if kinds.crests && dice.chance(0.25) {
            let ends = [sketch.level(from).to_m(), sketch.level(to).to_m()];
            let top = dice.between(0.0, 3.5);
            let at = length * dice.between(0.1, 0.9);
            let profile = [(0.0, ends[0]), (at, top), (length, ends[1])];
            sketch = sketch.profiled(from, to, bore, k, &profile);
        } else {
            sketch = sketch.line(from, to, bore, length, k);
        }
    }
    if kinds.junctions {
        for p in 0..points {
            let here: Vec<usize> = (0..sketch.parts.lines.len())
                .filter(|&l| {
                    let line = &sketch.parts.lines[l];
                    line.from == P(p) || line.to == P(p)
                })
                .collect();
            if here.len() == 3 && dice.chance(0.6) {
                let kind = if dice.chance(0.5) { JunctionKind::Wye } else { JunctionKind::Tee };
                let branch = LineId::new(here[dice.below(3)]);
                sketch.parts.points[p].fitting = Some(Junction { kind, branch, added_k: 0.0 });
            }
        }
    }
    let law = dice.pick(&[FrictionLaw::DarcyWeisbach, FrictionLaw::HazenWilliams]);
    let mut storm = scenario(law);
    storm.tanks = if dice.chance(0.7) { TankState::Full } else { TankState::Empty };
    storm.temperature = Temperature::celsius(dice.between(0.0, 40.0));
    if kinds.openings {
        for point in &mut sketch.parts.points {
            if dice.chance(0.3) {
                let kind = dice.pick(&[OpeningKind::Vent, OpeningKind::Cap]);
                let level = Length::m(dice.between(1.5, 5.0).max(point.level.to_m()));
                point.opening = Some(Opening { kind, level });
            }
        }
    }
    if kinds.rims {
        for tank in &mut sketch.parts.tanks {
            let above = if dice.chance(0.1) { -0.1 } else { dice.between(0.0, 0.6) };
            let top = tank.overflow.as_ref().map_or(tank.inlet, |o| o.level) + Length::m(above);
            tank.rim = dice.chance(0.5).then_some(top);
        }
    }
    (sketch.network(), storm)
}

/// A mesh of up to `most` points, a line in five more than a tree has, with crests at a quarter of
/// its points and of its lines.
pub(crate) fn mesh(seed: u64, most: usize) -> (Network, Scenario) {
    let mut dice = Dice::cold(seed);
    let points = most / 2 + dice.below(most / 2);
    let downspouts = points / 2;
    let mut sketch = Sketch::new();
    for _ in 0..downspouts {
        let demand = 10f64.powf(dice.between(-5.0, -2.5));
        let high = dice.between(1.8, 5.0);
        sketch = sketch.downspout(downspout(high, dice.between(-0.5, 1.0), 0.0779, demand));
    }
    for _ in 0..points {
        let crest = dice.chance(0.25);
        sketch = sketch.point(if crest { dice.between(1.5, 3.5) } else { dice.between(-1.0, 0.5) });
    }
    for _ in 0..4 {
        sketch = sketch.tank(tank(dice.between(1.5, 3.0)));
    }
    let mut lines: Vec<(End, End)> = (1..points).map(|p| (P(p), P(dice.below(p)))).collect();
    lines.extend((0..4).map(|t| (P(t * points / 4), T(t))));
    lines.extend((0..downspouts).map(|d| (D(d), P(dice.below(points)))));
    for _ in 0..points / 5 {
        let (a, b) = (dice.below(points), dice.below(points));
        if a != b {
            lines.push((P(a), P(b)));
        }
    }
    for (from, to) in lines {
        let length = dice.between(0.5, 60.0);
        let bore = dice.pick(&BORES);
        if dice.chance(0.25) {
            let ends = [sketch.level(from).to_m(), sketch.level(to).to_m()];
            let crest = (length * dice.between(0.1, 0.9), dice.between(0.0, 3.5));
            let profile = [(0.0, ends[0]), crest, (length, ends[1])];
            sketch = sketch.profiled(from, to, bore, dice.between(0.0, 4.0), &profile);
        } else {
            sketch = sketch.line(from, to, bore, length, dice.between(0.0, 4.0));
        }
    }
    let law = dice.pick(&[FrictionLaw::DarcyWeisbach, FrictionLaw::HazenWilliams]);
    (sketch.network(), scenario(law))
}
