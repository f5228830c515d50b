//! The storm grade line of a line, put where the section draws it.

use super::profile::Vert;
use crate::input::SheetInput;
use wetrun_network::Line;
use wetrun_solver::{GradePoint, LineState, grade_line};

/// A place on the grade line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Head {
    /// Distance on the level from the foot.
    pub x_m: f64,
    /// Total head.
    pub head_m: f64,
}

/// Puts the heads at the places of a line, which stand in the order of the walk, and gives the grade
/// line through them in that order. At an end it is the head of what is joined there.
pub(super) fn heads(
    input: &SheetInput<'_>,
    line: &Line,
    state: &LineState,
    forward: bool,
    verts: &mut [Vert],
) -> Vec<Head> {
    let mut path = grade_line(&input.scenario, line, state);
    if !forward {
        path.reverse();
    }
    let station_m = |vert: usize| {
        let station = if forward { vert } else { line.profile.len() - 1 - vert };
        line.profile.get(station).map_or(f64::NAN, |s| s.at.to_m())
    };
    let last = verts.len().saturating_sub(1);
    let mut line_up = Vec::with_capacity(path.len());
    let mut vert = 0;
    for (index, GradePoint { at, head }) in path.iter().enumerate() {
        // On to the stretch that ends at this place or beyond.
        let reached = |vert: usize| (at.to_m() - station_m(vert)).abs() <= 0.0;
        let passed = |vert: usize| match forward {
            true => at.to_m() > station_m(vert + 1),
            false => at.to_m() < station_m(vert + 1),
        };
        while vert < last && (passed(vert) || reached(vert + 1)) {
            vert += 1;
        }
        if reached(vert) {
            // At the first place the outermost head counts, at the last one the last.
            if vert > 0 || index == 0 {
                verts[vert].head_m = head.to_m();
            }
            line_up.push(Head { x_m: verts[vert].x_m, head_m: head.to_m() });
        } else if let [from, to] = verts[vert..(vert + 2).min(verts.len())] {
            let [from_m, to_m] = [station_m(vert), station_m(vert + 1)];
            let share = (at.to_m() - from_m) / (to_m - from_m);
            let x_m = from.x_m + (to.x_m - from.x_m) * share;
            line_up.push(Head { x_m, head_m: head.to_m() });
        }
    }
    line_up
}
