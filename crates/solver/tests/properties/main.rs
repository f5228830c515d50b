//! What must hold of any steady state, over random networks of every kind, by the laws in their
//! plain form: water is kept, energy falls along every line as it should, every lip, outfall and
//! still line is on the right side of its condition, and the answer does not hang on how the
//! network is written down.
#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod along;
mod changed;
mod grown;
mod monotone;
mod plain;
#[path = "../support/mod.rs"]
mod support;
mod walk;

use proptest::prelude::*;
use support::random::{Dice, EVERYTHING, Kinds, site};
use wetrun_network::{DownspoutId, End, LineId, Network, Parts, PointId, TankId};
use wetrun_solver::{Scenario, Steady};
use wetrun_units::Length;

/// Random networks each test looks at: more by `WETRUN_RANDOM_CASES`.
pub(crate) fn cases() -> u32 {
    std::env::var("WETRUN_RANDOM_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(200)
}

pub(crate) fn config() -> ProptestConfig {
    // The same networks every time: a new fault shows where it was made.
    let rng_seed = proptest::test_runner::RngSeed::Fixed(7);
    ProptestConfig {
        cases: cases(),
        failure_persistence: None,
        rng_seed,
        ..ProptestConfig::default()
    }
}

/// What a kind of network contains, by the bits of a number.
fn kinds(bits: u8) -> Kinds {
    Kinds {
        loops: bits & 1 != 0,
        tanks: if bits & 2 != 0 { 4 } else { 1 },
        crests: bits & 4 != 0,
        junctions: bits & 8 != 0,
        overflows: bits & 16 != 0,
        low_lips: bits & 32 != 0,
        openings: bits & 64 != 0,
        rims: bits & 128 != 0,
        ..EVERYTHING
    }
}

pub(crate) fn parts(network: &Network) -> Parts {
    Parts {
        downspouts: network.downspouts().to_vec(),
        points: network.points().to_vec(),
        lines: network.lines().to_vec(),
        tanks: network.tanks().to_vec(),
    }
}

fn solved(network: &Network, scenario: &Scenario) -> Result<Steady, TestCaseError> {
    wetrun_solver::solve(network, scenario).map_err(|e| TestCaseError::fail(e.to_string()))
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn every_law_holds_everywhere(seed in 0..1_000_000_000_u64, bits in any::<u8>()) {
        let (network, scenario) = site(seed, kinds(bits));
        let state = solved(&network, &scenario)?;
        walk::continuity(&network, &state)?;
        walk::lines(&network, &scenario, &state)?;
        walk::downspouts(&network, &scenario, &state)?;
        walk::tanks(&network, &scenario, &state)?;
        walk::openings(&network, &state)?;
    }

    /// Heads move with the datum, flows do not move at all.
    #[test]
    fn the_datum_does_not_matter(
        seed in 0..1_000_000_000_u64, bits in any::<u8>(), up in -50.0..150.0_f64,
    ) {
        let (network, scenario) = site(seed, kinds(bits));
        let first = solved(&network, &scenario)?;
        let mut moved = parts(&network);
        let up = Length::m(up);
        for d in &mut moved.downspouts {
            d.outlet = d.outlet + up;
            d.lip = d.lip + up;
            d.foot = d.foot + up;
            d.leaf_head = d.leaf_head.map(|rim| rim + up);
        }
        for p in &mut moved.points {
            p.level = p.level + up;
            if let Some(opening) = &mut p.opening {
                opening.level = opening.level + up;
            }
        }
        for station in moved.lines.iter_mut().flat_map(|l| &mut l.profile) {
            station.level = station.level + up;
        }
        for t in &mut moved.tanks {
            t.inlet = t.inlet + up;
            t.rim = t.rim.map(|rim| rim + up);
            if let Some(overflow) = &mut t.overflow {
                overflow.level = overflow.level + up;
            }
        }
        let second = solved(&Network::build(moved).unwrap(), &scenario)?;
        same(&network, &first, &second, up.to_m())?;
    }

    /// A line drawn the other way round carries the same water with the other sign.
    #[test]
    fn the_way_a_line_is_drawn_does_not_matter(
        seed in 0..1_000_000_000_u64, bits in any::<u8>(), which in any::<u64>(),
    ) {
        let (network, scenario) = site(seed, kinds(bits));
        let first = solved(&network, &scenario)?;
        let turned = |line: usize| which >> (line % 64) & 1 == 1;
        let mut parts = parts(&network);
        for (_, line) in parts.lines.iter_mut().enumerate().filter(|(i, _)| turned(*i)) {
            std::mem::swap(&mut line.from, &mut line.to);
            let length = line.length;
            line.profile.reverse();
            for station in &mut line.profile {
                station.at = length - station.at;
            }
        }
        let mut second = solved(&Network::build(parts).unwrap(), &scenario)?;
        for (_, line) in second.lines.iter_mut().enumerate().filter(|(i, _)| turned(*i)) {
            line.flow = line.flow * -1.0;
            std::mem::swap(&mut line.from_head, &mut line.to_head);
        }
        same(&network, &first, &second, 0.0)?;
    }

    /// Other tags and another order of everything: the same answer, in that order.
    #[test]
    fn names_and_order_do_not_matter(seed in 0..1_000_000_000_u64, bits in any::<u8>()) {
        order(seed, bits)?;
    }
}

/// Solves a random network as it is written and in another order.
fn order(seed: u64, bits: u8) -> Result<(), TestCaseError> {
    let (network, scenario) = site(seed, kinds(bits));
    let first = solved(&network, &scenario)?;
    let mut dice = Dice::cold(seed ^ 0xA5A5);
    let mut shuffle = |n: usize| {
        let mut order: Vec<usize> = (0..n).collect();
        for i in (1..n).rev() {
            order.swap(i, dice.below(i + 1));
        }
        order
    };
    let old = parts(&network);
    let (d, p) = (shuffle(old.downspouts.len()), shuffle(old.points.len()));
    let (l, t) = (shuffle(old.lines.len()), shuffle(old.tanks.len()));
    let place = |order: &[usize], old: usize| order.iter().position(|&o| o == old).unwrap();
    let end = |end: End| match end {
        End::Downspout(id) => End::Downspout(DownspoutId::new(place(&d, id.index()))),
        End::Point(id) => End::Point(PointId::new(place(&p, id.index()))),
        End::Tank(id) => End::Tank(TankId::new(place(&t, id.index()))),
    };
    let mut new = Parts {
        downspouts: d.iter().map(|&i| old.downspouts[i].clone()).collect(),
        points: p.iter().map(|&i| old.points[i].clone()).collect(),
        lines: l.iter().map(|&i| old.lines[i].clone()).collect(),
        tanks: t.iter().map(|&i| old.tanks[i].clone()).collect(),
    };
    for line in &mut new.lines {
        (line.from, line.to) = (end(line.from), end(line.to));
        line.tag = format!("other {}", line.tag);
    }
    for junction in new.points.iter_mut().filter_map(|p| p.fitting.as_mut()) {
        junction.branch = LineId::new(place(&l, junction.branch.index()));
    }
    for overflow in new.tanks.iter_mut().filter_map(|t| t.overflow.as_mut()) {
        overflow.to = overflow.to.map(|to| TankId::new(place(&t, to.index())));
    }
    let other = solved(&Network::build(new).unwrap(), &scenario)?;
    let mut second = first.clone();
    for (new, &old) in d.iter().enumerate() {
        second.downspouts[old] = other.downspouts[new].clone();
    }
    for (new, &old) in p.iter().enumerate() {
        second.points[old] = other.points[new].clone();
    }
    for (new, &old) in l.iter().enumerate() {
        second.lines[old] = other.lines[new].clone();
    }
    for (new, &old) in t.iter().enumerate() {
        second.tanks[old] = other.tanks[new].clone();
    }
    for opening in &mut second.openings {
        let new = place(&p, opening.at.index());
        let found = other.openings.iter().find(|o| o.at.index() == new).unwrap();
        (opening.headroom, opening.escapes) = (found.headroom, found.escapes);
    }
    same(&network, &first, &second, 0.0)
}

/// Heads agree to 1e-6 m. Flows agree to 1e-6 of the whole where the loss tells them: along a line
/// that loses next to nothing, a flow cannot be told from heads, so there only its loss counts.
fn same(network: &Network, a: &Steady, b: &Steady, up_m: f64) -> Result<(), TestCaseError> {
    let total: f64 = a.downspouts.iter().map(|d| d.demand.to_m3_per_s()).sum::<f64>().max(1e-4);
    let near = |what: &str, x: f64, y: f64, within: f64| {
        let off = (x - y).abs();
        if off <= within {
            Ok(())
        } else {
            Err(TestCaseError::fail(format!("{what}: {x} {y} off {off:e}")))
        }
    };
    for (d, (x, y)) in network.downspouts().iter().zip(a.downspouts.iter().zip(&b.downspouts)) {
        near(&d.tag, x.foot_head.to_m() + up_m, y.foot_head.to_m(), 1e-6)?;
        near(&d.tag, x.standing_level.to_m() + up_m, y.standing_level.to_m(), 1e-6)?;
        near(&d.tag, x.spilled.to_m3_per_s(), y.spilled.to_m3_per_s(), 1e-5 * total)?;
    }
    for (p, (x, y)) in network.points().iter().zip(a.points.iter().zip(&b.points)) {
        near(&p.tag, x.head.to_m() + up_m, y.head.to_m(), 1e-6)?;
    }
    for (index, p) in network.points().iter().enumerate() {
        let id = PointId::new(index);
        match (a.rest.point(id), b.rest.point(id)) {
            (Some(x), Some(y)) => near(&p.tag, x.to_m() + up_m, y.to_m(), 1e-9)?,
            (x, y) => prop_assert_eq!(x.is_some(), y.is_some(), "rest level of {}", p.tag),
        }
    }
    for ((id, _), (x, y)) in network.openings().zip(a.openings.iter().zip(&b.openings)) {
        let tag = &network.point(id).tag;
        near(tag, x.headroom.to_m(), y.headroom.to_m(), 1e-6)?;
        near(tag, x.escapes.to_m3_per_s(), y.escapes.to_m3_per_s(), 1e-5 * total)?;
    }
    for (t, (x, y)) in network.tanks().iter().zip(a.tanks.iter().zip(&b.tanks)) {
        near(&t.tag, x.inflow.to_m3_per_s(), y.inflow.to_m3_per_s(), 1e-5 * total)?;
        near(&t.tag, x.over_rim.to_m3_per_s(), y.over_rim.to_m3_per_s(), 1e-5 * total)?;
        if let (Some(x), Some(y)) = (x.water_level, y.water_level) {
            near(&t.tag, x.to_m() + up_m, y.to_m(), 1e-6)?;
        }
    }
    for (l, (x, y)) in network.lines().iter().zip(a.lines.iter().zip(&b.lines)) {
        // A line that next to nothing runs in shows a crest's level or what stands at its end.
        let runs = |flow: f64| flow.abs() > 1e-9 * total;
        if !runs(x.flow.to_m3_per_s()) || !runs(y.flow.to_m3_per_s()) {
            continue;
        }
        near(&l.tag, x.from_head.to_m() + up_m, y.from_head.to_m(), 1e-6)?;
        near(&l.tag, x.to_head.to_m() + up_m, y.to_head.to_m(), 1e-6)?;
    }
    Ok(())
}

/// A tank that feeds a low gutter has nothing to overflow: the tank below it gets nothing from it.
#[test]
fn a_tank_that_feeds_does_not_overflow() {
    use support::{D, Sketch, T, downspout, overflow, scenario, tank};
    let (mut high, mut low) = (tank(2.0), tank(1.0));
    high.overflow = Some(overflow(3.0, None, Some(1)));
    low.overflow = Some(overflow(1.2, Some(0.1), None));
    let network = Sketch::new()
        .downspout(downspout(2.5, 0.0, 0.1, 0.0))
        .tank(high)
        .tank(low)
        .line(D(0), T(0), 0.1, 20.0, 0.5)
        .network();
    let mut storm = scenario(wetrun_solver::FrictionLaw::HazenWilliams);
    storm.tanks = wetrun_solver::TankState::Full;
    let state = support::solve(&network, &storm);
    assert!(state.tanks[0].inflow.to_m3_per_s() < 0.0);
    assert_eq!(state.tanks[1].inflow.to_m3_per_s(), 0.0);
    assert_eq!(state.tanks[1].water_level, Some(Length::m(1.2)));
}

/// A branch that feeds both legs of a run alike sends half of its water each way.
#[test]
fn a_tee_fed_by_its_branch_divides_evenly() {
    use support::{D, P, Sketch, T, downspout, scenario, tank};
    use wetrun_network::{Junction, JunctionKind};
    for kind in [JunctionKind::Tee, JunctionKind::Wye] {
        let mut sketch = Sketch::new()
            .downspout(downspout(9.0, 0.0, 0.1, 0.006))
            .point(0.0)
            .tank(tank(2.0))
            .tank(tank(2.0))
            .line(D(0), P(0), 0.1, 5.0, 0.0)
            .line(P(0), T(0), 0.1, 10.0, 0.0)
            .line(P(0), T(1), 0.1, 10.0, 0.0);
        sketch.parts.points[0].fitting =
            Some(Junction { kind, branch: LineId::new(0), added_k: 0.0 });
        let storm = scenario(wetrun_solver::FrictionLaw::HazenWilliams);
        let state = support::solve(&sketch.network(), &storm);
        for line in [1, 2] {
            let flow = state.lines[line].flow.to_m3_per_s();
            assert!((flow - 0.003).abs() < 1e-8, "{kind:?} {flow}");
        }
    }
}
