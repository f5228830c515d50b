//! A small network for tests: two downspouts over a crest and a sag to one tank.

use wetrun_network::{
    Downspout, DownspoutId, End, Line, Network, Overflow, Parts, Pipe, Point, PointId, Station,
    Tank, TankId,
};
use wetrun_units::{Area, Length};

/// `D0 - P0 - P1 - T0` and `D1 - P1`. The line from P0 to P1 climbs to 3.0 m on its way; P1 is
/// the lowest point, at 1.0 m; the tank's inlet is at 2.5 m, its overflow at 2.4 m.
pub(crate) fn network() -> Network {
    let downspout = |index: usize, foot_m: f64| Downspout {
        tag: format!("D{index}"),
        outlet: Length::m(6.0),
        lip: Length::m(6.1),
        foot: Length::m(foot_m),
        leaf_head: None,
        pipe: pipe(),
        fittings: Vec::new(),
        k: 0.0,
        catchment: Area::m2(50.0),
    };
    let point = |index: usize, level_m: f64| Point {
        tag: format!("P{index}"),
        level: Length::m(level_m),
        ground: None,
        fitting: None,
        drain: None,
        cleanout: false,
        opening: None,
    };
    let tank = Tank {
        tag: "T0".to_owned(),
        inlet: Length::m(2.5),
        overflow: Some(Overflow { level: Length::m(2.4), pipe: None, to: None, k: 0.5 }),
        floor: None,
        rim: None,
        ground: None,
        volume: None,
    };
    let (d0, d1) = (End::Downspout(DownspoutId(0)), End::Downspout(DownspoutId(1)));
    let (p0, p1) = (End::Point(PointId(0)), End::Point(PointId(1)));
    let parts = Parts {
        downspouts: vec![downspout(0, 2.0), downspout(1, 1.5)],
        points: vec![point(0, 1.8), point(1, 1.0)],
        lines: vec![
            line("L0", d0, p0, &[(0.0, 2.0), (5.0, 1.8)]),
            line("L1", p0, p1, &[(0.0, 1.8), (4.0, 3.0), (10.0, 1.0)]),
            line("L2", p1, End::Tank(TankId(0)), &[(0.0, 1.0), (8.0, 1.2), (9.3, 2.5)]),
            line("L3", d1, p1, &[(0.0, 1.5), (6.0, 1.0)]),
        ],
        tanks: vec![tank],
    };
    Network::build(parts).unwrap()
}

fn pipe() -> Pipe {
    Pipe {
        label: "100 mm".to_owned(),
        inside: Length::m(0.1),
        roughness: Some(Length::m(1.5e-6)),
        ..Pipe::default()
    }
}

fn line(tag: &str, from: End, to: End, profile: &[(f64, f64)]) -> Line {
    let station = |&(at_m, level_m): &(f64, f64)| Station {
        at: Length::m(at_m),
        level: Length::m(level_m),
        ground: None,
    };
    Line {
        tag: tag.to_owned(),
        from,
        to,
        pipe: pipe(),
        length: Length::m(profile.last().map_or(0.0, |s| s.0)),
        fittings: Vec::new(),
        k: 0.0,
        profile: profile.iter().map(station).collect(),
    }
}
