//! How far a state is from solving the equations, line by line.

use crate::laws::critical;
use crate::line::{Far, Rise};
use crate::model::{Iterate, Model};

/// How far a state is from solving the equations.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Gap {
    /// Largest imbalance of a node over the problem's scale.
    pub(crate) continuity: f64,
    /// What the last digits of the flows add to that, whatever the search: a drizzle may fall beside
    /// a flow that tanks feed.
    pub(crate) rounding: f64,
    /// Largest error of a head equation or of a one-sided condition, in metres.
    pub(crate) head_m: f64,
    /// Where that is.
    pub(crate) worst: Worst,
}

/// The equation that is furthest off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Worst {
    /// A line's head equation.
    Line(usize),
    /// A lip's: a downspout's, or that of an opening at a point.
    Lip(usize),
    /// A node's continuity.
    Node(usize),
    /// A full tank's level.
    Tank(usize),
}

/// What the contract asks of continuity, as a share of the total demand.
pub(crate) const CONTINUITY: f64 = 1e-9;
/// What the contract asks of every head equation, in metres.
pub(crate) const HEAD_M: f64 = 1e-7;
/// So many last digits of the largest flow a node's balance may miss.
const ROUNDING: f64 = 4.0;
/// The share of that which a state that only leads to others may miss.
const CLEAR: f64 = 0.01;
/// What a search strives for before it is content with the above.
const FINE: (f64, f64) = (1e-13, 1e-13);

impl Gap {
    /// Whether the state answers the contract.
    pub(crate) fn closed(&self) -> bool {
        self.balanced() && self.head_m <= HEAD_M
    }

    /// Whether every node keeps its water, as far as flows tell.
    pub(crate) fn balanced(&self) -> bool {
        self.continuity <= CONTINUITY.max(self.rounding)
    }

    /// Whether no more is to be gained.
    pub(crate) fn fine(&self) -> bool {
        self.continuity <= FINE.0.max(self.rounding) && self.head_m <= FINE.1
    }

    /// Whether what is left is far below what the contract asks: enough where a state only tells at
    /// which rain another place spills.
    pub(crate) fn clear(&self) -> bool {
        self.continuity <= (CLEAR * CONTINUITY).max(self.rounding) && self.head_m <= CLEAR * HEAD_M
    }

    /// One number to compare states by.
    pub(crate) fn size(&self) -> f64 {
        (self.continuity / FINE.0.max(self.rounding)).max(self.head_m / FINE.1)
    }
}

/// A line that flows: the end it flows from, and its rise for that flow. `None` where it is still.
pub(crate) type Flowing = Option<(usize, Rise)>;

/// A state looked over: every line's rise, and the gap.
#[derive(Clone, Debug)]
pub(crate) struct Survey {
    pub(crate) lines: Vec<Flowing>,
    pub(crate) gap: Gap,
}

/// Looks over a state.
pub(crate) fn survey(model: &Model, at: &Iterate) -> Survey {
    with_rises(model, at, rises(model, at))
}

/// The rise of every line that flows.
pub(crate) fn rises(model: &Model, at: &Iterate) -> Vec<Flowing> {
    (0..model.lines.len()).map(|line| rise(model, at, line)).collect()
}

/// The rise of a line, where it flows.
pub(crate) fn rise(model: &Model, at: &Iterate, line: usize) -> Flowing {
    let flow = at.flow[line];
    (flow != 0.0).then(|| {
        let from = usize::from(flow < 0.0);
        let far = model.far(at, line, 1 - from);
        (from, model.lines[line].rise(flow.abs(), from, far))
    })
}

/// How far a tank's level is from that which its flows ask for. A clogged overflow asks for another
/// level with the last digits of what it lets pass, a `share` of the scale: any of those will do.
fn tank_gap(model: &Model, at: &Iterate, tank: usize, received: f64, share: f64) -> f64 {
    let (this, beyond) = (&model.tanks[tank], model.beyond(at, tank));
    let off = |received| {
        let asked = this.level(received, beyond);
        at.water[tank].zip(asked).map_or(0.0, |(held, asked)| held - asked)
    };
    let miss = off(received);
    if miss.is_nan() || !this.is_clogged(model.scale) {
        return miss.abs();
    }
    let digits = share * model.scale;
    off(received + digits).max(-off(received - digits)).max(0.0)
}

/// Measures a state whose rises are known.
pub(crate) fn with_rises(model: &Model, at: &Iterate, lines: Vec<Flowing>) -> Survey {
    let rounding = ROUNDING * f64::EPSILON * at.largest_flow() / model.scale;
    let mut gap = Gap { continuity: 0.0, rounding, head_m: 0.0, worst: Worst::Node(0) };
    for (line, flowing) in lines.iter().enumerate() {
        let miss = line_gap(model, at, line, flowing);
        if miss.is_nan() || miss > gap.head_m {
            (gap.head_m, gap.worst) = (miss, Worst::Line(line));
        }
    }
    for d in 0..model.lips.len() {
        let miss = lip_gap(model, at, d);
        if miss.is_nan() || miss > gap.head_m {
            (gap.head_m, gap.worst) = (miss, Worst::Lip(d));
        }
    }
    if !model.moving.is_empty() {
        let received = model.receipts(at).net;
        for &tank in &model.moving {
            let miss = tank_gap(model, at, tank, received[tank], FINE.0.max(rounding));
            if miss.is_nan() || miss > gap.head_m {
                (gap.head_m, gap.worst) = (miss, Worst::Tank(tank));
            }
        }
    }
    for (node, net) in model.imbalance(at).iter().enumerate() {
        let share = net.abs() / model.scale;
        if share.is_nan() || share > gap.continuity {
            gap.continuity = share;
            if gap.head_m <= HEAD_M {
                gap.worst = Worst::Node(node);
            }
        }
    }
    Survey { lines, gap }
}

/// How far a line's equation is from holding: the head that its upstream end has beyond what the
/// flow needs, or for a still line the head by which either end overtops it.
fn line_gap(model: &Model, at: &Iterate, line: usize, flowing: &Flowing) -> f64 {
    let this = &model.lines[line];
    let ends = [model.far(at, line, 0), model.far(at, line, 1)];
    let Some((from, rise)) = flowing else {
        return (0..2)
            .map(|from| match ends[from] {
                Far::Node(head) => head - this.threshold(from, ends[1 - from]),
                Far::Tank(water @ Some(level)) if this.feed_limit(from, water).0 > 0.0 => {
                    level - this.threshold(from, ends[1 - from])
                }
                Far::Tank(_) => f64::NEG_INFINITY,
            })
            .fold(0.0, f64::max);
    };
    match ends[*from] {
        Far::Node(head) => (head - rise.head_m).abs(),
        Far::Tank(water) => {
            // Either the water's whole head drives the line, or the inlet lets out no more: its
            // critical energy is the depth over the invert.
            let level = water.unwrap_or(f64::NEG_INFINITY);
            let spare = level - rise.head_m;
            let depth = level - this.end_level(*from);
            spare.min(depth - critical::energy(this.bore_m, at.flow[line].abs()).energy_m).abs()
        }
    }
}

/// How far a lip's condition is from holding.
fn lip_gap(model: &Model, at: &Iterate, d: usize) -> f64 {
    let this = &model.lips[d];
    let (admitted, head) = (at.admitted[d], at.head[d]);
    if admitted > this.demand() {
        f64::INFINITY
    } else if admitted == this.demand() {
        (head - this.spill_head()).max(0.0)
    } else {
        (head + this.lip_loss(admitted).head_m - this.lip_m).abs()
    }
}
