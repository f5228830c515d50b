//! A state's straight lines: what each line carries and each downspout takes as its heads move.

use crate::assembly::{Assembly, carry, left_over};
use crate::gap::Flowing;
use crate::laws::critical;
use crate::line::{Far, Joint};
use crate::model::{Iterate, Model};
use crate::tank::Letting;

/// No line and no lip answers by less, m for each m³/s: what a pivot can bear.
pub(crate) const LEAST_RESISTANCE: f64 = 1e-12;
/// A still lip answers by no less than this part of what it would in a trickle.
const STILL_LIP: f64 = 1e-3;
/// The shares of the scale up to which the flows of a solved state answer as a trickle does, and that
/// damp its straight lines: both far below what the contract asks of continuity.
const TRICKLE: f64 = 1e-9;
const DAMPING: f64 = 1e-12;
/// Where that leads to no stable factor, so many times more is tried.
const MORE_DAMPING: [f64; 4] = [1.0, 1e3, 1e6, 1e9];

/// One line's part in a step: `flow = base + Σ d_end · change of its ends`.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Part {
    pub(crate) base: f64,
    pub(crate) d_end: [f64; 2],
}

/// A line's part. `flowing` is its rise, where it flows; flows below `trickle` answer as that does.
pub(crate) fn line_part(
    model: &Model,
    at: &Iterate,
    line: usize,
    flowing: &Flowing,
    trickle: f64,
) -> Part {
    let this = &model.lines[line];
    let ends = [model.far(at, line, 0), model.far(at, line, 1)];
    let flow = at.flow[line];
    // Where an outfall or a crest rules, the flow is read off the head over it, which it follows
    // smoothly down to none; so is the flow of a line that stands still.
    let by_heads = || {
        let through = this.through(ends, flow);
        Part { base: through.flow, d_end: through.d_end }
    };
    let size = flow.abs();
    let (from, rise) = match (flowing, ends) {
        (Some(flowing), _) => *flowing,
        (None, [Far::Node(one), Far::Node(other)]) => {
            let from = usize::from(other > one);
            (from, this.rise(0.0, from, ends[1 - from]))
        }
        (None, _) => return by_heads(),
    };
    let source = match ends[from] {
        Far::Node(head) => head,
        // The water's whole head drives the line, or the inlet lets out no more.
        Far::Tank(Some(level)) => {
            let over_inlet =
                level - this.end_level(from) - critical::energy(this.bore_m, size).energy_m;
            if over_inlet <= (level - rise.head_m).max(0.0) {
                return by_heads();
            }
            level
        }
        Far::Tank(None) => return by_heads(),
    };
    if rise.d_far == 0.0 {
        return by_heads();
    }
    // Near no flow the slope of a law may vanish: a secant stands in.
    let resistance = if size > trickle {
        rise.d_flow
    } else {
        let secant = this.friction.slope(size + trickle).0 - this.friction.slope(size).0;
        rise.d_flow.max(secant / trickle * this.length_m)
    };
    let conductance = 1.0 / resistance.max(LEAST_RESISTANCE);
    let sign = if from == 0 { 1.0 } else { -1.0 };
    let mut d_end = [0.0; 2];
    d_end[from] = sign * conductance;
    d_end[1 - from] = -sign * conductance;
    Part { base: flow + sign * conductance * (source - rise.head_m), d_end }
}

/// What each downspout takes in a step: `base + slope · change of its foot's head`. A lip that is
/// `soft` (m for each m³/s) answers less to the head below it than it should.
pub(crate) fn takes(model: &Model, at: &Iterate, trickle: f64, soft: f64) -> Vec<(f64, f64)> {
    (model.lips.iter().enumerate())
        .map(|(d, this)| {
            let head = at.head[d];
            if at.admitted[d] >= this.demand() && head <= this.spill_head() {
                return (this.demand(), 0.0);
            }
            let loss = this.lip_loss(at.admitted[d]);
            let resistance = if at.admitted[d].abs() > trickle {
                loss.d_flow
            } else {
                loss.d_flow.max(this.lip_loss(trickle).d_flow * STILL_LIP)
            };
            let conductance = 1.0 / (resistance + soft).max(LEAST_RESISTANCE);
            (at.admitted[d] + conductance * (this.lip_m - loss.head_m - head), -conductance)
        })
        .collect()
}

/// What leaves the moving tanks in a step, by their levels.
pub(crate) fn lettings(model: &Model, at: &Iterate, trickle: f64) -> Vec<Letting> {
    if model.moving.is_empty() {
        return Vec::new();
    }
    let receipts = model.receipts(at);
    let letting = |&tank: &usize| {
        let (net, over) = (receipts.net[tank], receipts.overflow[tank]);
        let beyond = model.beyond(at, tank);
        let (this, level_m) = (&model.tanks[tank], at.water[tank]?);
        if this.is_clogged(model.scale) {
            return Some(this.by_level(level_m, net, beyond));
        }
        Some(this.by_flow(level_m, net, over, beyond, trickle))
    };
    model.moving.iter().filter_map(letting).collect()
}

/// How the flows of a state answer to its ends.
pub(crate) struct Slopes {
    pub(crate) parts: Vec<Part>,
    /// Of each lip what it takes, and how that answers to its head.
    pub(crate) takes: Vec<(f64, f64)>,
    pub(crate) lettings: Vec<Letting>,
    pub(crate) damping: f64,
}

impl Slopes {
    /// Of a state whose lines are looked over.
    pub(crate) fn of(model: &Model, at: &Iterate, lines: &[Flowing]) -> Self {
        let trickle = TRICKLE * model.scale;
        let parts = (lines.iter().enumerate())
            .map(|(line, flowing)| line_part(model, at, line, flowing, trickle))
            .collect();
        let takes = takes(model, at, trickle, 0.0);
        let lettings = lettings(model, at, trickle);
        Self { parts, takes, lettings, damping: DAMPING * model.scale }
    }

    /// The changes of all heads and levels that balance every node and tank under the straight lines.
    pub(crate) fn balance(&self, model: &Model, assembly: &mut Assembly) -> Option<Vec<f64>> {
        self.answer(model, assembly, &self.left_over(model))
    }

    /// What the straight lines leave over at each unknown while all heads and levels stay.
    pub(crate) fn left_over(&self, model: &Model) -> Vec<f64> {
        let admitted = self.takes.iter().map(|take| take.0);
        let flows = self.parts.iter().map(|part| part.base);
        left_over(model, admitted, flows, &self.lettings)
    }

    /// The changes of all heads and levels that take up so much at each unknown.
    pub(crate) fn answer(
        &self,
        model: &Model,
        assembly: &mut Assembly,
        net: &[f64],
    ) -> Option<Vec<f64>> {
        self.assemble(model, assembly);
        self.solve(assembly, net)
    }

    /// The same with the system as it is assembled.
    pub(crate) fn solve(&self, assembly: &mut Assembly, net: &[f64]) -> Option<Vec<f64>> {
        self.damped(|damping| assembly.matrix.solve(net, damping))
    }

    /// The same, then the changes for each metre that what each of these ends of lines meets rises;
    /// `None` where the balance has no stable factor.
    pub(crate) fn answers(
        &self,
        model: &Model,
        assembly: &mut Assembly,
        net: &[f64],
        ends: &[(usize, usize)],
    ) -> Option<Vec<Vec<f64>>> {
        self.assemble(model, assembly);
        let pushed: Vec<Vec<f64>> = (ends.iter())
            .map(|&(line, side)| {
                let mut right = vec![0.0; model.unknowns()];
                carry(model, &mut right, line, self.parts[line].d_end[side]);
                right
            })
            .collect();
        let rights: Vec<&[f64]> =
            std::iter::once(net).chain(pushed.iter().map(Vec::as_slice)).collect();
        self.damped(|damping| assembly.matrix.solve_all(&rights, damping))
    }

    /// Sets the matrix to how all answers to the heads and levels.
    pub(crate) fn assemble(&self, model: &Model, assembly: &mut Assembly) {
        assembly.matrix.clear();
        for (line, part) in self.parts.iter().enumerate() {
            assembly.add_line(model, line, part.d_end);
        }
        for (d, (_, slope)) in self.takes.iter().enumerate() {
            assembly.matrix.add(d, -slope);
        }
        for (place, letting) in self.lettings.iter().enumerate() {
            assembly.add_tank(model, place, letting);
        }
    }

    /// What is found with the least damping that leads to something.
    pub(crate) fn damped<T>(&self, find: impl FnMut(f64) -> Option<T>) -> Option<T> {
        MORE_DAMPING.iter().map(|more| more * self.damping).find_map(find)
    }

    /// The change of a line's flow under the changes of all heads and levels.
    pub(crate) fn change(&self, model: &Model, line: usize, step: &[f64]) -> f64 {
        let change = |(side, end): (usize, &Joint)| {
            let unknown = model.unknown(*end);
            unknown.map_or(0.0, |unknown| self.parts[line].d_end[side] * step[unknown])
        };
        model.lines[line].ends.iter().enumerate().map(change).sum()
    }
}
