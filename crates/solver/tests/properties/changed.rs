//! A prepared network whose parts are changed answers as one prepared anew, to the last bit.

use super::{config, kinds, parts, support};
use proptest::prelude::*;
use support::random::{Dice, site};
use support::{overflow, pipe};
use wetrun_network::{DownspoutId, LineId, Network, Opening, Parts, Point, PointId, TankId};
use wetrun_solver::{NotTaken, Prepared, Scenario};
use wetrun_units::{Area, Intensity, Length};

const BORES: [f64; 4] = [0.06, 0.09, 0.12, 0.16];

/// A level up to 0.3 m from one.
fn moved(dice: &mut Dice, level: Length) -> Length {
    level + Length::m(dice.between(-0.3, 0.3))
}

/// Changes some of the parts, in all that may change.
fn change(dice: &mut Dice, parts: &mut Parts) {
    for line in &mut parts.lines {
        if dice.chance(0.6) {
            continue;
        }
        line.pipe = pipe(dice.pick(&BORES));
        line.k = dice.between(0.0, 3.0);
        for station in &mut line.profile {
            station.level = moved(dice, station.level);
        }
    }
    for downspout in &mut parts.downspouts {
        if dice.chance(0.6) {
            continue;
        }
        downspout.pipe = pipe(dice.pick(&BORES));
        downspout.catchment = Area::m2(downspout.catchment.to_m2() * dice.between(0.3, 3.0));
        downspout.foot = downspout.foot - Length::m(dice.between(0.0, 0.3));
        downspout.lip = downspout.lip + Length::m(dice.between(0.0, 0.3));
    }
    for point in &mut parts.points {
        if dice.chance(0.6) {
            continue;
        }
        let by = Length::m(dice.between(-0.3, 0.3));
        let opening = point.opening.map(|opening| Opening { level: opening.level + by, ..opening });
        *point = Point { level: point.level + by, opening, ..point.clone() };
    }
    for tank in &mut parts.tanks {
        if dice.chance(0.6) {
            continue;
        }
        tank.inlet = moved(dice, tank.inlet);
        let to = tank.overflow.as_ref().and_then(|overflow| overflow.to);
        if to.is_some() || dice.chance(0.5) {
            let bore = dice.chance(0.7).then(|| dice.pick(&BORES));
            let mut other = overflow(moved(dice, tank.inlet).to_m(), bore, None);
            other.to = to;
            tank.overflow = Some(other);
        }
        tank.rim = tank.rim.map(|rim| moved(dice, rim));
    }
}

/// Takes over every part of a network that differs.
fn take(prepared: &mut Prepared, other: &Network) -> Result<(), NotTaken> {
    let now = prepared.network().clone();
    let differ = |&l: &usize| now.lines()[l] != other.lines()[l];
    let lines: Vec<_> = (0..now.lines().len())
        .filter(differ)
        .map(|l| (LineId::new(l), other.lines()[l].clone()))
        .collect();
    prepared.set_lines(lines)?;
    for d in (0..now.downspouts().len()).filter(|&d| now.downspouts()[d] != other.downspouts()[d]) {
        prepared.set_downspout(DownspoutId::new(d), other.downspouts()[d].clone())?;
    }
    for p in (0..now.points().len()).filter(|&p| now.points()[p] != other.points()[p]) {
        prepared.set_point(PointId::new(p), other.points()[p].clone())?;
    }
    for t in (0..now.tanks().len()).filter(|&t| now.tanks()[t] != other.tanks()[t]) {
        prepared.set_tank(TankId::new(t), other.tanks()[t].clone())?;
    }
    Ok(())
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn a_changed_network_answers_as_one_prepared_anew(seed in 0u64..100_000, bits: u8) {
        let (first, storm) = site(seed, kinds(bits));
        let mut dice = Dice::cold(seed);
        let mut prepared = Prepared::new(&first, &storm).unwrap();
        let mut all = parts(&first);
        for _ in 0..3 {
            // What a search leaves behind tells nothing to the next.
            let _ = prepared.steady();
            change(&mut dice, &mut all);
            let Ok(network) = Network::build(all.clone()) else { break };
            let rain = storm.intensity.to_m_per_s() * dice.between(0.2, 4.0);
            let scenario = Scenario { intensity: Intensity::m_per_s(rain), ..storm };
            take(&mut prepared, &network).unwrap();
            prepared.set_intensity(scenario.intensity);
            let mut anew = Prepared::new(&network, &scenario).unwrap();
            prop_assert_eq!(prepared.network(), &network);
            prop_assert_eq!(prepared.rest(), anew.rest());
            prop_assert_eq!(prepared.steady(), anew.steady());
        }
        let network = prepared.network().clone();
        let mut scenario = storm;
        scenario.intensity = Intensity::m_per_s(0.5 * storm.intensity.to_m_per_s());
        prepared.set_intensity(scenario.intensity);
        let anew = Prepared::new(&network, &scenario).unwrap();
        prop_assert_eq!(prepared.spill_rains(), anew.spill_rains());
    }
}

/// Tags and joints stay, and what no network may hold is refused: then all stays as it is.
#[test]
fn what_joins_otherwise_is_not_taken() {
    let (network, storm) = site(3, kinds(0b0000_0011));
    let mut prepared = Prepared::new(&network, &storm).unwrap();
    let line = network.lines()[0].clone();
    let mut turned = line.clone();
    (turned.from, turned.to) = (line.to, line.from);
    let mut renamed = line.clone();
    renamed.tag = "another".to_owned();
    let mut narrow = line.clone();
    narrow.pipe.inside = Length::ZERO;
    for other in [turned, renamed, narrow] {
        let refused = prepared.set_lines([(LineId::new(0), other)]).unwrap_err();
        assert!(matches!(refused, NotTaken::Problems(_)), "{refused}");
        assert_eq!(prepared.network(), &network);
    }
    let mut bare = line;
    (bare.pipe.roughness, bare.pipe.c) = (None, None);
    let refused = prepared.set_lines([(LineId::new(0), bare)]).unwrap_err();
    assert!(matches!(refused, NotTaken::Lacks(_)), "{refused}");
    let mut tank = network.tanks()[0].clone();
    tank.overflow = Some(overflow(1.0, None, Some(0)));
    assert!(prepared.set_tank(TankId::new(0), tank).is_err());
    let mut point = network.points()[0].clone();
    let level = point.level;
    point.opening = Some(Opening { kind: wetrun_network::OpeningKind::Vent, level });
    assert!(prepared.set_point(PointId::new(0), point).is_err());
    assert_eq!(prepared.network(), &network);
}
