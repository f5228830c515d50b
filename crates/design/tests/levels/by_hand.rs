//! Limits of sites simple enough to be worked by hand.

use crate::support::{D, P, Sketch, T, downspout, overflow, point, scenario, tank};
use wetrun_design::levels::{Drawn, SetPoint, Verdict, review_as_built, schedule};
use wetrun_network::{DownspoutId, PointId, TankId};
use wetrun_solver::{FrictionLaw, TankState};
use wetrun_units::Length;

const D1: DownspoutId = DownspoutId::new(0);

/// Without rain water stands at the tank's inlet: 2.000 m. The opening stands at 2.500 m, the
/// freeboard is 0.100 m, so 0.400 m are in hand.
fn still() -> Drawn {
    let network = Sketch::new()
        .downspout(downspout(2.5, 0.0, 0.1, 0.0))
        .point(-0.5)
        .tank(tank(2.0))
        .line(D(0), P(0), 0.1, 10.0, 0.0)
        .line(P(0), T(0), 0.1, 10.0, 0.0)
        .network();
    let scenario = scenario(FrictionLaw::DarcyWeisbach);
    Drawn { network, scenario, freeboard: Length::m(0.1), own_ends: vec![[false; 2]; 2] }
}

fn near(found: Option<Length>, expected_m: f64) -> bool {
    found.is_some_and(|found| (found.to_m() - expected_m).abs() < 1e-6)
}

#[test]
fn still_water_needs_no_calculation() {
    let schedule = schedule(&still()).unwrap();
    let of = |s| *schedule.set_points.iter().find(|l| l.set_point == s).unwrap();
    let inlet = of(SetPoint::Inlet(TankId::new(0)));
    assert!(near(inlet.highest, 2.4) && inlet.lowest.is_none());
    assert!((inlet.effect.if_high.to_m() + 0.001).abs() < 1e-9);
    assert!((inlet.effect.if_low.to_m() - 0.001).abs() < 1e-9);
    let opening = of(SetPoint::Opening(D1));
    assert!(near(opening.lowest, 2.1) && opening.highest.is_none());
    // A point becomes a crest once it stands above the inlet; then 0.4 m are left.
    let point = of(SetPoint::Point(PointId::new(0)));
    assert!(near(point.highest, 2.4) && point.lowest.is_none() && point.effect.is_harmless());
    // The foot likewise, and it may not stand above the opening.
    assert!(near(of(SetPoint::Foot(D1)).highest, 2.4));
    // Opening low and inlet high share what is in hand.
    assert!(near(schedule.tolerance_all, 0.2));
    // Standing level and freeboard.
    assert!(near(schedule.watertight_to.first().copied(), 2.1));
}

#[test]
fn an_overflow_counts_where_the_tank_stands_full() {
    let mut parts = still().network.to_parts();
    parts.tanks[0].overflow = Some(overflow(1.9, None, None));
    let mut drawn = still();
    drawn.network = wetrun_network::Network::build(parts).unwrap();
    let overflow = SetPoint::Overflow(TankId::new(0));
    let highest = |drawn: &Drawn| {
        let schedule = schedule(drawn).unwrap();
        schedule.set_points.iter().find(|l| l.set_point == overflow).unwrap().highest
    };
    assert!(highest(&drawn).is_none(), "an empty tank has no water level");
    drawn.scenario.tanks = TankState::Full;
    assert!(near(highest(&drawn), 2.4));
}

#[test]
fn a_leaf_head_stops_below_the_gutter_and_a_lip_goes_along() {
    let mut parts = still().network.to_parts();
    parts.downspouts[0].leaf_head = Some(Length::m(2.45));
    let mut drawn = still();
    drawn.network = wetrun_network::Network::build(parts).unwrap();
    let found = schedule(&drawn).unwrap();
    let one = found.set_points.iter().find(|l| l.set_point == SetPoint::Opening(D1)).unwrap();
    assert_eq!(one.set_point.key(&drawn.network), "leaf_head");
    assert!(near(one.lowest, 2.1) && one.highest.is_none());

    let moved = still().with(&[(SetPoint::Opening(D1), Length::m(2.3))]).unwrap();
    let this = &moved.network.downspouts()[0];
    assert!((this.lip.to_m() - this.outlet.to_m()).abs() < 1e-12);
    let moved = still().with(&[(SetPoint::Foot(D1), Length::m(0.2))]).unwrap();
    assert_eq!(moved.network.lines()[0].from_level(), Length::m(0.2), "line ends go along");
}

#[test]
fn a_site_that_fails_has_no_limits() {
    let mut drawn = still();
    drawn.freeboard = Length::m(0.6);
    let schedule = schedule(&drawn).unwrap();
    assert!(schedule.set_points.iter().all(|l| l.lowest.is_none() && l.highest.is_none()));
    assert_eq!(schedule.tolerance_all, None);
    assert!(near(schedule.watertight_to.first().copied(), 2.5), "never above the opening");
}

#[test]
fn what_was_built_is_judged_in_three_words() {
    let drawn = still();
    let inlet = SetPoint::Inlet(TankId::new(0));
    let built = |inlet_m| review_as_built(&drawn, &[(inlet, Length::m(inlet_m))]).unwrap();
    assert_eq!(built(2.39).verdict, Verdict::GoOn);
    let below = built(2.45);
    assert_eq!(below.verdict, Verdict::BelowTarget);
    assert!((below.deviations[0].effect.to_m() + 0.45).abs() < 1e-9);
    assert_eq!(below.unmeasured.len(), 3);
    // 50 mm are lacking: the opening 50 mm higher mends it, and nothing else not yet measured.
    assert_eq!(below.win_back.len(), 1);
    assert_eq!(below.win_back[0].set_point, SetPoint::Opening(D1));
    assert!((below.win_back[0].to.to_m() - 2.55).abs() < 1e-6);
    assert_eq!(built(2.51).verdict, Verdict::Stop);
    let _ = point(0.0);
}
