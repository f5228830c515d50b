//! Sites for the tests: an invented workshop, and long or hostile variants of it.

#![allow(dead_code, unreachable_pub, clippy::unwrap_used, clippy::expect_used)]

pub mod marks;
#[cfg(test)]
pub mod pdf;

use std::borrow::Cow;
use wetrun_facts::{Facts, Roof, Share};
use wetrun_network::{
    Downspout, DownspoutId, End, FittingUse, Line, LineId, Network, Overflow, Parts, Pipe, Point,
    PointId, Station, Tank, TankId,
};
use wetrun_sheet::{FindingRow, Job, Outcome, SheetInput};
use wetrun_solver::{FrictionLaw, Scenario, SpillRains, Steady, TankState};
use wetrun_units::{Area, Fraction, Intensity, Length, Temperature, UnitSystem, Volume};
use wetrun_verdict::Verdict;

/// A network with its steady state.
pub struct Case {
    pub network: Network,
    pub scenario: Scenario,
    pub steady: Steady,
    pub spill_rains: SpillRains,
    pub verdict: Verdict,
}

impl Case {
    pub fn solve(parts: Parts, mm_per_h: f64) -> Self {
        let network = Network::build(parts).expect("a valid network");
        let scenario = Scenario {
            law: FrictionLaw::DarcyWeisbach,
            temperature: Temperature::celsius(10.0),
            intensity: Intensity::m_per_s(mm_per_h / 3.6e6),
            tanks: TankState::Full,
        };
        let steady = wetrun_solver::solve(&network, &scenario).expect("a steady state");
        let verdict = Verdict::new(&network, &steady, Length::m(0.1));
        Self { network, scenario, steady, spill_rains: SpillRains::NONE, verdict }
    }

    pub fn with_spill_rains(mut self) -> Self {
        self.spill_rains = wetrun_solver::spill_rains(&self.network, &self.scenario).unwrap();
        self
    }

    fn facts(&self) -> Facts {
        let all = Fraction::ratio(1.0);
        let roof = |i: usize| Roof {
            name: format!("roof {}", i + 1),
            area: self.network.downspouts()[i].catchment,
            runoff: all,
            shares: vec![Share { to: DownspoutId::new(i), share: all }],
        };
        Facts {
            datum: Some("slab = 100.00".to_owned()),
            revision: Some("B".to_owned()),
            storm_basis: Some("25-year 5-minute, county rainfall table".to_owned()),
            roofs: (0..self.network.downspouts().len()).map(roof).collect(),
            downspouts: vec![Default::default(); self.network.downspouts().len()],
            points: vec![Default::default(); self.network.points().len()],
            tanks: vec![Default::default(); self.network.tanks().len()],
            ..Facts::default()
        }
    }

    pub fn input(&self, units: UnitSystem) -> SheetInput<'_> {
        SheetInput {
            job: Job {
                site: "Larkspur workshop".to_owned(),
                file_hash: "3f9a12c4".to_owned(),
                documents: Vec::new(),
            },
            units,
            facts: Cow::Owned(self.facts()),
            network: &self.network,
            scenario: self.scenario,
            steady: &self.steady,
            spill_rains: &self.spill_rains,
            verdict: &self.verdict,
            verdict_words: "worst is D1, 150 mm below the gutter outlet".to_owned(),
            failures: Vec::new(),
            freeboard_basis: "site file".to_owned(),
            watertight_to: Vec::new(),
            levels: Vec::new(),
            rod: None,
            tolerance_all: None,
            findings: vec![FindingRow {
                group: "B  Levels and head".to_owned(),
                rule: "freeboard".to_owned(),
                outcome: Outcome::Pass,
                place: "D1".to_owned(),
                value: "150 mm".to_owned(),
                limit: "100 mm".to_owned(),
                message: "Water stays below the opening".to_owned(),
                basis: "site file".to_owned(),
                mend: None,
                stated: None,
            }],
            review: "CONFORMS".to_owned(),
            cautions: vec!["Never enter a tank.".to_owned()],
            upkeep: Vec::new(),
            owner_texts: Vec::new(),
            owner_cautions: vec!["Never enter a tank.".to_owned()],
            owner_notes: Vec::new(),
            coefficients: Vec::new(),
            more: Vec::new(),
            all_routes: false,
        }
    }
}

pub fn pipe(size: &str) -> Pipe {
    wetrun_catalogue::pipe("pvc-sch40", size).expect("a pipe of the catalogue")
}

pub fn downspout(tag: &str, outlet_m: f64, foot_m: f64, catchment_m2: f64) -> Downspout {
    Downspout {
        tag: tag.to_owned(),
        outlet: Length::m(outlet_m),
        lip: Length::m(outlet_m + 0.08),
        foot: Length::m(foot_m),
        leaf_head: None,
        pipe: pipe("3 in"),
        fittings: vec![FittingUse { name: "bend-90".to_owned(), count: 1, k: 0.5 }],
        k: 0.0,
        catchment: Area::m2(catchment_m2),
    }
}

pub fn point(tag: &str, level_m: f64, ground_m: f64) -> Point {
    Point {
        tag: tag.to_owned(),
        level: Length::m(level_m),
        ground: Some(Length::m(ground_m)),
        fitting: None,
        drain: None,
        cleanout: false,
        opening: None,
    }
}

pub fn line(
    tag: &str,
    from: End,
    to: End,
    size: &str,
    levels_m: (f64, f64),
    length_m: f64,
) -> Line {
    let station = |at_m: f64, level_m: f64| Station {
        at: Length::m(at_m),
        level: Length::m(level_m),
        ground: None,
    };
    Line {
        tag: tag.to_owned(),
        from,
        to,
        pipe: pipe(size),
        length: Length::m(length_m),
        fittings: vec![FittingUse { name: "bend-45".to_owned(), count: 1, k: 0.3 }],
        k: 0.0,
        profile: vec![station(0.0, levels_m.0), station(length_m, levels_m.1)],
    }
}

pub fn tank(tag: &str, inlet_m: f64) -> Tank {
    Tank {
        tag: tag.to_owned(),
        inlet: Length::m(inlet_m),
        overflow: Some(Overflow {
            level: Length::m(inlet_m - 0.1),
            pipe: Some(pipe("4 in")),
            to: None,
            k: 0.5,
        }),
        floor: Some(Length::m(inlet_m - 2.2)),
        rim: Some(Length::m(inlet_m + 0.25)),
        ground: Some(Length::m(inlet_m - 2.3)),
        volume: Some(Volume::m3(9.5)),
    }
}

/// Two downspouts, a drain, a hump, and a riser into one tank.
pub fn workshop() -> Case {
    let (d1, d2) = (End::Downspout(DownspoutId::new(0)), End::Downspout(DownspoutId::new(1)));
    let (w1, p1) = (End::Point(PointId::new(0)), End::Point(PointId::new(1)));
    let t1 = End::Tank(TankId::new(0));
    let mut riser = line("L4", p1, t1, "4 in", (9.70, 12.10), 6.5);
    riser.profile.insert(1, Station { at: Length::m(3.9), level: Length::m(9.78), ground: None });
    riser.profile.insert(2, Station { at: Length::m(6.22), level: Length::m(12.10), ground: None });
    let mut drain = point("P1", 9.70, 10.6);
    drain.drain = Some(Length::m(0.0508));
    drain.cleanout = true;
    Case::solve(
        Parts {
            downspouts: vec![
                downspout("D1", 12.9, 10.05, 60.0),
                downspout("D2", 12.75, 10.0, 45.0),
            ],
            points: vec![point("W1", 9.9, 10.7), drain],
            lines: vec![
                line("L1", d1, w1, "4 in", (10.05, 9.9), 9.8),
                line("L2", d2, w1, "4 in", (10.0, 9.9), 4.2),
                line("L3", w1, p1, "4 in", (9.9, 9.70), 14.0),
                riser,
            ],
            tanks: vec![tank("T1", 12.10)],
        },
        130.0,
    )
    .with_spill_rains()
}

/// One downspout, `count` points in a row with humps and sags, one tank.
pub fn long_route(count: usize) -> Case {
    let level_m = |i: usize| 9.9 - 0.01 * i as f64 + if i % 3 == 1 { 0.06 } else { 0.0 };
    let at = |i: usize| End::Point(PointId::new(i));
    let start = End::Downspout(DownspoutId::new(0));
    let end = End::Tank(TankId::new(0));
    let mut lines = vec![line("L0", start, at(0), "6 in", (10.0, level_m(0)), 3.0)];
    for i in 1..count {
        lines.push(line(
            &format!("L{i}"),
            at(i - 1),
            at(i),
            "6 in",
            (level_m(i - 1), level_m(i)),
            2.5,
        ));
    }
    lines.push(line(
        &format!("L{count}"),
        at(count - 1),
        end,
        "6 in",
        (level_m(count - 1), 12.1),
        5.0,
    ));
    Case::solve(
        Parts {
            downspouts: vec![downspout("D1", 12.9, 10.0, 50.0)],
            points: (0..count).map(|i| point(&format!("P{}", i + 1), level_m(i), 10.8)).collect(),
            lines,
            tanks: vec![tank("T1", 12.1)],
        },
        100.0,
    )
}

/// A trunk of `branches` points, a downspout at each: twice as many lines as branches.
pub fn comb(branches: usize) -> Case {
    let at = |i: usize| End::Point(PointId::new(i));
    let end = End::Tank(TankId::new(0));
    let mut lines = Vec::new();
    for i in 0..branches {
        let next = if i + 1 < branches { at(i + 1) } else { end };
        let to_m = if i + 1 < branches { 9.9 - 0.002 * (i + 1) as f64 } else { 12.1 };
        lines.push(line(
            &format!("M{i}"),
            at(i),
            next,
            "12 in",
            (9.9 - 0.002 * i as f64, to_m),
            4.0,
        ));
        let from = End::Downspout(DownspoutId::new(i));
        lines.push(line(
            &format!("B{i}"),
            from,
            at(i),
            "4 in",
            (10.0, 9.9 - 0.002 * i as f64),
            3.0,
        ));
    }
    Case::solve(
        Parts {
            downspouts: (0..branches)
                .map(|i| downspout(&format!("D{i}"), 12.9, 10.0, 4.0))
                .collect(),
            points: (0..branches)
                .map(|i| point(&format!("P{i}"), 9.9 - 0.002 * i as f64, 10.8))
                .collect(),
            lines,
            tanks: vec![tank("T1", 12.1)],
        },
        60.0,
    )
}

/// The workshop with tags that try to break every format.
pub const HOSTILE: &str = "<script>alert(1)</script>]]>\u{1b}[31m\u{202e}&amp;\"'";

pub fn hostile() -> Case {
    let mut parts = workshop().network.to_parts();
    let tag = |kind: char| format!("{HOSTILE}{kind}");
    parts.points[0].tag = tag('P');
    parts.downspouts[0].tag = tag('D');
    parts.lines[0].tag = tag('L');
    parts.tanks[0].tag = tag('T');
    Case::solve(parts, 130.0)
}

pub fn line_id(index: usize) -> LineId {
    LineId::new(index)
}
