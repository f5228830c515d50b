//! Columns that swing and columns whose inflow stops, against rigid-column theory: periods, the rise
//! without loss, and the turn with it.
#![allow(clippy::unwrap_used, clippy::disallowed_methods)]

mod support;

use std::f64::consts::{FRAC_PI_4, TAU};
use support::*;
use wetrun_motion::{HeldUp, Looked, OpenDrain, Pace, Passed, TankStart, first_rush, storm};
use wetrun_network::{DownspoutId, LineId, Network, Overflow, Parts, PointId, Tank};
use wetrun_units::{Length, Speed, Time};

const G: f64 = 9.80665;
const SHAFT: f64 = 0.0762;
const LINE: f64 = 0.1016;
const LENGTH: f64 = 40.0;

fn area(bore_m: f64) -> f64 {
    FRAC_PI_4 * bore_m * bore_m
}

/// `T = 2π √((ΣL/A) A₁A₂/(A₁ + A₂)/g)`; a fixed end is a surface without end.
fn period(inertia: f64, surfaces: [f64; 2]) -> f64 {
    TAU * (inertia / (1.0 / surfaces[0] + 1.0 / surfaces[1]) / G).sqrt()
}

/// The formula gives what is in print and what was worked beforehand: 0.897 s (a school book has
/// 0.9), 2.18275 s (teaching laboratories read 2.2 s), and four of a line of 40 m.
#[test]
fn the_formula_is_that_of_the_examples() {
    let (line, shaft) = (LENGTH / area(LINE), area(SHAFT));
    let wide = LENGTH / area(0.1524);
    for (inertia, surfaces, seconds) in [
        (0.4, [1.0, 1.0], 0.89729),
        (2.367, [1.0, 1.0], 2.18275),
        (line + 2.0 / shaft, [shaft, 4.0], 9.9256),
        (line, [shaft, shaft], 6.7297),
        (line, [6.0 * shaft, 4.0], 23.23),
        (wide, [6.0 * shaft, f64::INFINITY], 15.54),
    ] {
        let found = period(inertia, surfaces);
        // As they are rounded.
        let within = if seconds > 15.0 { 5e-3 } else { 6e-5 };
        assert!((found - seconds).abs() < within, "{found} {seconds}");
    }
}

/// Follows a start of 0.1 s of rain, or what tanks that stand apart bring, closely.
fn followed(network: &Network, starts: &[TankStart], roofs: usize, until_s: f64) -> Passed {
    let mut scene = scene(network, (0..roofs).map(|to| roof(10.0, to, 0.0)).collect());
    scene.tanks = starts.to_vec();
    let pace = Pace {
        level: Length::m(1e-7),
        until: Some(Time::s(until_s)),
        moments: Some(Time::s(1e-3)),
    };
    let rain = if roofs > 0 { 3.0 * 3.6e3 / 10.0 } else { 0.0 };
    // 3 L/s on each shaft for a moment.
    storm(&scene, &course(&[(0.0, rain), (0.02, 0.0)]), &pace).unwrap()
}

/// The time between turns of a line's flow through nothing, on average, of the last whole swings.
fn swings(passed: &Passed, line: usize) -> f64 {
    let flows: Vec<(f64, f64)> =
        passed.moments.iter().map(|now| (now.at.to_s(), now.flows[line].to_m3_per_s())).collect();
    let upward: Vec<f64> = flows
        .windows(2)
        .filter(|pair| pair[0].1 < 0.0 && pair[1].1 >= 0.0)
        .map(|pair| pair[0].0 + (pair[1].0 - pair[0].0) * pair[0].1 / (pair[0].1 - pair[1].1))
        .collect();
    assert!(upward.len() >= 2, "{upward:?}");
    (upward[upward.len() - 1] - upward[0]) / (upward.len() - 1) as f64
}

/// A line between two tanks whose surfaces are its own bore: the U of the books.
#[test]
fn a_u_of_one_bore_swings_in_its_time() {
    for length in [0.4, 2.367] {
        let bore = 0.5;
        let tank = |tag: &str| Tank {
            tag: tag.to_owned(),
            inlet: m(-1.0),
            floor: Some(m(-2.0)),
            volume: Some(volume(3.0 * area(bore))),
            overflow: Some(Overflow { level: m(1.0), pipe: None, to: None, k: 0.0 }),
            ..Tank::default()
        };
        let network = network(Parts {
            // What a system has besides, dry and far above.
            downspouts: vec![downspout("D", 5.0, 8.0, 8.0, SHAFT)],
            lines: vec![
                line("L", t(0), t(1), bore, &[(0.0, -1.0), (length, -1.0)], 0.0),
                line("M", d(0), t(2), LINE, &[(0.0, 5.0), (1.0, 5.0)], 0.0),
            ],
            tanks: vec![
                tank("T"),
                tank("U"),
                Tank { inlet: m(5.0), tag: "V".into(), ..Tank::default() },
            ],
            ..Parts::default()
        });
        let starts = [TankStart::Level(m(1e-3)), TankStart::Level(m(-1e-3)), TankStart::Empty];
        let expected = period(length, [1.0, 1.0]);
        let found = swings(&followed(&network, &starts, 0, 4.5 * expected), 0);
        assert!((found - expected).abs() < 1e-3 * expected, "{found} {expected}");
    }
}

/// One shaft and six on a line of 40 m, into a tank of 4 m² and into water that stays, and two shafts
/// joined by it. A shaft's own water counts with its length: there is little of it, and it is in the
/// formula.
#[test]
fn shafts_on_a_line_swing_in_their_time() {
    let (shaft, wet) = (area(SHAFT), 0.05);
    let tank = |area_m2: f64| Tank {
        tag: "T".to_owned(),
        inlet: m(-0.5),
        floor: Some(m(-1.0)),
        volume: Some(volume(2.0 * area_m2)),
        overflow: Some(Overflow { level: m(1.0), pipe: None, to: None, k: 0.0 }),
        ..Tank::default()
    };
    let joined = |count: usize, bore: f64, into: Option<f64>, wet: f64| {
        let mut parts = Parts {
            downspouts: (0..count)
                .map(|place| downspout(&format!("D{place}"), -wet, 2.0, 2.0, SHAFT))
                .collect(),
            // All feet at one place: through lines as wide as rooms.
            points: vec![point("P", -wet)],
            ..Parts::default()
        };
        for place in 0..count {
            let flat = [(0.0, -wet), (0.1, -wet)];
            parts.lines.push(line(&format!("S{place}"), d(place), p(0), 2.0, &flat, 0.0));
        }
        let (end, level) = (t(0), -0.5);
        parts.lines.push(line("L", p(0), end, bore, &[(0.0, -wet), (LENGTH, level)], 0.0));
        parts.tanks.push(into.map_or_else(|| brim("T", -0.5, 0.0), tank));
        network(parts)
    };
    for (count, bore, into, wet) in
        [(1, LINE, Some(4.0), 2.0), (6, LINE, Some(4.0), wet), (6, 0.1524, None, wet)]
    {
        let network = joined(count, bore, into, wet);
        let starts = [into.map_or(TankStart::Full, |_| TankStart::Level(m(0.0)))];
        let legs = 0.1 / area(2.0) + wet / shaft;
        let all = shaft * count as f64;
        let inertia = LENGTH / area(bore) + legs / count as f64;
        let expected = period(inertia, [all, into.unwrap_or(f64::INFINITY)]);
        let passed = followed(&network, &starts, count, 4.2 * expected);
        let found = swings(&passed, count);
        assert!((found - expected).abs() < 2e-3 * expected, "{count}: {found} {expected}");
    }
}

/// Rain of a steady flow on shafts over water that stays at 0, without loss but the water's end in
/// the tank: begun dead from rest, or stopped dead.
fn surge(count: usize, k: f64, rains: &[(f64, f64)], until_s: f64, foot: f64) -> Passed {
    let mut parts = Parts {
        downspouts: (0..count)
            .map(|place| downspout(&format!("D{place}"), foot, 4.0, 4.0, SHAFT))
            .collect(),
        points: vec![point("P", foot)],
        tanks: vec![brim("T", -0.5, 0.0)],
        ..Parts::default()
    };
    for place in 0..count {
        let flat = [(0.0, foot), (0.1, foot)];
        parts.lines.push(line(&format!("S{place}"), d(place), p(0), 2.0, &flat, 0.0));
    }
    parts.lines.push(line("L", p(0), t(0), LINE, &[(0.0, foot), (LENGTH, -0.5)], k));
    let network = network(parts);
    let scene = scene(&network, (0..count).map(|to| roof(10.0, to, 0.0)).collect());
    let pace = Pace {
        level: Length::m(1e-6),
        until: Some(Time::s(until_s)),
        moments: Some(Time::s(1e-2)),
    };
    storm(&scene, &course(rains), &pace).unwrap()
}

/// mm/h on 10 m² that bring a speed in the line, by so many shafts.
fn rain(speed: f64, count: usize) -> f64 {
    speed * area(LINE) / count as f64 / 10.0 * 3.6e6
}

/// Without loss a flow that sets in or stops dead lifts shafts by `V √(L A/(g A_s))` (Massoud,
/// Engineering Thermofluids, page 358): of 1 m/s 2.69283 m in one shaft and 1.09934 m in six. Here a
/// flow of 20 mm/s sets in, of which losses take next to nothing.
#[test]
fn what_sets_in_dead_lifts_shafts_as_without_loss() {
    let speed = 0.02;
    for (count, rise) in [(1, 2.69283), (6, 1.09934)] {
        let (foot, shafts) = (-0.002, area(SHAFT) * count as f64);
        let exact = speed * (LENGTH * area(LINE) / (G * shafts)).sqrt();
        assert!((exact / speed - rise).abs() < 1e-5);
        let until = 0.4 * period(LENGTH / area(LINE), [shafts, f64::INFINITY]);
        let passed = surge(count, 0.0, &[(0.0, rain(speed, count)), (60.0, 0.0)], until, foot);
        let found = passed.downspouts[0].peak_level.to_m();
        // The shaft's own water, up to 56 mm of it, swings too.
        assert!((found / exact - 1.0).abs() < 2e-3, "{count}: {found} {exact}");
    }
}

/// How far shafts fall below the water beyond when a flow stops dead that had come to rest, and when,
/// by the classical Runge-Kutta method: `A_s dy/dt = −Q`,
/// `(L/(gA) + wet(y)/(g A_s)) dQ/dt = y − F Q|Q|/A²`.
fn stopped(count: f64, k: f64, speed: f64, foot: Option<f64>) -> (f64, f64) {
    let (bore, shafts) = (area(LINE), count * area(SHAFT));
    let loss = k / (2.0 * G);
    let rates = |[y, v]: [f64; 2]| {
        let wet = foot.map_or(0.0, |foot| 0.1 / area(2.0) / count + (y - foot) / shafts);
        let inertia = (LENGTH / bore + wet) * bore / G;
        [-v * bore / shafts, (y - loss * v * v.abs()) / inertia]
    };
    let (mut now, mut at) = ([loss * speed * speed, speed], 0.0);
    let step = 1e-4;
    while now[1] > 0.0 {
        let after = |rate: [f64; 2], by: f64| [now[0] + by * rate[0], now[1] + by * rate[1]];
        let a = rates(now);
        let b = rates(after(a, 0.5 * step));
        let c = rates(after(b, 0.5 * step));
        let d = rates(after(c, step));
        now = [0, 1].map(|i| now[i] + step / 6.0 * (a[i] + 2.0 * b[i] + 2.0 * c[i] + d[i]));
        at += step;
    }
    (-now[0], at)
}

/// A steady flow in a line of 40 m stops dead, f = 0.02 and ΣK = 1.5: rigid-column theory has one shaft
/// turn after 1.26796 m at 2.47213 s of 0.5 m/s, after 2.38408 m at 2.57171 s of 1 m/s, and six after
/// 0.47307 and 0.80658 m. The shafts' own water swings too; it is in the integration by hand here,
/// which without it gives those.
#[test]
fn what_stops_dead_turns_where_theory_has_it() {
    let k = 0.02 * LENGTH / LINE + 1.5;
    for (count, speed, turns, when) in [
        (1, 0.5, 1.26796, Some(2.47213)),
        (1, 1.0, 2.38408, Some(2.57171)),
        (6, 0.5, 0.47307, None),
        (6, 1.0, 0.80658, None),
    ] {
        let theory = stopped(count as f64, k, speed, None);
        assert!((theory.0 - turns).abs() < 1e-4, "{theory:?} {turns}");
        assert!(when.is_none_or(|when| (theory.1 - when).abs() < 2e-3), "{theory:?}");
        let foot = -3.0;
        let expected = stopped(count as f64, k, speed, Some(foot));
        // The end under water costs one of the velocity heads. It stands still after some minutes.
        let stops = 600.0;
        let rains = [(0.0, rain(speed, count)), (stops, 0.0)];
        let passed = surge(count, k - 1.0, &rains, stops + 12.0, foot);
        let after = passed.moments.iter().filter(|now| now.at.to_s() > stops);
        let lowest =
            after.min_by(|a, b| a.levels[0].to_m().total_cmp(&b.levels[0].to_m())).unwrap();
        let (depth, at) = (-lowest.levels[0].to_m(), lowest.at.to_s() - stops);
        assert!((depth - expected.0).abs() < 5e-4, "{count} {speed}: {depth} {expected:?}");
        assert!((at - expected.1).abs() < 0.05, "{count} {speed}: {at} {expected:?}");
    }
}

/// A column that is held up drives the first rush: under `H` over a drain's end the drain takes
/// `a √(2 g H/(1 + k))`, and the line before it as much.
#[test]
fn what_is_held_up_drives_the_first_rush() {
    let (bore, drain, k) = (0.3, 0.03, 0.7);
    let network = network(Parts {
        downspouts: vec![downspout("D", -1.0, 4.0, 4.0, bore)],
        points: vec![wetrun_network::Point { drain: Some(m(drain)), ..point("P", -1.0) }],
        lines: vec![
            line("L", d(0), p(0), bore, &[(0.0, -1.0), (0.2, -1.0)], 0.0),
            line("R", p(0), t(0), 0.01, &[(0.0, -1.0), (2.0, -0.5)], 0.0),
        ],
        tanks: vec![brim("T", -0.5, 0.0)],
    });
    let scene = scene(&network, Vec::new());
    let opened = OpenDrain { at: PointId::new(0), bore: m(drain), outlet: m(-1.0), k };
    let lines = [LineId::new(0)];
    let (speed, within) = (Speed::m_per_s(9.0), Time::s(5.0));
    let looked = Looked { lines: &lines, speed, within };
    for level in [0.5, 2.0] {
        let held = HeldUp { at: DownspoutId::new(0), level: m(level) };
        let rush = first_rush(&scene, &[opened], &[held], &looked).unwrap();
        let expected = (drain / bore).powi(2) * (2.0 * G * (level + 1.0) / (1.0 + k)).sqrt();
        let found = rush.fastest[0].to_m_per_s();
        assert!((found / expected - 1.0).abs() < 2e-2, "{level}: {found} {expected}");
        assert!((rush.held[0].to_m3() / (level * area(bore)) - 1.0).abs() < 1e-9);
    }
}
