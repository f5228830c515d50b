//! What only the whole layout shows: ways to tanks, and where overflows lead.

use crate::context::Context;
use crate::diagnostic::{Code, Diagnostic};
use crate::fields::Field;
use crate::source::Span;
use wetrun_network::{Network, Parts, Problem};

/// Reports downspouts without a way to a tank.
pub(crate) fn ways_to_tanks(cx: &mut Context<'_>, problems: &[Problem], downspouts: &[Field<'_>]) {
    for problem in problems {
        if let Problem::NoWayToTank { tag } = problem {
            report(cx, problem, tag, downspouts, "lines that lead from it to a tank");
        }
    }
}

/// Reports what the network refuses though every value was read: better than to go on.
pub(crate) fn unforeseen(cx: &mut Context<'_>, problems: &[Problem]) {
    for problem in problems {
        cx.report(Diagnostic::new(Code::Layout, Span::NOWHERE, problem.to_string()));
    }
}

/// Reports overflows that run in a circle, and cautions of those that run uphill.
pub(crate) fn overflows(cx: &mut Context<'_>, parts: &Parts, tanks: &[Field<'_>]) {
    let alone = Parts { tanks: parts.tanks.clone(), ..Parts::default() };
    for problem in Network::build(alone).err().unwrap_or_default() {
        if let Problem::OverflowCircle { tags } = &problem
            && let Some(tag) = tags.first()
        {
            report(cx, &problem, tag, tanks, "one overflow of these with `to: ground`");
        }
    }
    for (tank, entry) in parts.tanks.iter().zip(tanks) {
        let Some(overflow) = &tank.overflow else { continue };
        let Some(to) = overflow.to.and_then(|to| parts.tanks.get(to.index())) else { continue };
        let Some(water) = to.overflow.as_ref().map(|overflow| overflow.level) else { continue };
        if water > overflow.level {
            let message = format!(
                "`{}` overflows at {} into `{}`, whose water stands at {}",
                tank.tag,
                cx.units.show_level(overflow.level),
                to.tag,
                cx.units.show_level(water)
            );
            let at = entry.node.get("overflow").map_or(entry.key_at, |found| found.key_at);
            let fault = Diagnostic::new(Code::Levels, at, message).caution();
            let path = entry.path.key("overflow");
            cx.report(fault.path(&path).expected("an overflow above the other tank's water"));
        }
    }
}

fn report(
    cx: &mut Context<'_>,
    problem: &Problem,
    tag: &str,
    entries: &[Field<'_>],
    expected: &str,
) {
    if cx.is_full() {
        return;
    }
    if let Some(entry) = entries.iter().find(|entry| entry.path.name() == tag) {
        let fault = Diagnostic::new(Code::Layout, entry.key_at, problem.to_string());
        cx.report(fault.path(&entry.path).expected(expected));
    }
}
