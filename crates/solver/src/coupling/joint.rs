//! What wyes and tees add, found in the same step as heads and flows.
//!
//! The offsets follow the flows, and the flows answer to the offsets as to any head at their ends.
//! Where the unknowns form a tree both are eliminated along its branches; else both answers are put
//! in one small system, so that the matrix of the step stays that of the lines alone.

use super::branches;
use super::{inward, legs, miss_of};
use crate::assembly::Assembly;
use crate::model::{Iterate, Model};
use crate::tangent::Slopes;
use nalgebra::{DMatrix, DVector};

/// The farthest that a step moves an offset, in metres.
const LONGEST_M: f64 = 1.0;

/// What offsets answer to.
pub(crate) struct Pull {
    /// What is left over at each unknown while heads, levels and offsets stay, m³/s.
    pub(crate) net: Vec<f64>,
    /// By how much each leg's flow inward changes then, m³/s.
    pub(crate) led: Vec<f64>,
    /// By how much each offset is asked to change then, m.
    pub(crate) miss: Vec<f64>,
}

/// For each wye how the offset of a leg (first index) answers to the flow inward along another.
pub(crate) type Asks = Vec<[[f64; 3]; 3]>;

/// How the offsets that flows ask for answer to these.
pub(crate) fn asks(model: &Model, at: &Iterate) -> Asks {
    model.junctions.iter().map(|junction| junction.slopes(&at.flow, model.scale)).collect()
}

/// Moves the offsets to where, along the straight lines of a step, the flows ask for them, and the
/// lines' parts with them. Where those lines tell of no such place all stays as it is.
pub(crate) fn move_offsets(
    model: &Model,
    assembly: &mut Assembly,
    at: &mut Iterate,
    slopes: &mut Slopes,
) {
    if model.junctions.is_empty() {
        return;
    }
    let led = legs(model).map(|(line, side)| inward(side, slopes.parts[line].base - at.flow[line]));
    let pull = Pull { led: led.collect(), net: slopes.left_over(model), miss: miss_of(model, at) };
    let Some(moves) = moves(model, assembly, slopes, &asks(model, at), &pull) else { return };
    for ((line, side), change) in legs(model).zip(&moves) {
        let change = change.clamp(-LONGEST_M, LONGEST_M);
        at.offset[line][side] += change;
        let part = &mut slopes.parts[line];
        part.base += part.d_end[side] * change;
    }
}

/// The change of every offset, along the straight lines of a state.
pub(crate) fn moves(
    model: &Model,
    assembly: &mut Assembly,
    slopes: &Slopes,
    asks: &Asks,
    pull: &Pull,
) -> Option<Vec<f64>> {
    let found = branches::moves(model, assembly, slopes, asks, pull);
    found.or_else(|| at_once(model, assembly, slopes, asks, pull))
}

/// The same where the unknowns form no tree.
fn at_once(
    model: &Model,
    assembly: &mut Assembly,
    slopes: &Slopes,
    asks: &Asks,
    pull: &Pull,
) -> Option<Vec<f64>> {
    let ends: Vec<(usize, usize)> = legs(model).collect();
    let answers = slopes.answers(model, assembly, &pull.net, &ends)?;
    let (step, answers) = answers.split_first()?;
    let led = |(&(line, side), led): (&(usize, usize), &f64)| {
        led + inward(side, slopes.change(model, line, step))
    };
    let led: Vec<f64> = ends.iter().zip(&pull.led).map(led).collect();
    // What the offset of a leg is asked to be more where the flows of its wye change.
    let asked = |leg: usize, change: &dyn Fn(usize) -> f64| {
        let first = leg - leg % 3;
        (0..3).map(|of| asks[leg / 3][leg % 3][of] * change(first + of)).sum::<f64>()
    };
    let mut matrix = DMatrix::identity(ends.len(), ends.len());
    for (column, (answer, &(moved, side))) in answers.iter().zip(&ends).enumerate() {
        let comes = |leg: usize| {
            let (line, at) = ends[leg];
            let own = if line == moved { slopes.parts[line].d_end[side] } else { 0.0 };
            inward(at, own + slopes.change(model, line, answer))
        };
        for row in 0..ends.len() {
            matrix[(row, column)] -= asked(row, &comes);
        }
    }
    let mut right = DVector::from_column_slice(&pull.miss);
    for leg in 0..ends.len() {
        right[leg] += asked(leg, &|of| led[of]);
    }
    let moves = matrix.lu().solve(&right)?;
    moves.iter().all(|change| change.is_finite()).then(|| moves.iter().copied().collect())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::gap::rises;
    use crate::scenario::{FrictionLaw, Scenario, TankState};
    use crate::settings::Settings;
    use crate::steady::Solver;
    use wetrun_network::{
        Downspout, DownspoutId, End, Junction, JunctionKind, Line, LineId, Network, Parts, Pipe,
        Point, PointId, Station, Tank, TankId,
    };
    use wetrun_units::{Area, Intensity, Length, Temperature};

    const BORES_M: [f64; 3] = [0.0779, 0.10226, 0.154];

    fn pipe(bore_m: f64) -> Pipe {
        let roughness = Some(Length::m(1.5e-6));
        Pipe { inside: Length::m(bore_m), roughness, ..Pipe::default() }
    }

    fn line(from: End, to: End, bore_m: f64) -> Line {
        let at = |at, level| Station { at: Length::m(at), level: Length::m(level), ground: None };
        Line {
            tag: String::new(),
            from,
            to,
            pipe: pipe(bore_m),
            length: Length::m(8.0),
            fittings: Vec::new(),
            k: 0.5,
            profile: vec![
                at(0.0, -0.5),
                at(8.0, if matches!(to, End::Tank(_)) { 2.0 } else { -0.5 }),
            ],
        }
    }

    /// Four downspouts, joined two and two by a wye and a tee, and these by another wye.
    fn branched() -> Network {
        let downspout = |index: usize| Downspout {
            tag: format!("D{index}"),
            outlet: Length::m(2.2 + 0.3 * index as f64),
            lip: Length::m(2.2 + 0.3 * index as f64),
            foot: Length::m(-0.5),
            leaf_head: None,
            pipe: pipe(0.0779),
            fittings: Vec::new(),
            k: 0.0,
            catchment: Area::m2(3e-3 + 1e-3 * index as f64),
        };
        let point = |(index, kind, branch): (usize, JunctionKind, usize)| Point {
            tag: format!("P{index}"),
            level: Length::m(-0.5),
            ground: None,
            fitting: Some(Junction { kind, branch: LineId::new(branch), added_k: 0.0 }),
            drain: None,
            cleanout: false,
            opening: None,
        };
        let (wye, tee) = (JunctionKind::Wye, JunctionKind::Tee);
        let d = |index| End::Downspout(DownspoutId::new(index));
        let p = |index| End::Point(PointId::new(index));
        let mut lines = vec![
            line(d(0), p(0), BORES_M[1]),
            line(d(1), p(0), BORES_M[0]),
            line(d(2), p(1), BORES_M[1]),
            line(p(1), d(3), BORES_M[0]),
            line(p(2), p(0), BORES_M[2]),
            line(p(1), p(2), BORES_M[1]),
            line(p(2), End::Tank(TankId::new(0)), BORES_M[2]),
        ];
        for (index, line) in lines.iter_mut().enumerate() {
            line.tag = format!("L{index}");
        }
        let tank = Tank {
            tag: "T".to_owned(),
            inlet: Length::m(2.0),
            overflow: None,
            floor: None,
            rim: None,
            ground: None,
            volume: None,
        };
        let parts = Parts {
            downspouts: (0..4).map(downspout).collect(),
            points: [(0, wye, 1), (1, tee, 3), (2, wye, 5)].map(point).into(),
            lines,
            tanks: vec![tank],
        };
        Network::build(parts).unwrap()
    }

    /// The branches of a tree against one small system for all wyes, by a dense factorisation.
    #[test]
    fn wyes_of_a_tree_move_as_all_of_them_at_once() {
        let storm = Scenario {
            law: FrictionLaw::DarcyWeisbach,
            temperature: Temperature::celsius(10.0),
            intensity: Intensity::m_per_s(1.0),
            tanks: TankState::Empty,
        };
        let mut solver = Solver::new(Model::new(&branched(), &storm).unwrap(), Settings::default());
        let at = solver.solve(None).ok().unwrap().at;
        let (model, assembly) = solver.with_assembly();
        assert!(at.admitted.iter().zip(&model.lips).any(|(takes, lip)| *takes < lip.demand()));
        let slopes = Slopes::of(model, &at, &rises(model, &at));
        let asks = asks(model, &at);
        let pull = Pull {
            net: (0..model.unknowns()).map(|n| 1e-4 * (1.0 + n as f64)).collect(),
            led: (0..9).map(|leg| 1e-5 * f64::from(leg - 4)).collect(),
            miss: (0..9).map(|leg| 1e-2 * f64::from(5 - leg)).collect(),
        };
        let along = branches::moves(model, assembly, &slopes, &asks, &pull).unwrap();
        let dense = at_once(model, assembly, &slopes, &asks, &pull).unwrap();
        for (one, other) in along.iter().zip(&dense) {
            assert!((one - other).abs() <= 1e-9 * one.abs().max(1e-3), "{along:?} {dense:?}");
        }
    }
}
