//! Limits of sites simple enough to be worked by hand.

use crate::sites::{ByFreeboard, by_freeboard};
use crate::support::{D, P, Sketch, T, downspout, overflow, scenario, tank};
use std::sync::Arc;
use wetrun_design::levels::{
    Broken, By, Drawn, Judgement, Limits, Schedule, SetPoint, Standing, review_as_built,
};
use wetrun_network::{DownspoutId, PointId, TankId};
use wetrun_solver::{FrictionLaw, TankState};
use wetrun_units::{Length, UnitSystem};
use wetrun_verdict::Cause;

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
    by_freeboard(network, scenario, Length::m(0.1))
}

fn schedule(drawn: &Drawn) -> Schedule {
    wetrun_design::levels::schedule(drawn, &[], UnitSystem::Si).unwrap()
}

fn of(schedule: &Schedule, set_point: SetPoint) -> Limits {
    schedule.of(set_point).unwrap().clone()
}

fn near(found: Option<Length>, expected_m: f64) -> bool {
    found.is_some_and(|found| (found.to_m() - expected_m).abs() < 1e-6)
}

#[test]
fn still_water_needs_no_calculation() {
    let schedule = schedule(&still());
    let of = |s| of(&schedule, s);
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
    let highest = |drawn: &Drawn| of(&schedule(drawn), overflow).highest;
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
    let one = of(&schedule(&drawn), SetPoint::Opening(D1));
    assert_eq!(one.set_point.key(&drawn.network), "leaf_head");
    assert!(near(one.lowest, 2.1) && one.highest.is_none());

    let moved = still().with(&[(SetPoint::Opening(D1), Length::m(2.3))]).unwrap();
    let this = &moved.network.downspouts()[0];
    assert!((this.lip.to_m() - this.outlet.to_m()).abs() < 1e-12);
    let moved = still().with(&[(SetPoint::Foot(D1), Length::m(0.2))]).unwrap();
    assert_eq!(moved.network.lines()[0].from_level(), Length::m(0.2), "line ends go along");
}

#[test]
fn a_site_that_fails_has_no_limits_but_ways_out() {
    let mut drawn = still();
    drawn.judge = Arc::new(ByFreeboard(Length::m(0.6)));
    let schedule = schedule(&drawn);
    assert!(schedule.set_points.iter().all(|l| l.lowest.is_none() && l.highest.is_none()));
    assert_eq!(schedule.tolerance_all, None);
    assert!(near(schedule.watertight_to.first().copied(), 2.5), "never above the opening");
    // The water stands 0.5 m below the opening where 0.6 m are asked for.
    let mend = |s| of(&schedule, s).mend;
    assert!(near(mend(SetPoint::Opening(D1)), 2.6));
    assert!(near(mend(SetPoint::Inlet(TankId::new(0))), 1.9));
    assert_eq!(mend(SetPoint::Foot(D1)), None);
}

/// The same with a full tank whose water stands at the overflow, above the inlet: it feeds the
/// line, so that still water stands at that level and leaves by what lies lower.
fn full(overflow_m: f64) -> Drawn {
    let mut parts = still().network.to_parts();
    parts.tanks[0].inlet = Length::m(1.0);
    parts.lines[1].profile[1].level = Length::m(1.0);
    parts.tanks[0].overflow = Some(overflow(overflow_m, None, None));
    let mut drawn = still();
    drawn.network = wetrun_network::Network::build(parts).unwrap();
    drawn.scenario.tanks = TankState::Full;
    drawn
}

/// The opening stands 0.6 m below the tank's water and runs over: for the first half metre of any
/// move water still stands at its lip, and nothing gets better.
#[test]
fn a_way_out_may_lie_beyond_moves_that_change_nothing() {
    let schedule = schedule(&full(3.1));
    assert!(!schedule.passes());
    assert!(near(of(&schedule, SetPoint::Overflow(TankId::new(0))).mend, 2.4));
    assert!(near(of(&schedule, SetPoint::Opening(D1)).mend, 3.2));
}

/// Printed to a millimetre, what is asked for is enough.
#[test]
fn a_way_out_is_rounded_so_that_it_is_one() {
    let mut drawn = still();
    drawn.judge = Arc::new(ByFreeboard(Length::m(0.600_3)));
    let schedule = schedule(&drawn);
    assert!(near(of(&schedule, SetPoint::Opening(D1)).mend, 2.601));
    assert!(near(of(&schedule, SetPoint::Inlet(TankId::new(0))).mend, 1.899));
}

/// Water stands at 2.000 m, so a vent or a cap may go down to there.
#[test]
fn a_vent_and_a_cap_stop_at_the_water() {
    let mut drawn = full(2.0);
    let point = PointId::new(0);
    drawn.points[0].vent = Some(Length::m(2.3));
    drawn.points[0].cap = Some(Length::m(2.2));
    drawn.points[0].drain_outlet = Some(Length::m(-0.8));
    // The levels are put in by a move to where they are.
    let drawn = drawn.with(&[(SetPoint::Vent(point), Length::m(2.3))]).unwrap();
    assert_eq!(drawn.network.points()[0].opening.unwrap().level, Length::m(2.2));
    let schedule = schedule(&drawn);
    for set_point in [SetPoint::Vent(point), SetPoint::Cap(point)] {
        let one = of(&schedule, set_point);
        assert!(near(one.lowest, 2.0) && one.highest.is_none(), "{one:?}");
        assert_eq!(one.low_stop.unwrap().by, By::Verdict(Some(Cause::Escape)));
    }
    let drain = of(&schedule, SetPoint::DrainOutlet(point));
    assert!(drain.lowest.is_none() && drain.highest.is_none() && drain.is_harmless());
    // The cap 0.2 m above the water stops the overflow before the opening does.
    assert!(near(of(&schedule, SetPoint::Overflow(TankId::new(0))).highest, 2.2));
    // Overflow high and cap low share those 0.2 m.
    assert!(near(schedule.tolerance_all, 0.1), "{:?}", schedule.tolerance_all);
}

/// 0.15 m of wall stand above the water.
#[test]
fn an_overflow_stops_at_the_rim() {
    let mut drawn = full(2.0);
    let mut parts = drawn.network.to_parts();
    parts.tanks[0].rim = Some(Length::m(2.15));
    parts.downspouts[0].catchment = wetrun_units::Area::m2(1.0);
    drawn.network = wetrun_network::Network::build(parts).unwrap();
    drawn.scenario.intensity = wetrun_units::Intensity::m_per_s(1e-7);
    let one = of(&schedule(&drawn), SetPoint::Overflow(TankId::new(0)));
    assert!(near(one.highest, 2.15), "{one:?}");
    assert_eq!(one.high_stop.unwrap().by, By::Verdict(Some(Cause::Rim)));
}

/// A rule that fails as soon as the point stands above -0.3 m.
#[derive(Debug)]
struct NoHigherThan;

impl Judgement for NoHigherThan {
    fn verdict(
        &self,
        network: &wetrun_network::Network,
        steady: &wetrun_solver::Steady,
    ) -> wetrun_verdict::Verdict {
        ByFreeboard(Length::m(0.1)).verdict(network, steady)
    }

    fn broken(&self, moved: &Drawn, _: &wetrun_solver::Steady) -> Vec<Broken> {
        let high = moved.network.points()[0].level.to_m() > -0.3;
        let broken = Broken { rule: "no-higher", at: "P1".to_owned(), fails: true };
        if high { vec![broken] } else { Vec::new() }
    }
}

#[test]
fn a_rule_stops_a_level_before_the_verdict_does() {
    let mut drawn = still();
    drawn.judge = Arc::new(NoHigherThan);
    let point = of(&schedule(&drawn), SetPoint::Point(PointId::new(0)));
    assert!(near(point.highest, 2.4), "the verdict's own limit stays: {point:?}");
    let stop = point.high_stop.unwrap();
    assert_eq!(stop.by, By::Rule("no-higher"));
    assert!((stop.level.to_m() + 0.3).abs() < 2e-6, "{stop:?}");
    // Where it does not pass as drawn, it does not turn.
    let drawn = drawn.with(&[(SetPoint::Point(PointId::new(0)), Length::m(-0.2))]).unwrap();
    let point = of(&schedule(&drawn), SetPoint::Point(PointId::new(0)));
    assert!(matches!(point.high_stop.unwrap().by, By::Verdict(_)));
}

#[test]
fn what_was_built_is_judged_in_three_words() {
    let drawn = still();
    let inlet = SetPoint::Inlet(TankId::new(0));
    let built = |inlet_m| review_as_built(&drawn, &[(inlet, Length::m(inlet_m))]).unwrap();
    assert_eq!(built(2.39).standing, Standing::Holds);
    let below = built(2.45);
    assert_eq!(below.standing, Standing::BelowTarget);
    assert!((below.deviations[0].effect.to_m() + 0.45).abs() < 1e-9);
    // 50 mm are lacking: the opening 50 mm higher mends it, or the inlet set again.
    let settled = [(inlet, Length::m(2.0))];
    let schedule = wetrun_design::levels::schedule(&below.built, &settled, UnitSystem::Si).unwrap();
    assert!(near(of(&schedule, SetPoint::Opening(D1)).mend, 2.55));
    assert!(near(of(&schedule, inlet).mend, 2.4));
    assert_eq!(below.set_back, [inlet]);
    assert_eq!(built(2.51).standing, Standing::Fails);
}

/// As built 0.1 m are in hand, and the inlet stands: the opening alone may lose all of them.
#[test]
fn the_tolerance_leaves_out_what_was_measured() {
    let inlet = SetPoint::Inlet(TankId::new(0));
    let built = review_as_built(&still(), &[(inlet, Length::m(2.3))]).unwrap();
    let settled = [(inlet, Length::m(2.0))];
    let schedule = wetrun_design::levels::schedule(&built.built, &settled, UnitSystem::Si).unwrap();
    assert!(near(schedule.tolerance_all, 0.1), "{:?}", schedule.tolerance_all);
}

/// Inlet 0.3 m high and opening 0.25 m low lack 0.15 m together: either set back is enough, and
/// the inlet did more harm.
#[test]
fn as_few_as_were_found_are_set_back() {
    let (inlet, opening) = (SetPoint::Inlet(TankId::new(0)), SetPoint::Opening(D1));
    let point = SetPoint::Point(PointId::new(0));
    let set_back = |moves: &[(SetPoint, f64)]| {
        let moves: Vec<_> = moves.iter().map(|(s, m)| (*s, Length::m(*m))).collect();
        review_as_built(&still(), &moves).unwrap().set_back
    };
    assert_eq!(set_back(&[(inlet, 2.3), (opening, 2.25), (point, -0.4)]), [inlet]);
    assert_eq!(set_back(&[(inlet, 2.5), (opening, 2.05)]), [inlet, opening]);
    assert!(set_back(&[(inlet, 2.3)]).is_empty());
}
