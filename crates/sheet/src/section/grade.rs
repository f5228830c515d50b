//! The grade line of a line that a high point breaks: full below it, held up at it.

use super::profile::Run;
use crate::input::SheetInput;
use wetrun_network::End;
use wetrun_solver::FrictionLaw;
use wetrun_solver::laws::{head_loss, outfall, water};
use wetrun_units::Flow;

/// Puts the heads of a broken line at its places. Against the flow, the head grows by the losses
/// of the full pipe, and at each invert it is that invert + Ec(Q) at least.
pub(super) fn broken(input: &SheetInput<'_>, run: &mut Run) {
    let line = input.network.line(run.line);
    let state = &input.steady.lines[run.line.index()];
    let flow = Flow::m3_per_s(state.flow.to_m3_per_s().abs());
    let friction = match (input.scenario.law, line.pipe.roughness, line.pipe.c) {
        (FrictionLaw::DarcyWeisbach, Some(roughness), _) => {
            let viscosity = water::viscosity(input.scenario.temperature);
            head_loss::darcy_weisbach(flow, roughness, line.pipe.inside, line.length, viscosity)
        }
        (FrictionLaw::HazenWilliams, _, Some(c)) => {
            head_loss::hazen_williams(flow, c, line.pipe.inside, line.length)
        }
        _ => return,
    };
    let fittings_m = state.fitting_loss.to_m().abs();
    let per_m = (friction.to_m() + fittings_m) / line.length.to_m();
    let energy_m = outfall::critical_energy(flow, line.pipe.inside).to_m();
    // Water runs along the walk where its flow has the walk's sign.
    let with_walk = (state.flow.to_m3_per_s() >= 0.0) == run.forward;
    let last = run.verts.len() - 1;
    let order: Vec<usize> =
        if with_walk { (0..=last).rev().collect() } else { (0..=last).collect() };
    let (first_is_tank, last_is_tank) =
        (matches!(line.from, End::Tank(_)), matches!(line.to, End::Tank(_)));
    let at_tank = |index: usize| {
        let at_from = (index == 0) == run.forward;
        (index == 0 || index == last) && if at_from { first_is_tank } else { last_is_tank }
    };
    let mut below: Option<(f64, f64)> = None; // head and place downstream
    for index in order {
        let vert = &mut run.verts[index];
        let mut head_m = match below {
            Some((head_m, along_m)) => head_m + per_m * (vert.along_m - along_m).abs(),
            None => vert.head_m,
        };
        if !at_tank(index) {
            head_m = head_m.max(vert.invert_m + energy_m);
        }
        vert.head_m = head_m;
        below = Some((head_m, vert.along_m));
    }
}
