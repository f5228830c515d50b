//! Values as the sheets print them: how places come out, levels, losses, in the units of the site.

use crate::draw::Ink;
use crate::input::SheetInput;
use wetrun_network::{
    Downspout, DownspoutId, End, Line, LineId, Opening, OpeningKind, PointId, TankId,
};
use wetrun_solver::LineState;
use wetrun_units::{Flow, Intensity, Length, UnitSystem, decimal};
use wetrun_verdict::{Cause, Failure};

/// How a downspout comes out in the storm, from worst to best.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Class {
    /// Water leaves at its opening.
    Spills,
    /// Its gutter cannot carry its share.
    Gutter,
    /// The outlet in its gutter's floor cannot take its share.
    Outlet,
    /// Nothing leaves, but less than the freeboard is left.
    Thin,
    /// Nothing fails.
    Holds,
}

impl Class {
    /// The words on paper.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Class::Spills => "spills",
            Class::Gutter => "gutter too small",
            Class::Outlet => "outlet too small",
            Class::Thin => "short of freeboard",
            Class::Holds => "holds",
        }
    }

    /// The ink of those words.
    pub(crate) fn ink(self) -> Ink {
        match self {
            Class::Spills | Class::Gutter | Class::Outlet => Ink::Short,
            Class::Thin => Ink::Thin,
            Class::Holds => Ink::Ample,
        }
    }
}

/// How a downspout comes out, by the verdict.
pub(crate) fn class(input: &SheetInput<'_>, id: DownspoutId) -> Class {
    let of = |failure: &Failure| match failure.cause() {
        Cause::Gutter => Class::Gutter,
        Cause::Outlet => Class::Outlet,
        Cause::Freeboard => Class::Thin,
        Cause::Spill | Cause::Escape | Cause::Rim => Class::Spills,
    };
    input.verdict.at_downspout(id).map(of).min().unwrap_or(Class::Holds)
}

/// All that fails at a downspout, in words.
pub(crate) fn outcome(input: &SheetInput<'_>, id: DownspoutId) -> String {
    let causes = [
        (Cause::Spill, Class::Spills),
        (Cause::Gutter, Class::Gutter),
        (Cause::Outlet, Class::Outlet),
        (Cause::Freeboard, Class::Thin),
    ];
    let fails = |cause: Cause| input.verdict.at_downspout(id).any(|f| f.cause() == cause);
    // What spills has no freeboard either: that goes without saying.
    let said: Vec<&str> = causes
        .into_iter()
        .filter(|&(cause, _)| fails(cause))
        .filter(|&(cause, _)| cause != Cause::Freeboard || !fails(Cause::Spill))
        .map(|(_, class)| class.words())
        .collect();
    if said.is_empty() { Class::Holds.words().to_owned() } else { said.join(", ") }
}

/// A vent or an open cap in the storm.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Mouth {
    /// What it is, and the level of its rim.
    pub opening: Opening,
    /// How far the water stays below.
    pub headroom: Length,
    /// What comes out, where something does.
    pub escapes: Option<Flow>,
    /// The rain at which that begins.
    pub from: Option<Intensity>,
}

/// The openings of points, in the network's order.
pub(crate) fn mouths<'a>(input: &'a SheetInput<'_>) -> impl Iterator<Item = (PointId, Mouth)> + 'a {
    let states = input.network.openings().zip(&input.steady.openings);
    states.enumerate().map(|(index, ((id, opening), state))| {
        let leaves = input.verdict.escapes_at(id);
        let from = input.spill_rains.openings.get(index).copied().flatten();
        let escapes = leaves.then_some(state.escapes);
        (id, Mouth { opening, headroom: state.headroom, escapes, from })
    })
}

/// The opening of a point.
pub(crate) fn mouth(input: &SheetInput<'_>, id: PointId) -> Option<Mouth> {
    mouths(input).find(|(at, _)| *at == id).map(|(_, mouth)| mouth)
}

/// What a person calls an opening.
pub(crate) fn mouth_name(kind: OpeningKind) -> &'static str {
    match kind {
        OpeningKind::Vent => "vent",
        OpeningKind::Cap => "open cap",
    }
}

/// What runs over a tank's rim, where water does.
pub(crate) fn over_rim(input: &SheetInput<'_>, id: TankId) -> Option<Flow> {
    input.verdict.over_rim_at(id).then(|| input.steady.tanks[id.index()].over_rim)
}

/// The rain at which a downspout first spills.
pub(crate) fn spills_from(input: &SheetInput<'_>, id: DownspoutId) -> Option<Intensity> {
    input.spill_rains.downspouts.get(id.index()).copied().flatten()
}

/// The downspout whose route decides: that of the worst failure at one, else the one with the
/// least left.
pub(crate) fn governing(input: &SheetInput<'_>) -> Option<DownspoutId> {
    let failing = input.verdict.failures().iter().find_map(Failure::downspout);
    failing.or_else(|| Some(input.verdict.tightest()?.at))
}

/// Up to where a downspout must be watertight.
pub(crate) fn watertight_to(input: &SheetInput<'_>, id: DownspoutId) -> Length {
    let given = input.watertight_to.get(id.index()).copied().flatten();
    let state = &input.steady.downspouts[id.index()];
    let opening = input.network.downspout(id).opening();
    given.unwrap_or_else(|| {
        let wanted = state.standing_level + input.freeboard();
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
