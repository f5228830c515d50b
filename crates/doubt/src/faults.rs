//! Plain faults, one at a time, in the design storm with all else as it is drawn.

use crate::cut_off::{Pieces, cut_off};
use crate::drawing::{Drawing, solved};
use crate::parallel;
use wetrun_network::{
    DownspoutId, End, LineEnd, LineId, Network, Overflow, Parts, PointId, TankId,
};
use wetrun_solver::{Steady, TankState};
use wetrun_units::{Area, Flow, Fraction, Length};
use wetrun_verdict::{Failure, leaves};

/// A plain fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Fault {
    /// Half of a line's bore is closed, all along it.
    HalfClosed(LineId),
    /// Half of what a screen leaves open is closed.
    ScreenHalfClosed(DownspoutId),
    /// A tank's inlets are shut, and its overflow where that leads to another tank.
    TankShut(TankId),
    /// A tank's overflow lets nothing go.
    OverflowBlocked(TankId),
    /// A low-point drain is left open.
    DrainOpen(PointId),
    /// The roof of the largest demand, by its place in the facts, is twice as large.
    RoofDoubled(usize),
}

impl Fault {
    /// Its word in the result.
    pub const fn word(self) -> &'static str {
        match self {
            Self::HalfClosed(_) => "half-closed",
            Self::ScreenHalfClosed(_) => "screen-half-closed",
            Self::TankShut(_) => "tank-shut",
            Self::OverflowBlocked(_) => "overflow-blocked",
            Self::DrainOpen(_) => "drain-open",
            Self::RoofDoubled(_) => "roof-doubled",
        }
    }
}

/// What a fault does.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Harm {
    /// The fault.
    pub fault: Fault,
    /// The tag of where it is.
    pub at: String,
    /// The downspouts that no way leads to a tank from any more.
    pub no_way: Vec<DownspoutId>,
    /// The downspout with the least headroom, or the first without a way.
    pub worst: Option<DownspoutId>,
    /// Its headroom; `None` where it has no way.
    pub headroom: Option<Length>,
    /// What leaves at downspouts, all together.
    pub spilled: Flow,
    /// What leaves by vents and caps and over the rims of tanks.
    pub elsewhere: Flow,
    /// What an open drain takes.
    pub drained: Flow,
    /// The downspouts where water leaves.
    pub spills: Vec<DownspoutId>,
    /// Whether a state was found; else nothing else is said.
    pub solved: bool,
}

/// How far below the rest level an open drain runs out.
const DRAIN_FALL: Length = Length::m(1.0);

/// All faults of a drawing by their harm, the worst first: no way at all, then the water that leaves
/// at downspouts, then headroom.
pub(crate) fn faults(drawing: &Drawing<'_>, steady: &Steady, threads: usize) -> Vec<Harm> {
    let all = list(drawing);
    let mut found = parallel::each(all.len(), threads, |index| harm(drawing, steady, all[index]));
    found.sort_by(|a, b| {
        let headroom = |harm: &Harm| harm.headroom.map_or(f64::INFINITY, Length::to_m);
        (b.no_way.len().cmp(&a.no_way.len()))
            .then(b.spilled.to_m3_per_s().total_cmp(&a.spilled.to_m3_per_s()))
            .then(headroom(a).total_cmp(&headroom(b)))
    });
    found
}

/// The faults that a drawing can have, in file order.
fn list(drawing: &Drawing<'_>) -> Vec<Fault> {
    let network = drawing.network;
    let mut all: Vec<Fault> =
        (0..network.lines().len()).map(|line| Fault::HalfClosed(LineId::new(line))).collect();
    for index in 0..network.downspouts().len() {
        if drawing.facts.downspouts.get(index).is_some_and(|shown| shown.screen.is_some()) {
            all.push(Fault::ScreenHalfClosed(DownspoutId::new(index)));
        }
    }
    for (index, tank) in network.tanks().iter().enumerate() {
        let id = TankId::new(index);
        let joined = network.lines().iter().any(|l| [l.from, l.to].contains(&End::Tank(id)));
        let passes_on = tank.overflow.as_ref().is_some_and(|overflow| overflow.to.is_some());
        if joined || passes_on {
            all.push(Fault::TankShut(id));
        }
    }
    for (index, tank) in network.tanks().iter().enumerate() {
        if tank.overflow.is_some() {
            all.push(Fault::OverflowBlocked(TankId::new(index)));
        }
    }
    for (index, point) in network.points().iter().enumerate() {
        if point.drain.is_some() {
            all.push(Fault::DrainOpen(PointId::new(index)));
        }
    }
    all.extend(largest_roof(drawing).map(Fault::RoofDoubled));
    all
}

fn largest_roof(drawing: &Drawing<'_>) -> Option<usize> {
    let demand = |roof: &wetrun_facts::Roof| roof.area.to_m2() * roof.runoff.to_ratio();
    let roofs = drawing.facts.roofs.iter().enumerate();
    // Of equal ones the first.
    roofs.rev().max_by(|a, b| demand(a.1).total_cmp(&demand(b.1))).map(|(index, _)| index)
}

fn at(drawing: &Drawing<'_>, fault: Fault) -> String {
    let network = drawing.network;
    match fault {
        Fault::HalfClosed(id) => network.line(id).tag.clone(),
        Fault::ScreenHalfClosed(id) => network.downspout(id).tag.clone(),
        Fault::TankShut(id) | Fault::OverflowBlocked(id) => network.tank(id).tag.clone(),
        Fault::DrainOpen(id) => network.point(id).tag.clone(),
        Fault::RoofDoubled(roof) => {
            drawing.facts.roofs.get(roof).map(|roof| roof.name.clone()).unwrap_or_default()
        }
    }
}

fn harm(drawing: &Drawing<'_>, steady: &Steady, fault: Fault) -> Harm {
    let mut parts = drawing.parts.clone();
    let mut drain = None;
    match fault {
        Fault::HalfClosed(id) => {
            let pipe = &mut parts.lines[id.index()].pipe;
            pipe.inside = pipe.inside * std::f64::consts::FRAC_1_SQRT_2;
        }
        Fault::ScreenHalfClosed(id) => return screen(drawing, steady, id),
        Fault::TankShut(id) => shut(&mut parts, id),
        Fault::OverflowBlocked(id) => blocked(&mut parts, id),
        Fault::DrainOpen(id) => {
            let empty = drawing.scenario.tanks == TankState::Empty;
            let level = drawing.network.point(id).level;
            let outlet = steady.rest.point(id).unwrap_or(level) - DRAIN_FALL;
            let k = drawing.facts.point(id.index()).drain_loss();
            drain = parts.open_drain(id, k, outlet, empty);
        }
        Fault::RoofDoubled(roof) => {
            for (downspout, roofs) in parts.downspouts.iter_mut().zip(&drawing.roofs_of) {
                let mut catchment_m2 = 0.0;
                for &(index, share) in roofs {
                    let this = &drawing.facts.roofs[index];
                    let times = if index == roof { 2.0 } else { 1.0 };
                    catchment_m2 += times * this.area.to_m2() * (this.runoff.to_ratio() * share);
                }
                downspout.catchment = Area::m2(catchment_m2);
            }
        }
    }
    let at = at(drawing, fault);
    let pieces = cut_off(parts);
    let demands = drawing.network.downspouts().iter().map(|d| d.catchment.to_m2());
    let no_way: Vec<DownspoutId> = pieces.gone.clone();
    let of_rain = |catchment_m2: f64| catchment_m2 * drawing.scenario.intensity.to_m_per_s();
    let demands: Vec<f64> = demands.map(of_rain).collect();
    let lost_m3_per_s: f64 = no_way.iter().map(|id| demands[id.index()]).sum();
    let mut harm = Harm {
        fault,
        at,
        worst: no_way.first().copied(),
        headroom: None,
        spilled: Flow::m3_per_s(lost_m3_per_s),
        elsewhere: Flow::ZERO,
        drained: Flow::ZERO,
        spills: no_way.clone(),
        no_way,
        solved: true,
    };
    let Pieces { parts, kept, .. } = pieces;
    if kept.is_empty() {
        return harm;
    }
    let Some((network, state)) = solved(parts, &drawing.scenario) else {
        return Harm { solved: false, ..harm };
    };
    add(&mut harm, drawing, (&network, &state), &kept, drain);
    if let Fault::OverflowBlocked(id) = fault
        && drawing.network.tank(id).rim.is_some()
        && drawing.scenario.tanks == TankState::Full
    {
        // What it receives runs over its rim.
        harm.elsewhere = harm.elsewhere + state.tanks[id.index()].overflow;
    }
    harm
}

/// Adds what a state of the downspouts that are left says.
fn add(
    harm: &mut Harm,
    drawing: &Drawing<'_>,
    (network, state): (&Network, &Steady),
    kept: &[DownspoutId],
    drain: Option<TankId>,
) {
    let verdict = (drawing.judge)(network, state, drawing.facts);
    let mut least: Option<(DownspoutId, Length)> = None;
    for ((id, margin), state) in kept.iter().zip(&verdict.margins).zip(&state.downspouts) {
        harm.spilled = harm.spilled + state.spilled;
        if margin.spills {
            harm.spills.push(*id);
        }
        if least.is_none_or(|(_, headroom)| state.headroom < headroom) {
            least = Some((*id, state.headroom));
        }
    }
    harm.spills.sort_by_key(|id| id.index());
    if harm.no_way.is_empty() {
        harm.worst = least.map(|(id, _)| id);
        harm.headroom = least.map(|(_, headroom)| headroom);
    }
    if let Some(tank) = drain {
        harm.drained = state.tanks[tank.index()].inflow;
    }
    let escapes = state.openings.iter().map(|opening| opening.escapes);
    let over_rims = state.tanks.iter().enumerate();
    let over_rims = over_rims.filter(|(index, _)| drain != Some(TankId::new(*index)));
    let over_rims = over_rims.map(|(_, tank)| tank.over_rim);
    harm.elsewhere = harm.elsewhere + escapes.chain(over_rims).sum();
}

/// A screen is judged by what its outlet can take; the water in the pipes stands as drawn.
fn screen(drawing: &Drawing<'_>, steady: &Steady, id: DownspoutId) -> Harm {
    let mut facts = drawing.facts.clone();
    if let Some(screen) = facts.downspouts.get_mut(id.index()).and_then(|d| d.screen.as_mut()) {
        let open = screen.open.map_or(1.0, Fraction::to_ratio);
        screen.open = Some(Fraction::ratio(0.5 * open));
    }
    let verdict = (drawing.judge)(drawing.network, steady, &facts);
    let short = verdict.failures().iter().find_map(|failure| match failure {
        Failure::Outlet { at, short } if *at == id => Some(*short),
        _ => None,
    });
    let fault = Fault::ScreenHalfClosed(id);
    let mut harm = Harm {
        fault,
        at: at(drawing, fault),
        no_way: Vec::new(),
        worst: None,
        headroom: None,
        spilled: Flow::ZERO,
        elsewhere: Flow::ZERO,
        drained: Flow::ZERO,
        spills: Vec::new(),
        solved: true,
    };
    let all: Vec<DownspoutId> = (0..steady.downspouts.len()).map(DownspoutId::new).collect();
    add(&mut harm, drawing, (drawing.network, steady), &all, None);
    if let Some(short) = short {
        // What the pipes do not take there cannot come through its screen either.
        let already = steady.downspouts[id.index()].spilled.max(Flow::ZERO);
        harm.spilled = harm.spilled + (short - already).max(Flow::ZERO);
        let total = steady.downspouts.iter().map(|d| d.demand).sum();
        if leaves(short, total) && !harm.spills.contains(&id) {
            harm.spills.push(id);
            harm.spills.sort_by_key(|id| id.index());
        }
    }
    harm
}

/// Shuts a tank: each of its lines ends in a plug, and it passes nothing on.
fn shut(parts: &mut Parts, id: TankId) {
    for index in 0..parts.lines.len() {
        for end in [LineEnd::From, LineEnd::To] {
            if parts.lines[index].end(end) == End::Tank(id) {
                parts.plug(LineId::new(index), end);
            }
        }
    }
    let passes_on = |overflow: &Overflow| overflow.to.is_some();
    let tank = &mut parts.tanks[id.index()];
    if tank.overflow.as_ref().is_some_and(passes_on) {
        tank.overflow = None;
    }
}

/// Blocks an overflow: the water stands at the rim and runs over it; without a rim the tank counts
/// as shut.
fn blocked(parts: &mut Parts, id: TankId) {
    let tank = &mut parts.tanks[id.index()];
    match tank.rim {
        Some(rim) => {
            tank.overflow = Some(Overflow { level: rim, pipe: None, to: None, k: 0.0 });
        }
        None => shut(parts, id),
    }
}
