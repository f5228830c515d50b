//! Builders for small networks, so that a test reads like a sketch of the site.
#![allow(dead_code)]

pub(crate) mod random;
pub(crate) mod residuals;

use wetrun_network::{
    Downspout, DownspoutId, End, Line, Network, Overflow, Parts, Pipe, Point, PointId, Station,
    Tank, TankId,
};
use wetrun_solver::{FrictionLaw, Scenario, Steady, TankState};
use wetrun_units::{Area, Intensity, Length, Temperature};

pub(crate) const D: fn(usize) -> End = |i| End::Downspout(DownspoutId::new(i));
pub(crate) const P: fn(usize) -> End = |i| End::Point(PointId::new(i));
pub(crate) const T: fn(usize) -> End = |i| End::Tank(TankId::new(i));

/// Rain of one metre per second: a catchment of `q` m² demands `q` m³/s.
pub(crate) fn scenario(law: FrictionLaw) -> Scenario {
    Scenario {
        law,
        temperature: Temperature::celsius(10.0),
        intensity: Intensity::m_per_s(1.0),
        tanks: TankState::Empty,
    }
}

pub(crate) fn pipe(bore_m: f64) -> Pipe {
    Pipe {
        inside: Length::m(bore_m),
        roughness: Some(Length::m(0.0015e-3)),
        c: Some(150.0),
        ..Pipe::default()
    }
}

pub(crate) fn downspout(
    outlet_m: f64,
    foot_m: f64,
    bore_m: f64,
    demand_m3_per_s: f64,
) -> Downspout {
    Downspout {
        tag: String::from("D"),
        outlet: Length::m(outlet_m),
        lip: Length::m(outlet_m),
        foot: Length::m(foot_m),
        leaf_head: None,
        pipe: pipe(bore_m),
        fittings: Vec::new(),
        k: 0.0,
        catchment: Area::m2(demand_m3_per_s),
    }
}

pub(crate) fn point(level_m: f64) -> Point {
    Point {
        tag: String::from("P"),
        level: Length::m(level_m),
        ground: None,
        fitting: None,
        drain: None,
        cleanout: false,
        opening: None,
    }
}

pub(crate) fn tank(inlet_m: f64) -> Tank {
    Tank {
        tag: String::from("T"),
        inlet: Length::m(inlet_m),
        overflow: None,
        floor: None,
        rim: None,
        ground: None,
        volume: None,
    }
}

pub(crate) fn overflow(level_m: f64, bore_m: Option<f64>, to: Option<usize>) -> Overflow {
    Overflow { level: Length::m(level_m), pipe: bore_m.map(pipe), to: to.map(TankId::new), k: 0.5 }
}

pub(crate) struct Sketch {
    pub(crate) parts: Parts,
}

impl Sketch {
    pub(crate) fn new() -> Self {
        Self { parts: Parts::default() }
    }

    fn level(&self, end: End) -> Length {
        match end {
            End::Downspout(id) => self.parts.downspouts[id.index()].foot,
            End::Point(id) => self.parts.points[id.index()].level,
            End::Tank(id) => self.parts.tanks[id.index()].inlet,
        }
    }

    pub(crate) fn downspout(mut self, mut downspout: Downspout) -> Self {
        downspout.tag = format!("D{}", self.parts.downspouts.len() + 1);
        self.parts.downspouts.push(downspout);
        self
    }

    pub(crate) fn point(mut self, level_m: f64) -> Self {
        let mut point = point(level_m);
        point.tag = format!("P{}", self.parts.points.len() + 1);
        self.parts.points.push(point);
        self
    }

    pub(crate) fn tank(mut self, mut tank: Tank) -> Self {
        tank.tag = format!("T{}", self.parts.tanks.len() + 1);
        self.parts.tanks.push(tank);
        self
    }

    pub(crate) fn line(self, from: End, to: End, bore_m: f64, length_m: f64, k: f64) -> Self {
        let levels = [self.level(from).to_m(), self.level(to).to_m()];
        let profile = [(0.0, levels[0]), (length_m, levels[1])];
        self.profiled(from, to, bore_m, k, &profile)
    }

    pub(crate) fn profiled(
        mut self,
        from: End,
        to: End,
        bore_m: f64,
        k: f64,
        profile: &[(f64, f64)],
    ) -> Self {
        let length_m = profile.last().map_or(0.0, |p| p.0);
        self.parts.lines.push(Line {
            tag: format!("L{}", self.parts.lines.len() + 1),
            from,
            to,
            pipe: pipe(bore_m),
            length: Length::m(length_m),
            fittings: Vec::new(),
            k,
            profile: (profile.iter())
                .map(|&(at, level)| Station {
                    at: Length::m(at),
                    level: Length::m(level),
                    ground: None,
                })
                .collect(),
        });
        self
    }

    pub(crate) fn network(self) -> Network {
        Network::build(self.parts).expect("a sketch is a valid network")
    }
}

/// A random tree of about `lines` lines, a downspout at every second point.
pub(crate) fn tree(lines: usize, lip_m: f64) -> Network {
    let mut dice = random::Dice::cold(7);
    let points = lines * 2 / 3;
    let mut sketch = Sketch::new();
    for _ in 0..points / 2 {
        let demand = dice.between(0.5, 1.5) * 0.02 / points as f64;
        sketch = sketch.downspout(downspout(lip_m, 0.0, 0.0779, demand));
    }
    for _ in 0..points {
        sketch = sketch.point(-0.5);
    }
    sketch = sketch.tank(tank(2.0)).line(P(0), T(0), 0.3, 10.0, 0.0);
    for p in 1..points {
        let near = p.saturating_sub(1 + dice.below(40));
        sketch = sketch.line(P(p), P(near), dice.pick(&[0.15, 0.2, 0.3]), 5.0, 0.3);
    }
    for d in 0..points / 2 {
        sketch = sketch.line(D(d), P(2 * d), 0.0779, 3.0, 1.0);
    }
    sketch.network()
}

/// The same with lips at heights of their own, up to 0.6 m above, and a piped overflow at the tank.
pub(crate) fn bush(lines: usize, lip_m: f64) -> Network {
    let mut parts = tree(lines, lip_m).to_parts();
    let mut dice = random::Dice::cold(3);
    for downspout in &mut parts.downspouts {
        let higher = Length::m(dice.between(0.0, 0.6));
        downspout.outlet = downspout.outlet + higher;
        downspout.lip = downspout.lip + higher;
    }
    parts.tanks[0].overflow = Some(overflow(1.9, Some(0.2), None));
    Network::build(parts).expect("a bush is a valid network")
}

pub(crate) fn solve(network: &Network, scenario: &Scenario) -> Steady {
    wetrun_solver::solve(network, scenario).expect("the steady state is found")
}
