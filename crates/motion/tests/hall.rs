//! Two systems against their equations written down by hand and integrated by a general library
//! (`tests/oracle`), and the first against its table without inertia.
#![allow(clippy::unwrap_used, clippy::disallowed_methods)]

mod support;

use std::sync::atomic::{AtomicUsize, Ordering};
use support::*;
use wetrun_motion::{NotFollowed, Pace, Passed, Scene, Watch, storm};
use wetrun_network::{Network, Parts, Tank};
use wetrun_units::{Length, Time};

/// Six shafts of 76.2 mm, 6 m apart on a line of 101.6 mm that ends 10 m on, under water at level 0;
/// what the line loses, f = 0.02 and its fittings, stands in coefficients.
fn hall() -> Network {
    let bore = 0.1016;
    let downspouts = (0..6).map(|i| downspout(&format!("D{i}"), -3.0, 1.5, 1.5, 0.0762)).collect();
    let loss = |length: f64, k: f64| 0.02 * length / bore + k;
    let flat = [(0.0, -3.0), (6.0, -3.0)];
    let mut lines: Vec<_> = (0..5)
        .map(|i| line(&format!("L{i}"), d(i), d(i + 1), bore, &flat, loss(6.0, 0.5)))
        .collect();
    // The end under water costs a velocity head itself: 2 in all.
    let rising = [(0.0, -3.0), (10.0, -1.0)];
    lines.push(line("L5", d(5), t(0), bore, &rising, loss(10.0, 1.0)));
    network(Parts { downspouts, lines, tanks: vec![brim("T", -1.0, 0.0)], ..Parts::default() })
}

/// The nested hour of a published rain table, 12 blocks of 5 min, mm/h.
const NESTED: [f64; 12] =
    [20.7, 23.8, 28.4, 48.1, 70.4, 197.2, 107.3, 54.9, 43.3, 25.8, 22.1, 19.5];

fn over_the_hall(lag_s: f64, pace: &Pace) -> Passed {
    let network = hall();
    let scene = scene(&network, (0..6).map(|i| roof(30.0, i, lag_s)).collect());
    let mut rains: Vec<(f64, f64)> =
        NESTED.iter().enumerate().map(|(i, mm)| (300.0 * i as f64, *mm)).collect();
    rains.push((3600.0, 0.0));
    storm(&scene, &course(&rains), pace).unwrap()
}

/// Peak of the first shaft and when, of the last one, and what has passed by 3600 s, by
/// `oracle/hall.py`. Without inertia the peaks are 0.4930, 0.4930 and 0.4888 from 10 s of lag on.
#[test]
fn six_shafts_swing_as_a_general_integrator_has_it() {
    let until = Pace { until: Some(Time::s(3600.0)), ..Pace::default() };
    for (lag, peak, at, last, passed) in [
        (0.0, 0.9633805, 1505.185, 0.4562734, 9.9223849),
        (1.0, 0.9125959, 1506.085, 0.4412310, 9.9214114),
        (10.0, 0.4930326, 1608.0, 0.2993971, 9.9126354),
        (60.0, 0.4887698, 1800.025, 0.2966885, 9.8638315),
    ] {
        let run = over_the_hall(lag, &until);
        let [first, sixth] = [0, 5].map(|d: usize| run.downspouts[d].peak_level.to_m());
        assert!((first - peak).abs() < 5e-4, "lag {lag}: {first}");
        assert!((sixth - last).abs() < 5e-4, "lag {lag}: {sixth}");
        // A top that is flat for minutes has no moment of its own.
        let when = run.downspouts[0].peak_at.to_s();
        assert!((when - at).abs() < 0.05 || lag == 10.0, "lag {lag}: {when}");
        let through = run.lines[5].passed.to_m3();
        assert!((through - passed).abs() < 1e-4 * passed, "lag {lag}: {through}");
    }
}

/// At the end of a block of 5 min the swings have died: the levels without inertia, which three stiff
/// integrators of a general library agree on. At 1800 s they are those of the steady state, the last one
/// `R (6q)²`, and by then 5.816141 m³ have passed.
#[test]
fn blocks_of_rain_end_in_the_levels_without_inertia() {
    let slow = [0.06284, 0.06239, 0.06060, 0.05656, 0.04938, 0.03815];
    let heavy = [0.492994, 0.489473, 0.475385, 0.443689, 0.387340, 0.299295];
    // They had 0.647 in in 5 min, which rounds to 197.2 mm/h here; levels go with its square.
    let rounded = (197.2_f64 / (0.647 * 25.4 * 12.0)).powi(2);
    let heavy = heavy.map(|level| level * rounded);
    for (until, levels, within) in [(1500.0, slow, 1e-4), (1800.0, heavy, 1e-5)] {
        let end = Time::s(until);
        let pace = Pace { until: Some(end), moments: Some(end), ..Pace::default() };
        let run = over_the_hall(0.0, &pace);
        let last = run.moments.last().unwrap();
        for (found, expected) in last.levels.iter().zip(levels) {
            assert!((found.to_m() - expected).abs() < within, "{until} s: {found:?} {expected}");
        }
        if until > 1500.0 {
            let passed = run.lines[5].passed.to_m3();
            // The blocks are rounded to 0.1 mm/h here.
            assert!((passed / 5.816141 - 1.0).abs() < 3e-4, "{passed}");
        }
    }
}

/// Half the tolerance moves no peak by a millimetre, and a hundredth of it comes close to the
/// integrator's own.
#[test]
fn a_closer_tolerance_changes_less_than_a_millimetre() {
    let peak = |level_m: f64| {
        let pace =
            Pace { level: Length::m(level_m), until: Some(Time::s(1900.0)), ..Pace::default() };
        over_the_hall(0.0, &pace).downspouts[0].peak_level.to_m()
    };
    let usual = Pace::default().level.to_m();
    assert!((peak(usual) - peak(0.5 * usual)).abs() < 1e-3);
    assert!((peak(0.05 * usual) - 0.9633805).abs() < 5e-5);
}

/// One downspout on 20 m of line that rises to an inlet in the open: the water swings back into the
/// riser as the rain stops dead. Peak and when, and what has passed, by `oracle/free.py`.
#[test]
fn a_free_inlet_lets_the_water_swing_back() {
    for (rain, stops, until, peak, at, passed) in [
        (100.0, 60.0, 120.0, 0.4684038, 2.037, 0.10168096),
        (250.0, 40.0, 100.0, 1.1739669, 2.058, 0.17094916),
    ] {
        let bed = [(0.0, -3.0), (17.0, -3.0), (20.0, 0.0)];
        let k = 0.02 * 20.0 / 0.1016 + 1.5;
        let network = network(Parts {
            downspouts: vec![downspout("D", -3.0, 4.0, 4.0, 0.0762)],
            lines: vec![line("L", d(0), t(0), 0.1016, &bed, k)],
            tanks: vec![Tank { tag: "T".to_owned(), inlet: m(0.0), ..Tank::default() }],
            ..Parts::default()
        });
        let scene = scene(&network, vec![roof(60.0, 0, 0.0)]);
        let pace = Pace { until: Some(Time::s(until)), ..Pace::default() };
        let run = storm(&scene, &course(&[(0.0, rain), (stops, 0.0)]), &pace).unwrap();
        let course = &run.downspouts[0];
        assert!((course.peak_level.to_m() - peak).abs() < 2e-4, "{}", course.peak_level.to_m());
        assert!((course.peak_at.to_s() - at).abs() < 0.01, "{}", course.peak_at.to_s());
        let through = run.lines[0].passed.to_m3();
        assert!((through - passed).abs() < 1e-4 * run.totals.runoff.to_m3(), "{through}");
        assert!(run.totals.balance.to_m3().abs() < 1e-9 * run.totals.rain.to_m3());
    }
}

/// A run goes on no longer than somebody waits, and tells every step's moment on the way.
#[test]
fn a_run_is_called_off_on_its_way() {
    let network = hall();
    let (asked, told) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let wanted = || asked.fetch_add(1, Ordering::Relaxed) < 7;
    let tells = |at: Time| {
        assert!(at >= Time::ZERO);
        told.fetch_add(1, Ordering::Relaxed);
    };
    let roofs = (0..6).map(|i| roof(30.0, i, 10.0)).collect();
    let watch = Watch { wanted: &wanted, told: &tells };
    let watched = Scene { watch, ..scene(&network, roofs) };
    let rains = course(&[(0.0, 60.0), (3600.0, 0.0)]);
    assert_eq!(storm(&watched, &rains, &Pace::default()), Err(NotFollowed::CalledOff));
    assert_eq!((asked.into_inner(), told.into_inner()), (8, 8));
}
