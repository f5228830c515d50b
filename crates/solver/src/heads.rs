//! The state that a set of heads gives: every flow is read off what stands at its ends.
//!
//! Each line's flow is a continuous function of what stands at its two ends, rising with the
//! upstream head and falling with the downstream one, and what a downspout takes falls with the
//! head at its foot. So the imbalance is a monotone function of the heads.

use crate::assembly::{Assembly, left_over};
use crate::line::Through;
use crate::model::{Iterate, Model};
use crate::tank::Letting;

/// What a search does with the moving tanks' levels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Levels {
    Held,
    /// Found with the heads.
    Free,
}

/// How a state is read off its heads.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Reading {
    pub(crate) levels: Levels,
    /// All the rain leaves by an opening that it stands over by so much, in metres: what really holds
    /// the head there to the last digit tells a flow by rounding alone.
    pub(crate) over_opening_m: f64,
}

/// The state that a set of heads gives: flows, what is taken, and how both answer to the heads.
#[derive(Clone)]
pub(crate) struct Evaluated {
    pub(crate) at: Iterate,
    lines: Vec<Through>,
    takes: Vec<f64>,
    lettings: Vec<Letting>,
    /// What is left over at each unknown, and all of it together.
    pub(crate) net: Vec<f64>,
    pub(crate) size: f64,
    pub(crate) reading: Reading,
}

impl Evaluated {
    /// Sets the matrix to how all answers to the heads and levels.
    pub(crate) fn assemble(&self, model: &Model, assembly: &mut Assembly) {
        assembly.matrix.clear();
        for (line, through) in self.lines.iter().enumerate() {
            assembly.add_line(model, line, through.d_end);
        }
        for (d, slope) in self.takes.iter().enumerate() {
            assembly.matrix.add(d, -slope);
        }
        for (place, letting) in self.lettings.iter().enumerate() {
            assembly.add_tank(model, place, letting);
        }
    }
}

/// What leaves the moving tanks, read off their levels; where an overflow without a pipe joins two
/// waters, off what it receives.
fn by_levels(model: &Model, at: &Iterate) -> Vec<Letting> {
    if model.moving.is_empty() {
        return Vec::new();
    }
    let receipts = model.receipts(at);
    let letting = |&tank: &usize| {
        let (level_m, beyond) = (at.water[tank]?, model.beyond(at, tank));
        let (received, overflow) = (receipts.net[tank], receipts.overflow[tank]);
        let this = &model.tanks[tank];
        Some(match this.pipe {
            Some(_) => this.by_level(level_m, received, beyond),
            None => this.by_flow(level_m, received, overflow, beyond, 0.0),
        })
    };
    model.moving.iter().filter_map(letting).collect()
}

pub(crate) fn evaluate(model: &Model, mut at: Iterate, reading: Reading) -> Evaluated {
    let Reading { levels, over_opening_m } = reading;
    if levels == Levels::Free {
        model.hold_levels(&mut at);
    }
    let lines: Vec<Through> = (0..model.lines.len())
        .map(|l| {
            let ends = [model.far(&at, l, 0), model.far(&at, l, 1)];
            model.lines[l].through(ends, at.flow[l])
        })
        .collect();
    for (flow, through) in at.flow.iter_mut().zip(&lines) {
        *flow = through.flow;
    }
    let takes = (model.lips.iter().enumerate())
        .map(|(d, downspout)| {
            let (admitted, slope) = match downspout.opens() {
                true => {
                    let slope = -model.scale / over_opening_m;
                    let over_m = (at.head[d] - downspout.lip_m).max(0.0);
                    (slope * over_m, if over_m > 0.0 { slope } else { 0.0 })
                }
                false => downspout.admits(at.head[d], at.admitted[d]),
            };
            at.admitted[d] = admitted;
            slope
        })
        .collect();
    let held = || vec![Letting::held(); model.moving.len()];
    let lettings = if levels == Levels::Held { held() } else { by_levels(model, &at) };
    let mut net = left_over(model, at.admitted.iter().copied(), at.flow.iter().copied(), &lettings);
    if levels == Levels::Held {
        net[model.nodes..].fill(0.0);
    }
    let size = net.iter().map(|n| n.abs()).sum();
    Evaluated { at, lines, takes, lettings, net, size, reading }
}
