//! Published networks put to the solver.
//!
//! Reservoirs are full tanks whose inlets lie deep under their water, so that a tank feeds at its
//! level and takes in at its level + V²/2g. Sources that neglect the velocity head lost in a
//! reservoir (`exit: kept`) get it back as a K of −1 on the line that ends there. Where a source
//! gives the loss as h = r Q², or a constant f, the line's K is r·2gA² and its wall is made smooth
//! to nothing (Hazen-Williams with a C of 1e12). Heads worked with another g are scaled: every
//! loss goes with 1/g.

use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_4;

use serde_yaml::{Mapping, Value as Yaml};
use wetrun_network::{
    Downspout, DownspoutId, End, Line, Network, Overflow, Parts, Pipe, Point, PointId, Station,
    Tank, TankId,
};
use wetrun_solver::{FrictionLaw, Scenario, TankState, laws::water, solve};
use wetrun_units::{Area, Intensity, Length, Temperature};

use super::case::{quantity, words};

const G: f64 = 9.80665;
/// How far everything lies under the water.
const DEEP_M: f64 = 5000.0;
/// A pipe so wide that a downspout costs nothing.
const WIDE_M: f64 = 5.0;

/// What lines are called before their names.
const LINE: &str = "line ";

/// Heads, flows, losses and speeds of a network.
pub(super) fn results(inputs: &Mapping) -> BTreeMap<String, f64> {
    let known =
        ["friction", "gravity", "viscosity", "constant", "exit", "levels", "inflows", "lines"];
    for key in inputs.keys() {
        assert!(known.contains(&words(key)), "unknown key {key:?}");
    }
    let number = |key: &str| inputs.get(key).map(quantity);
    let gravity = number("gravity").unwrap_or(G);
    let (law, wall_law) = match words(&inputs["friction"]) {
        "given" => (FrictionLaw::HazenWilliams, false),
        "hazen-williams" => (FrictionLaw::HazenWilliams, true),
        "darcy-weisbach" => (FrictionLaw::DarcyWeisbach, true),
        other => panic!("`{other}` is no friction"),
    };
    let kept = match words(&inputs["exit"]) {
        "kept" => 1.0,
        "lost" => 0.0,
        other => panic!("`{other}` is no exit"),
    };
    // Losses by the wall and by K·V²/2g come out with our g; heads are stretched to match.
    let stretch = if wall_law && law == FrictionLaw::DarcyWeisbach { gravity / G } else { 1.0 };
    let mut parts = Parts::default();
    let mut ends: BTreeMap<String, End> = BTreeMap::new();
    let mut levels: BTreeMap<String, f64> = BTreeMap::new();
    for (name, level) in inputs["levels"].as_mapping().unwrap() {
        let level_m = quantity(level) * stretch;
        ends.insert(words(name).into(), End::Tank(TankId::new(parts.tanks.len())));
        levels.insert(words(name).into(), quantity(level));
        let overflow = Overflow { level: Length::m(level_m), pipe: None, to: None, k: 0.5 };
        parts.tanks.push(Tank {
            tag: words(name).into(),
            inlet: Length::m(-DEEP_M),
            overflow: Some(overflow),
            ..Tank::default()
        });
    }
    for (name, flow) in inputs.get("inflows").and_then(Yaml::as_mapping).into_iter().flatten() {
        ends.insert(words(name).into(), End::Downspout(DownspoutId::new(parts.downspouts.len())));
        parts.downspouts.push(Downspout {
            tag: words(name).into(),
            outlet: Length::m(DEEP_M),
            lip: Length::m(DEEP_M),
            foot: Length::m(-DEEP_M),
            pipe: smooth(WIDE_M),
            catchment: Area::m2(quantity(flow)),
            ..Downspout::default()
        });
    }
    let constant = number("constant").unwrap_or(0.849);
    let lines = inputs["lines"].as_mapping().unwrap();
    for (name, line) in lines {
        let line = line.as_mapping().unwrap();
        let number = |key: &str| line.get(key).map(quantity);
        let mut end = |key: &str| {
            let tag = words(&line[key]).to_owned();
            *ends.entry(tag.clone()).or_insert_with(|| {
                parts.points.push(Point { tag, level: Length::m(-DEEP_M), ..Point::default() });
                End::Point(PointId::new(parts.points.len() - 1))
            })
        };
        let (from, to) = (end("from"), end("to"));
        let (bore_m, length_m) = (number("bore").unwrap(), number("length").unwrap_or(1.0));
        let area_m2 = FRAC_PI_4 * bore_m * bore_m;
        let mut k = number("k").unwrap_or(0.0);
        if !wall_law {
            // h = r Q² and f (L/D) V²/2g with the source's g, as a K on V²/2g with ours.
            let head_per_k = 1.0 / (2.0 * G * area_m2 * area_m2);
            let by_factor = number("f").map_or(0.0, |f| f * length_m / bore_m);
            k = (k + by_factor) * G / gravity + number("resistance").unwrap_or(0.0) / head_per_k;
        }
        let into_a_tank = matches!(to, End::Tank(_));
        if into_a_tank {
            k -= kept;
            // The velocity head that our tank end loses is one with our g, the source's with its own.
            if kept == 0.0 && !wall_law {
                k += G / gravity - 1.0;
            }
        }
        let pipe = Pipe {
            inside: Length::m(bore_m),
            roughness: number("roughness").map(Length::m),
            // Another velocity constant is another C in the same ratio.
            c: Some(number("c").map_or(1e12, |c| c * constant / 0.849)),
            ..Pipe::default()
        };
        let station = |at| Station { at: Length::m(at), level: Length::m(-DEEP_M), ground: None };
        parts.lines.push(Line {
            // A source may call a line and a point alike.
            tag: format!("{LINE}{}", words(name)),
            from,
            to,
            pipe,
            length: Length::m(length_m),
            fittings: Vec::new(),
            k,
            profile: vec![station(0.0), station(length_m)],
        });
    }
    let network = Network::build(parts).expect("the published network is one");
    let scenario = Scenario {
        law,
        temperature: number("viscosity").map_or(Temperature::celsius(10.0), of_viscosity),
        intensity: Intensity::m_per_s(1.0),
        tanks: TankState::Full,
    };
    let steady = solve(&network, &scenario).expect("a steady state");
    let mut found = BTreeMap::new();
    let mut heads: BTreeMap<&str, f64> = BTreeMap::new();
    for (point, state) in network.points().iter().zip(&steady.points) {
        heads.insert(&point.tag, state.head.to_m() / stretch);
    }
    for (downspout, state) in network.downspouts().iter().zip(&steady.downspouts) {
        heads.insert(&downspout.tag, state.foot_head.to_m() / stretch);
    }
    for (tag, level) in &levels {
        heads.insert(tag, *level);
    }
    for (tag, head_m) in &heads {
        found.insert(format!("head {tag}"), *head_m);
    }
    for (line, state) in network.lines().iter().zip(&steady.lines) {
        let tag = line.tag.trim_start_matches(LINE);
        let ends = [line.from, line.to].map(|end| heads[network.end_tag(end)]);
        found.insert(format!("flow {tag}"), state.flow.to_m3_per_s());
        found.insert(format!("speed {tag}"), state.velocity.to_m_per_s());
        found.insert(format!("loss {tag}"), ends[0] - ends[1]);
        let first = steady.lines[0].flow.to_m3_per_s();
        found.insert(format!("flow {tag} over flow 1"), state.flow.to_m3_per_s() / first);
    }
    found
}

fn smooth(bore_m: f64) -> Pipe {
    Pipe {
        inside: Length::m(bore_m),
        roughness: Some(Length::ZERO),
        c: Some(1e12),
        ..Pipe::default()
    }
}

/// The temperature at which water has a viscosity: the solver asks for water, not for a liquid.
fn of_viscosity(viscosity_m2_per_s: f64) -> Temperature {
    let (mut low, mut high) = (0.0, 110.0);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        let found = water::viscosity(Temperature::celsius(middle)).to_m2_per_s();
        if found > viscosity_m2_per_s { low = middle } else { high = middle }
    }
    Temperature::celsius(0.5 * (low + high))
}
