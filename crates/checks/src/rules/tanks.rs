//! What fills a tank, and what becomes of it when its overflow is brought down.

use super::prelude::*;
use super::proof;
use wetrun_network::{End, Overflow, TankId};

/// Whether a tank receives water: from a line, or from what another tank overflows.
pub(super) fn fed(input: &Judged<'_>, tank: TankId) -> bool {
    input.network.meets(End::Tank(tank)).len() > 0 || overflows_into(input, tank).next().is_some()
}

/// The overflows that run into a tank, each with the tag of its tank.
pub(super) fn overflows_into<'a>(
    input: &Judged<'a>,
    tank: TankId,
) -> impl Iterator<Item = (&'a str, &'a Overflow)> {
    let overflows =
        input.network.tanks().iter().filter_map(|t| Some((&*t.tag, t.overflow.as_ref()?)));
    overflows.filter(move |(_, overflow)| overflow.to == Some(tank))
}

/// The largest bore that fills a tank, in metres, or `None` where nothing does; and whether a pipe
/// that fills it is not shown.
pub(super) fn largest_inlet_m(input: &Judged<'_>, tank: TankId) -> (Option<f64>, bool) {
    let lines = input.network.meets(End::Tank(tank));
    let lines = lines.map(|(line, _)| input.network.line(line).pipe.inside);
    let overflows = || overflows_into(input, tank).map(|(_, overflow)| overflow.pipe.as_ref());
    let bores = lines.chain(overflows().flatten().map(|pipe| pipe.inside));
    let largest_m = bores.map(Length::to_m).reduce(f64::max);
    (largest_m, overflows().any(|pipe| pipe.is_none()))
}

/// Says that a tank is filled by an overflow whose pipe is not shown.
pub(super) fn overflow_pipes_not_shown(rule: &Rule, input: &Judged<'_>, tank: TankId) -> Finding {
    let message = "the pipe of the overflow that fills it is not shown";
    let finding = rule.not_shown(input, &input.network.tank(tank).tag, message);
    let open = overflows_into(input, tank).filter(|(_, overflow)| overflow.pipe.is_none());
    Finding {
        missing: open.map(|(tag, _)| format!("tanks.{tag}.overflow.pipe")).collect(),
        ..finding
    }
}

/// An overflow brought down to a level at the most, where `holds` is true of what that comes to.
/// `None` where that puts it at the floor or below the water that it must run into, or parts the
/// tank from one that it is balanced with.
pub(super) fn lower_overflow(
    input: &Judged<'_>,
    tank: TankId,
    to_m: f64,
    holds: impl FnOnce(&proof::Mended) -> bool,
) -> Option<String> {
    let mut lines = input.network.meets(End::Tank(tank));
    let linked =
        lines.any(|(line, end)| matches!(input.network.line(line).end(end.other()), End::Tank(_)));
    let own = input.network.tank(tank);
    let text = say::level_down(input.facts.units, to_m);
    let level = input.facts.units.read_level(&text).ok()?;
    let next = own.overflow.as_ref()?.to.and_then(|to| input.steady.tanks[to.index()].water_level);
    let least = [own.floor, next].into_iter().flatten();
    if linked || own.floor.is_none() || least.into_iter().any(|least| level <= least) {
        return None;
    }
    let mended = proof::sound(input, |parts| {
        if let Some(overflow) = &mut parts.tanks[tank.index()].overflow {
            overflow.level = level;
        }
    })?;
    holds(&mended).then(|| format!("lower the overflow of {} to {text}", own.tag))
}
