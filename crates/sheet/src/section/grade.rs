//! The storm grade line along one line, from its downstream head up, station by station.

use super::profile::Vert;
use crate::input::SheetInput;
use wetrun_network::{End, Line};
use wetrun_solver::laws::{head_loss, outfall, water};
use wetrun_solver::{FrictionLaw, LineState};
use wetrun_units::Flow;

/// A place on the grade line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Head {
    /// Distance on the level from the foot.
    pub x_m: f64,
    /// Total head.
    pub head_m: f64,
}

/// Puts the heads at the places of a line, and gives the line through them in the order of the
/// walk. Against the flow the head grows by what the full pipe loses; at each invert, but for
/// those at tanks, it is that invert + Ec(Q) at least. Where a high invert holds the water up, the
/// pipe is full up to where the grade line meets it, and the water runs down in it from there.
pub(super) fn heads(
    input: &SheetInput<'_>,
    line: &Line,
    state: &LineState,
    forward: bool,
    verts: &mut [Vert],
) -> Vec<Head> {
    let with_walk = (state.flow.to_m3_per_s() >= 0.0) == forward;
    if !with_walk {
        verts.reverse();
    }
    let (upper, lower) = if state.flow.to_m3_per_s() >= 0.0 {
        ((line.from, state.from_head.to_m()), state.to_head.to_m())
    } else {
        ((line.to, state.to_head.to_m()), state.from_head.to_m())
    };
    let mut path = match law(input, line, state) {
        Some(law) => climb(&law, lower, matches!(upper.0, End::Tank(_)), verts),
        None => still(upper.1, lower, verts),
    };
    if !with_walk {
        verts.reverse();
        path.reverse();
    }
    path
}

/// What decides the heads of a line in which water flows.
struct Law {
    /// Lost in a metre of the full pipe, K losses spread over the length.
    per_m: f64,
    /// Critical energy of the flow.
    energy_m: f64,
    /// What the wye or tee at the downstream end costs.
    junction_m: f64,
    /// Whether the line falls into a tank.
    into_tank: bool,
}

/// None where no water flows.
fn law(input: &SheetInput<'_>, line: &Line, state: &LineState) -> Option<Law> {
    let sign = state.flow.to_m3_per_s().signum();
    let flow = Flow::m3_per_s(state.flow.to_m3_per_s().abs());
    let friction = match (input.scenario.law, line.pipe.roughness, line.pipe.c) {
        (FrictionLaw::DarcyWeisbach, Some(roughness), _) => {
            let viscosity = water::viscosity(input.scenario.temperature);
            head_loss::darcy_weisbach(flow, roughness, line.pipe.inside, line.length, viscosity)
        }
        (FrictionLaw::HazenWilliams, _, Some(c)) => {
            head_loss::hazen_williams(flow, c, line.pipe.inside, line.length)
        }
        _ => return None,
    };
    let friction_m = friction.to_m();
    if friction_m <= 0.0 {
        return None;
    }
    let fittings_m = head_loss::fitting(line.total_k(), state.velocity).to_m().abs();
    // The report counts friction and K over the full stretches alone; the rest is the junction's.
    let full = (state.friction_loss.to_m() * sign / friction_m).clamp(0.0, 1.0);
    let into = if sign > 0.0 { line.to } else { line.from };
    Some(Law {
        per_m: (friction_m + fittings_m) / line.length.to_m(),
        energy_m: outfall::critical_energy(flow, line.pipe.inside).to_m(),
        junction_m: state.fitting_loss.to_m() * sign - fittings_m * full,
        into_tank: matches!(into, End::Tank(_)),
    })
}

/// From the last of the places, which go with the flow, up to the first.
fn climb(law: &Law, lower_m: f64, out_of_tank: bool, verts: &mut [Vert]) -> Vec<Head> {
    let Some((last, rest)) = verts.split_last_mut() else { return Vec::new() };
    last.head_m = lower_m;
    let mut path = vec![Head { x_m: last.x_m, head_m: lower_m }];
    let mut head_m = lower_m + law.junction_m;
    if !law.into_tank {
        head_m = head_m.max(last.invert_m + law.energy_m);
    }
    if (head_m - lower_m).abs() > 1e-9 {
        path.push(Head { x_m: last.x_m, head_m });
    }
    let mut below = *last;
    for (index, vert) in rest.iter_mut().enumerate().rev() {
        let length_m = (below.along_m - vert.along_m).abs();
        let full_m = head_m + law.per_m * length_m;
        let crest_m = vert.invert_m + law.energy_m;
        let free = index > 0 || !out_of_tank;
        if free && crest_m > full_m {
            path.extend(meets(law, (head_m, length_m), below, *vert));
            head_m = crest_m;
        } else {
            head_m = full_m;
        }
        vert.head_m = head_m;
        path.push(Head { x_m: vert.x_m, head_m });
        below = *vert;
    }
    path.reverse();
    path
}

/// Where the grade line of the full pipe meets the water that runs down to it.
fn meets(law: &Law, (head_m, length_m): (f64, f64), below: Vert, crest: Vert) -> Option<Head> {
    let over_m = head_m - below.invert_m - law.energy_m;
    let steeper = (crest.invert_m - below.invert_m) / length_m - law.per_m;
    let along_m = over_m / steeper;
    (over_m > 0.0 && along_m > 0.0 && along_m < length_m).then(|| Head {
        x_m: below.x_m + (crest.x_m - below.x_m) * along_m / length_m,
        head_m: head_m + law.per_m * along_m,
    })
}

/// Still water: what stands at either end reaches as far as no invert rises out of it; between
/// the two the pipe is dry.
fn still(first_m: f64, last_m: f64, verts: &mut [Vert]) -> Vec<Head> {
    let wet = |vert: &Vert, level_m: f64| vert.invert_m <= level_m + 1e-9;
    let count = verts.len();
    let from_first = verts.iter().take_while(|v| wet(v, first_m)).count().max(1);
    let from_last = verts.iter().rev().take_while(|v| wet(v, last_m)).count().max(1);
    for (index, vert) in verts.iter_mut().enumerate() {
        vert.head_m = if index < from_first {
            first_m
        } else if index + from_last >= count {
            last_m
        } else {
            vert.invert_m
        };
    }
    if let Some(last) = verts.last_mut() {
        last.head_m = last_m;
    }
    verts.iter().map(|v| Head { x_m: v.x_m, head_m: v.head_m }).collect()
}
