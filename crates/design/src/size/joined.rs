//! What a wye or tee costs for three bores and two flows: asked of the solver itself, on the
//! smallest network that has the junction, so that there is one relation and not two.

use wetrun_network::{
    Downspout, DownspoutId, End, Junction, JunctionKind, Line, LineId, Network, Parts, Pipe, Point,
    PointId, Station, Tank, TankId,
};
use wetrun_solver::{Scenario, TankState};
use wetrun_units::{Area, Intensity, Length};

/// A line that comes in.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Leg<'p> {
    pub(crate) pipe: &'p Pipe,
    pub(crate) flow_m3_per_s: f64,
}

/// What the junction adds to the head of its point as the two incoming lines and then the
/// outgoing one see it. `branch` is the one of the three that comes in at an angle.
pub(crate) fn offsets_m(
    scenario: &Scenario,
    kind: JunctionKind,
    branch: usize,
    legs: [Leg<'_>; 2],
    out: &Pipe,
) -> Option<[f64; 3]> {
    let combined = legs[0].flow_m3_per_s + legs[1].flow_m3_per_s;
    if combined <= 0.0 {
        return Some([0.0; 3]);
    }
    let end = [0, 1].map(|leg| End::Downspout(DownspoutId::new(leg)));
    let point = End::Point(PointId::new(0));
    let lines = [
        line(end[0], point, legs[0].pipe),
        line(end[1], point, legs[1].pipe),
        line(point, End::Tank(TankId::new(0)), out),
    ];
    let parts = Parts {
        // A line that stands still sees the junction as a trickle in it would.
        downspouts: legs.map(|leg| source(leg.flow_m3_per_s.max(1e-9 * combined))).to_vec(),
        points: vec![Point {
            fitting: Some(Junction { kind, branch: LineId::new(branch) }),
            ..Point::default()
        }],
        lines: lines.to_vec(),
        tanks: vec![Tank::default()],
    };
    let network = Network::build(parts).ok()?;
    let rain = Intensity::m_per_s(1.0);
    let scenario = Scenario { intensity: rain, tanks: TankState::Empty, ..*scenario };
    let state = wetrun_solver::solve(&network, &scenario).ok()?;
    let loss_m = |line: usize| state.lines[line].fitting_loss.to_m();
    Some([loss_m(0), loss_m(1), -loss_m(2)])
}

/// A downspout that takes `flow` in a rain of 1 m/s and never spills.
fn source(flow_m3_per_s: f64) -> Downspout {
    const HIGH: Length = Length::m(1e4);
    Downspout {
        outlet: HIGH,
        lip: HIGH,
        foot: HIGH,
        pipe: Pipe {
            inside: Length::m(10.0),
            roughness: Some(Length::ZERO),
            c: Some(150.0),
            ..Pipe::default()
        },
        catchment: Area::m2(flow_m3_per_s),
        ..Downspout::default()
    }
}

fn line(from: End, to: End, pipe: &Pipe) -> Line {
    let station = |at_m| Station { at: Length::m(at_m), level: Length::ZERO, ground: None };
    Line {
        tag: String::new(),
        from,
        to,
        pipe: pipe.clone(),
        length: Length::m(1.0),
        fittings: Vec::new(),
        k: 0.0,
        profile: vec![station(0.0), station(1.0)],
    }
}
