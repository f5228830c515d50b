//! Systems of the tests, made of plain parts, and rain over them.
#![allow(dead_code, unreachable_pub)]

use wetrun_motion::{GutterStore, Roof, Scene, TankStart, Watch};
use wetrun_network::{
    Downspout, DownspoutId, End, Line, Network, Overflow, Parts, Pipe, Point, PointId, Station,
    Tank, TankId,
};
use wetrun_rain::Course;
use wetrun_solver::FrictionLaw;
use wetrun_units::{Area, Fraction, Intensity, Length, Temperature, Time, Volume};

pub fn m(metres: f64) -> Length {
    Length::m(metres)
}

/// A pipe whose wall costs nothing: what it loses stands in the lines' coefficients.
pub fn smooth(bore_m: f64) -> Pipe {
    Pipe { inside: m(bore_m), c: Some(1e9), roughness: Some(m(1.5e-6)), ..Pipe::default() }
}

pub fn downspout(tag: &str, foot: f64, outlet: f64, lip: f64, bore_m: f64) -> Downspout {
    Downspout {
        tag: tag.to_owned(),
        outlet: m(outlet),
        lip: m(lip),
        foot: m(foot),
        pipe: smooth(bore_m),
        catchment: Area::m2(1.0),
        ..Downspout::default()
    }
}

pub fn point(tag: &str, level: f64) -> Point {
    Point { tag: tag.to_owned(), level: m(level), ..Point::default() }
}

pub fn line(tag: &str, from: End, to: End, bore_m: f64, bed: &[(f64, f64)], k: f64) -> Line {
    let station = |&(at, level): &(f64, f64)| Station { at: m(at), level: m(level), ground: None };
    Line {
        tag: tag.to_owned(),
        from,
        to,
        pipe: smooth(bore_m),
        length: m(bed[bed.len() - 1].0),
        fittings: Vec::new(),
        k,
        profile: bed.iter().map(station).collect(),
    }
}

/// A tank that stands full at a level whatever it receives.
pub fn brim(tag: &str, inlet: f64, level: f64) -> Tank {
    Tank {
        tag: tag.to_owned(),
        inlet: m(inlet),
        overflow: Some(Overflow { level: m(level), pipe: None, to: None, k: 0.5 }),
        ..Tank::default()
    }
}

pub fn d(index: usize) -> End {
    End::Downspout(DownspoutId::new(index))
}
pub fn p(index: usize) -> End {
    End::Point(PointId::new(index))
}
pub fn t(index: usize) -> End {
    End::Tank(TankId::new(index))
}

pub fn roof(area_m2: f64, to: usize, lag_s: f64) -> Roof {
    Roof {
        area: Area::m2(area_m2),
        runoff: Fraction::ratio(1.0),
        wetting: Length::ZERO,
        lag: Time::s(lag_s),
        shares: vec![(DownspoutId::new(to), Fraction::ratio(1.0))],
    }
}

pub fn network(parts: Parts) -> Network {
    Network::build(parts).unwrap()
}

pub fn scene(network: &Network, roofs: Vec<Roof>) -> Scene<'_> {
    Scene {
        network,
        law: FrictionLaw::HazenWilliams,
        temperature: Temperature::celsius(10.0),
        roofs,
        gutters: vec![None; network.downspouts().len()],
        tanks: vec![TankStart::Full; network.tanks().len()],
        watch: Watch::default(),
    }
}

/// Rains in mm/h from these seconds on.
pub fn course(rains: &[(f64, f64)]) -> Course {
    let rains: Vec<_> =
        rains.iter().map(|&(t, mm)| (Time::s(t), Intensity::m_per_s(mm / 3.6e6))).collect();
    Course::new(&rains).unwrap()
}

pub fn volume(m3: f64) -> Volume {
    Volume::m3(m3)
}

pub fn gutter(store: GutterStore) -> Vec<Option<GutterStore>> {
    vec![Some(store)]
}
