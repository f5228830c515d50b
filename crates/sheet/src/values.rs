//! Values as the sheets print them: levels, losses and margins in the units of the site file.

use crate::input::SheetInput;
use wetrun_network::{Downspout, DownspoutId, End, Line, LineId};
use wetrun_solver::{DownspoutState, LineState};
use wetrun_units::{Length, UnitSystem, decimal};

/// How a downspout comes out in the storm, from worst to best.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Margin {
    /// Water leaves at its opening.
    Spills,
    /// Nothing leaves, but less than the freeboard is left.
    Thin,
    /// The freeboard is kept.
    Ample,
}

impl Margin {
    /// The words on paper.
    pub fn words(self) -> &'static str {
        match self {
            Margin::Spills => "spills",
            Margin::Thin => "short of freeboard",
            Margin::Ample => "holds",
        }
    }
}

/// Flows smaller than this part of the demand are rounding, not spilling.
const SPILL_PART: f64 = 1e-9;
/// Headroom may miss the freeboard by this before it counts as short.
const HEADROOM_TOLERANCE_M: f64 = 1e-9;

/// How a downspout comes out against the freeboard.
pub(crate) fn margin(state: &DownspoutState, freeboard: Length) -> Margin {
    let demand = state.demand.to_m3_per_s();
    let spilled = state.spilled.to_m3_per_s();
    if spilled > SPILL_PART * demand.max(1e-9) {
        Margin::Spills
    } else if state.headroom.to_m() < freeboard.to_m() - HEADROOM_TOLERANCE_M {
        Margin::Thin
    } else {
        Margin::Ample
    }
}

/// The downspout that decides: one that spills before one that does not, then the one that
/// spills at the least rain where any does, else the one with the least headroom.
pub(crate) fn governing(input: &SheetInput<'_>) -> Option<DownspoutId> {
    let rank = |index: usize| {
        let state = &input.steady.downspouts[index];
        let spills = margin(state, input.freeboard) == Margin::Spills;
        let rain = input.spill_rains.get(index).copied().flatten();
        let rain_m_per_s = rain.map_or(f64::INFINITY, |r| r.to_m_per_s());
        let headroom_m = state.headroom.to_m();
        (!spills, if spills { rain_m_per_s } else { headroom_m }, headroom_m)
    };
    (0..input.steady.downspouts.len())
        .min_by(|&a, &b| rank(a).partial_cmp(&rank(b)).unwrap_or(std::cmp::Ordering::Equal))
        .map(DownspoutId::new)
}

/// Up to where a downspout must be watertight.
pub(crate) fn watertight_to(input: &SheetInput<'_>, id: DownspoutId) -> Length {
    let given = input.watertight_to.get(id.index()).copied().flatten();
    let state = &input.steady.downspouts[id.index()];
    let opening = input.network.downspout(id).opening();
    given.unwrap_or_else(|| {
        let wanted = state.standing_level + input.freeboard;
        if wanted < opening { wanted } else { opening }
    })
}

/// A head loss or a head, with its running sum in the same unit and decimals: feet to 0.001 or
/// metres to 0.0001, so that the printed pieces add up to the printed level.
pub(crate) fn head(units: UnitSystem, length: Length) -> String {
    match units {
        UnitSystem::Us => decimal(length.to_m() / 0.3048, 3),
        UnitSystem::Si => decimal(length.to_m(), 4),
    }
}

/// The unit of [`head`] and of every level.
pub(crate) fn level_unit(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Us => "ft",
        UnitSystem::Si => "m",
    }
}

/// A level without its unit.
pub(crate) fn level(units: UnitSystem, length: Length) -> String {
    units.show_level(length).number
}

/// The name of a pipe: its label, or its bore where it has none.
pub(crate) fn pipe_name(units: UnitSystem, pipe: &wetrun_network::Pipe) -> String {
    if pipe.label.is_empty() {
        format!("bore {}", units.show_size(pipe.inside))
    } else {
        pipe.label.clone()
    }
}

/// The lines from a downspout's foot to a tank, in order.
pub(crate) fn route(input: &SheetInput<'_>, id: DownspoutId) -> Vec<LineId> {
    input.steady.routes.route(input.network, id).lines
}

/// The two ends of a line in the direction of travel from `start`, and whether it runs from
/// its own `from` to its `to`.
pub(crate) fn travel(line: &Line, start: End) -> (End, bool) {
    if line.from == start { (line.to, true) } else { (line.from, false) }
}

/// Heads at the near and the far end of a line that is walked `forward` or backward.
pub(crate) fn heads(state: &LineState, forward: bool) -> (Length, Length) {
    if forward { (state.from_head, state.to_head) } else { (state.to_head, state.from_head) }
}

/// The opening's name at a downspout.
pub(crate) fn opening_name(downspout: &Downspout) -> &'static str {
    if downspout.leaf_head.is_some() { "leaf head rim" } else { "gutter outlet" }
}
