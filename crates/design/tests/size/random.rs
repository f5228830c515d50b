//! Random networks with open pipes, from a seed.

use wetrun_design::size::{Candidate, OpenPipe, Owner, Problem, Targets};
use wetrun_network::{
    Downspout, DownspoutId, End, Junction, JunctionKind, Line, LineId, Network, Opening,
    OpeningKind, Overflow, Parts, Pipe, Point, PointId, Station, Tank, TankId,
};
use wetrun_solver::{FrictionLaw, Scenario, TankState};
use wetrun_units::{Area, Intensity, Length, Speed, Temperature};

#[path = "../../../../tests/dice.rs"]
mod dice;

pub(crate) use dice::Dice;

/// What a random network may have.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Kind {
    pub(crate) downspouts: usize,
    pub(crate) points: usize,
    pub(crate) tanks: usize,
    pub(crate) extra_lines: usize,
    pub(crate) crests: bool,
    pub(crate) junctions: bool,
    /// Vents, and tanks with a rim.
    pub(crate) openings: bool,
    pub(crate) sizes: usize,
    /// Share of pipes that are open, and the most of them.
    pub(crate) open: f64,
    pub(crate) most_open: usize,
    /// Head between the openings and the tanks, up to this.
    pub(crate) head_m: f64,
}

/// Bores as of a catalogue, in metres.
const BORES_M: [f64; 6] = [0.0525, 0.0627, 0.0779, 0.1023, 0.1541, 0.2027];

pub(crate) fn pipe(bore_m: f64) -> Pipe {
    Pipe {
        label: format!("{bore_m}"),
        inside: Length::m(bore_m),
        roughness: Some(Length::m(1.5e-6)),
        c: Some(150.0),
        ..Pipe::default()
    }
}

/// A random problem. Each tank has a tree of its own unless there are extra lines.
pub(crate) fn problem(seed: u64, kind: Kind) -> Problem {
    let mut dice = Dice::new(seed);
    let mut parts = Parts::default();
    let tanks = 1 + dice.below(kind.tanks);
    let points = tanks.max(1 + dice.below(kind.points));
    for tank in 0..tanks {
        let inlet = dice.between(1.9, 2.1);
        let overflow = dice.chance(0.7).then(|| Overflow {
            level: Length::m(inlet + dice.between(-0.3, 0.2)),
            pipe: dice.chance(0.7).then(|| pipe(BORES_M[2 + dice.below(4)])),
            to: (tank > 0 && dice.chance(0.4)).then(|| TankId::new(dice.below(tank))),
            k: 0.5,
        });
        let tag = format!("T{tank}");
        parts.tanks.push(Tank { tag, inlet: Length::m(inlet), overflow, ..Tank::default() });
    }
    for point in 0..points {
        let crest = kind.crests && dice.chance(0.2);
        let level = if crest { dice.between(1.8, 2.4) } else { dice.between(-0.5, 1.0) };
        let tag = format!("P{point}");
        parts.points.push(Point { tag, level: Length::m(level), ..Point::default() });
    }
    let mut ends = Vec::new();
    for point in 0..points {
        let to = if point < tanks {
            End::Tank(TankId::new(point))
        } else {
            End::Point(PointId::new(dice.below(point)))
        };
        ends.push((End::Point(PointId::new(point)), to));
    }
    for index in 0..1 + dice.below(kind.downspouts) {
        let outlet = 2.2 + dice.between(0.05, kind.head_m);
        let lip = outlet + if dice.chance(0.5) { dice.between(0.0, 0.1) } else { 0.0 };
        let leaf_head = dice.chance(0.2).then(|| Length::m(outlet - dice.between(0.0, 0.3)));
        let demand = if dice.chance(0.1) { 0.0 } else { dice.between(0.2e-3, 4e-3) };
        parts.downspouts.push(Downspout {
            tag: format!("D{index}"),
            outlet: Length::m(outlet),
            lip: Length::m(lip),
            foot: Length::m(dice.between(-0.3, 1.0)),
            leaf_head,
            pipe: pipe(BORES_M[1 + dice.below(3)]),
            k: dice.between(0.0, 1.5),
            catchment: Area::m2(demand),
            ..Downspout::default()
        });
        // Sometimes a line runs on through a downspout's foot.
        let to = if index > 0 && dice.chance(0.2) {
            End::Downspout(DownspoutId::new(dice.below(index)))
        } else {
            End::Point(PointId::new(dice.below(points)))
        };
        ends.push((End::Downspout(DownspoutId::new(index)), to));
    }
    for _ in 0..kind.extra_lines {
        let from = PointId::new(dice.below(points));
        if tanks > 1 && dice.chance(0.3) {
            ends.push((End::Point(from), End::Tank(TankId::new(dice.below(tanks)))));
            continue;
        }
        let to = PointId::new(dice.below(points));
        if from != to {
            ends.push((End::Point(from), End::Point(to)));
        }
    }
    for (index, (a, b)) in ends.into_iter().enumerate() {
        let (from, to) = if dice.chance(0.5) { (a, b) } else { (b, a) };
        let length_m = dice.between(1.0, 40.0);
        let level = |end: End| match end {
            End::Downspout(id) => parts.downspouts[id.index()].foot,
            End::Point(id) => parts.points[id.index()].level,
            End::Tank(id) => parts.tanks[id.index()].inlet,
        };
        let station = |at_m: f64, level| Station { at: Length::m(at_m), level, ground: None };
        let mut profile = vec![station(0.0, level(from)), station(length_m, level(to))];
        if kind.crests && dice.chance(0.2) {
            let top = Length::m(dice.between(1.5, 2.5));
            profile.insert(1, station(length_m * dice.between(0.1, 0.9), top));
        }
        parts.lines.push(Line {
            tag: format!("L{index}"),
            from,
            to,
            pipe: pipe(BORES_M[2 + dice.below(4)]),
            length: Length::m(length_m),
            fittings: Vec::new(),
            k: dice.between(0.0, 3.0),
            profile,
        });
    }
    if kind.junctions {
        for point in 0..points {
            let here = End::Point(PointId::new(point));
            let joined: Vec<usize> = (0..parts.lines.len())
                .filter(|&l| parts.lines[l].from == here || parts.lines[l].to == here)
                .collect();
            if joined.len() == 3 && dice.chance(0.7) {
                let kind = if dice.chance(0.5) { JunctionKind::Wye } else { JunctionKind::Tee };
                let branch = LineId::new(joined[dice.below(3)]);
                parts.points[point].fitting = Some(Junction { kind, branch, added_k: 0.0 });
            }
        }
    }
    if kind.openings {
        // Only where water moves in every storm: what stands still is judged on the safe side.
        let rains = |end: End| match end {
            End::Downspout(id) => parts.downspouts[id.index()].catchment.to_m2() > 0.0,
            End::Point(_) | End::Tank(_) => false,
        };
        for line in &parts.lines {
            let ends = [(line.from, line.to), (line.to, line.from)];
            for (source, end) in ends {
                let (true, End::Point(point)) = (rains(source), end) else { continue };
                let level = Length::m(dice.between(2.0, 3.0));
                let opening = Opening { kind: OpeningKind::Vent, level };
                parts.points[point.index()].opening = dice.chance(0.4).then_some(opening);
            }
        }
        for tank in &mut parts.tanks {
            let full = tank.overflow.as_ref().map_or(tank.inlet, |o| o.level);
            let top_m = full.to_m().max(tank.inlet.to_m()) + dice.between(0.0, 0.3);
            tank.rim = dice.chance(0.6).then_some(Length::m(top_m));
        }
    }
    let owners = (0..parts.lines.len())
        .map(|line| Owner::Line(LineId::new(line)))
        .chain((0..parts.downspouts.len()).map(|d| Owner::Downspout(DownspoutId::new(d))));
    let mut open = Vec::new();
    for owner in owners {
        if open.len() < kind.most_open && dice.chance(kind.open) {
            open.push(OpenPipe { owner, candidates: candidates(&mut dice, kind.sizes) });
        }
    }
    let scenario = Scenario {
        law: if dice.chance(0.5) { FrictionLaw::DarcyWeisbach } else { FrictionLaw::HazenWilliams },
        temperature: Temperature::celsius(10.0),
        intensity: Intensity::m_per_s(1.0),
        tanks: if dice.chance(0.7) { TankState::Full } else { TankState::Empty },
    };
    let targets = Targets {
        freeboard: Length::m(0.1),
        most_speed: dice.chance(0.2).then(|| Speed::m_per_s(dice.between(0.8, 2.0))),
        least_speed: dice.chance(0.1).then(|| Speed::m_per_s(dice.between(0.01, 0.1))),
    };
    Problem { network: Network::build(parts).unwrap(), scenario, targets, open }
}

/// Some sizes; a larger one costs more, but now and then a price is out of order.
fn candidates(dice: &mut Dice, most: usize) -> Vec<Candidate> {
    let first = dice.below(BORES_M.len() + 1 - most);
    let mut found: Vec<Candidate> = (BORES_M[first..first + most].iter())
        .map(|&bore_m| Candidate {
            pipe: pipe(bore_m),
            cost_per_m: 400.0 * bore_m * bore_m * dice.between(0.9, 1.1),
        })
        .collect();
    if dice.chance(0.1) {
        found.swap(0, most - 1);
        found[0].cost_per_m *= 0.3;
    }
    found
}

/// How the lines of a tree hang together.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Shape {
    /// One after the other, a downspout at every second.
    Row,
    /// Each on one of the four before it.
    Comb,
    /// Each on any before it.
    Bush,
}

/// A tree of `lines` open lines in `sizes` sizes each, whose openings stand `head_m` and a little
/// over the tank; the whole length and demand do not hang on the number of lines.
pub(crate) fn tree(seed: u64, lines: usize, sizes: usize, shape: Shape, head_m: f64) -> Problem {
    let mut dice = Dice::new(seed);
    let share = 15.0 / lines as f64;
    let mut onto: Vec<Option<usize>> = vec![None; lines];
    let mut leaf = vec![true; lines];
    for (line, onto) in onto.iter_mut().enumerate().skip(1) {
        let to = match shape {
            Shape::Row => line - 1,
            Shape::Comb => line - 1 - dice.below(line.min(4)),
            Shape::Bush => dice.below(line),
        };
        *onto = Some(to);
        leaf[to] = false;
    }
    let inlet = Length::m(2.0);
    let mut parts = Parts::default();
    parts.tanks.push(Tank { tag: "T".to_owned(), inlet, ..Tank::default() });
    let mut ends = Vec::new();
    for (line, leaf) in leaf.iter().enumerate() {
        if *leaf || (matches!(shape, Shape::Row) && line % 2 == 0) {
            let outlet = Length::m(2.0 + head_m + dice.between(0.0, 0.3));
            parts.downspouts.push(Downspout {
                tag: format!("D{line}"),
                outlet,
                lip: outlet + Length::m(5.0),
                pipe: pipe(BORES_M[0]),
                catchment: Area::m2(share * dice.between(0.5e-3, 2e-3)),
                ..Downspout::default()
            });
            ends.push(End::Downspout(DownspoutId::new(parts.downspouts.len() - 1)));
        } else {
            parts.points.push(Point { tag: format!("P{line}"), ..Point::default() });
            ends.push(End::Point(PointId::new(parts.points.len() - 1)));
        }
    }
    let mut open = Vec::new();
    for line in 0..lines {
        let length_m = share * dice.between(1.0, 20.0);
        let to = onto[line].map_or(End::Tank(TankId::new(0)), |to| ends[to]);
        let end = if line == 0 { inlet } else { Length::m(-1.0) };
        let station = |at_m: f64, level| Station { at: Length::m(at_m), level, ground: None };
        parts.lines.push(Line {
            tag: format!("L{line}"),
            from: ends[line],
            to,
            pipe: pipe(BORES_M[0]),
            length: Length::m(length_m),
            fittings: Vec::new(),
            k: dice.between(0.0, 1.0),
            profile: vec![station(0.0, Length::m(-1.0)), station(length_m, end)],
        });
        let candidates = BORES_M[..sizes].iter().map(|&bore_m| Candidate {
            pipe: pipe(bore_m),
            cost_per_m: 400.0 * bore_m * bore_m + 0.5,
        });
        let owner = Owner::Line(LineId::new(line));
        open.push(OpenPipe { owner, candidates: candidates.collect() });
    }
    Problem {
        network: Network::build(parts).unwrap(),
        scenario: Scenario {
            law: FrictionLaw::DarcyWeisbach,
            temperature: Temperature::celsius(10.0),
            intensity: Intensity::m_per_s(1.0),
            tanks: TankState::Empty,
        },
        targets: Targets { freeboard: Length::m(0.1), ..Targets::default() },
        open,
    }
}
