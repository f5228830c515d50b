//! A solved set of unknowns told in the words of the network.

use crate::gap::{Flowing, Worst};
use crate::line::{Far, Joint};
use crate::model::{Iterate, Model};
use crate::rest::Rest;
use crate::routes::Routes;
use crate::state::{
    DownspoutState, LineState, NotSolved, OpeningState, PointState, Residuals, Steady, TankLevels,
};
use crate::steady::{Failed, Solved, Solver};
use std::sync::Arc;
use wetrun_network::Network;
use wetrun_units::{Flow, Length, Speed};

/// The steady state of a solved model; `rest` is the water between storms.
pub(crate) fn steady(
    network: &Network,
    model: &Model,
    rest: &Arc<Rest>,
    solved: &Solved,
    steps: u32,
) -> Steady {
    let at = &solved.at;
    let lines: Vec<LineState> = (solved.survey.lines.iter().enumerate())
        .map(|(l, flowing)| line(model, at, l, flowing))
        .collect();
    let points = points(network, model, at);
    Steady {
        downspouts: (0..model.downspouts).map(|d| downspout(network, model, at, d)).collect(),
        tanks: tanks(model, at),
        openings: openings(network, model, &points, at),
        points,
        routes: Routes::new(network, lines.iter().map(|l| l.flow)),
        lines,
        rest: Arc::clone(rest),
        residuals: Residuals {
            iterations: steps,
            continuity: solved.survey.gap.continuity,
            head: Length::m(solved.survey.gap.head_m),
        },
    }
}

/// Why no steady state was found, naming the equation that is furthest off.
pub(crate) fn failed(network: &Network, solver: &Solver, failed: &Failed) -> NotSolved {
    let model = &solver.model;
    let tag = match failed.gap.worst {
        Worst::Tank(tank) => network.tanks().get(tank).map(|t| &t.tag),
        Worst::Line(line) => network.lines().get(line).map(|l| &l.tag),
        Worst::Lip(node) | Worst::Node(node) if node < model.downspouts => {
            network.downspouts().get(node).map(|d| &d.tag)
        }
        Worst::Lip(node) | Worst::Node(node) => {
            let point = model.points.iter().position(|&of_point| of_point == node);
            point.and_then(|point| network.points().get(point)).map(|p| &p.tag)
        }
    };
    NotSolved::Unfinished {
        tag: tag.cloned().unwrap_or_default(),
        worst_m: failed.gap.head_m.min(f64::MAX),
        worst_share: failed.gap.continuity.min(f64::MAX),
        iterations: solver.steps(),
    }
}

fn downspout(network: &Network, model: &Model, at: &Iterate, d: usize) -> DownspoutState {
    let this = &model.lips[d];
    let level = |above_reference_m: f64| Length::m(above_reference_m + model.measure.reference_m);
    let standing = this.standing(at.admitted[d], at.head[d]);
    let standing_level = level(standing.level_m);
    DownspoutState {
        demand: Flow::m3_per_s(this.demand()),
        admitted: Flow::m3_per_s(at.admitted[d]),
        spilled: Flow::m3_per_s(this.demand() - at.admitted[d]),
        standing_level,
        headroom: network.downspouts()[d].opening() - standing_level,
        foot_head: level(at.head[d]),
        friction_loss: Length::m(standing.friction_m),
        fitting_loss: Length::m(standing.fitting_m),
    }
}

fn line(model: &Model, at: &Iterate, index: usize, flowing: &Flowing) -> LineState {
    let this = &model.lines[index];
    let flow = at.flow[index];
    let level = |above_reference_m: f64| Length::m(above_reference_m + model.measure.reference_m);
    let (from_head_m, to_head_m, friction_m, fitting_m, broken);
    // A wye or tee takes its loss at the ends: it is part of what the fittings cost.
    let here = |side: usize| match this.ends[side] {
        Joint::Node(_) => at.offset[index][side],
        Joint::Tank(_) => 0.0,
    };
    if let Some((from, rise)) = *flowing {
        let full = rise.full_m / this.length_m;
        let sign = flow.signum();
        let junctions_m = here(1 - from) - here(from);
        friction_m = sign * rise.friction_per_m * rise.full_m;
        fitting_m = sign * (this.fitting_s2_m5 * flow * flow * full + junctions_m);
        let upstream = rise.head_m - here(from);
        let downstream = rise.end_head_m - here(1 - from);
        [from_head_m, to_head_m] =
            if from == 0 { [upstream, downstream] } else { [downstream, upstream] };
        broken = rise.broken;
    } else {
        (friction_m, fitting_m, broken) = (0.0, 0.0, false);
        [from_head_m, to_head_m] = still_heads(model, at, index);
    }
    LineState {
        flow: Flow::m3_per_s(flow),
        velocity: Speed::m_per_s(flow / this.friction.area_m2()),
        reynolds: this.friction.reynolds(flow.abs()),
        friction_loss: Length::m(friction_m),
        fitting_loss: Length::m(fitting_m),
        from_head: level(from_head_m),
        to_head: level(to_head_m),
        junction_heads: [0, 1].map(|side| Length::m(here(side))),
        broken,
    }
}

/// The heads at the ends of a line in which nothing flows: at a tank the water level where that
/// covers the inlet, else the line's own.
fn still_heads(model: &Model, at: &Iterate, index: usize) -> [f64; 2] {
    let this = &model.lines[index];
    let own = |side: usize| match model.far(at, index, side) {
        Far::Node(_) => match this.ends[side] {
            Joint::Node(node) => Some(at.head[node]),
            Joint::Tank(_) => None,
        },
        Far::Tank(water) => water.filter(|level| *level > this.end_level(side)),
    };
    let across = |side: usize| {
        // What stands at the other end reaches this one unless an invert holds it back.
        let spill = this.end_level(side);
        match own(1 - side) {
            Some(head) => {
                let crest = this.inverts.iter().map(|s| s.level_m);
                let held = crest.clone().enumerate().any(|(i, level)| {
                    let here = i == if side == 0 { 0 } else { this.inverts.len() - 1 };
                    !here && level > head
                });
                if held { spill } else { head }
            }
            None => spill,
        }
    };
    [0, 1].map(|side| own(side).unwrap_or_else(|| across(side)))
}

fn points(network: &Network, model: &Model, at: &Iterate) -> Vec<PointState> {
    (network.points().iter().zip(&model.points))
        .map(|(point, &node)| PointState {
            head: if model.incidence.at(node).is_empty() {
                point.level
            } else {
                Length::m(at.head[node] + model.measure.reference_m)
            },
        })
        .collect()
}

fn openings(
    network: &Network,
    model: &Model,
    points: &[PointState],
    at: &Iterate,
) -> Vec<OpeningState> {
    (network.openings().zip(&at.admitted[model.downspouts..]))
        .map(|((id, opening), admitted)| {
            let escapes = *admitted < 0.0;
            let below = opening.level - points[id.index()].head;
            OpeningState {
                at: id,
                headroom: if escapes { Length::ZERO } else { Length::m(below.to_m().max(0.0)) },
                escapes: Flow::m3_per_s(if escapes { -admitted } else { 0.0 }),
            }
        })
        .collect()
}

fn tanks(model: &Model, at: &Iterate) -> Vec<TankLevels> {
    let receipts = model.receipts(at);
    let levels = model.levels(&receipts.net);
    (receipts.net.iter().zip(receipts.overflow).zip(levels))
        .map(|((received, overflow), level)| TankLevels {
            inflow: Flow::m3_per_s(*received),
            overflow: Flow::m3_per_s(overflow),
            over_rim: Flow::m3_per_s(level.map_or(0.0, |_| received.max(0.0) - overflow)),
            water_level: level.map(|l| Length::m(l + model.measure.reference_m)),
        })
        .collect()
}
