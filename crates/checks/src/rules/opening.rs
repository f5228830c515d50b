//! A downspout's opening set higher, as a mend: its lip with it, a leaf head below the gutter's outlet.

use super::prelude::*;
use super::proof;
use wetrun_network::{Downspout, DownspoutId};

/// An opening raised to a level, where the rule holds there then and nothing else fails by it.
pub(super) fn raise(rule: &Rule, input: &Judged<'_>, index: usize, to_m: f64) -> Option<String> {
    let downspout = &input.network.downspouts()[index];
    let units = input.facts.units;
    let text = say::level_up(units, to_m);
    let level = units.read_level(&text).ok()?;
    if downspout.leaf_head.is_some() && level > downspout.outlet {
        return None;
    }
    let mended = proof::sound(input, |parts| set(&mut parts.downspouts[index], level))?;
    if mended.fails(input, rule, &downspout.tag) {
        return None;
    }
    let tag = &downspout.tag;
    Some(match downspout.leaf_head {
        Some(_) => format!("raise the leaf head of {tag} to {text}"),
        None => {
            let by = say::height_up(units, level.to_m() - downspout.outlet.to_m());
            format!("raise the outlet of {tag} to {text} (by {by}), its lip with it")
        }
    })
}

/// Where water would rest in a downspout that could not let it out, in metres.
pub(super) fn rest_without_m(input: &Judged<'_>, index: usize) -> Option<f64> {
    // Above all that can hold water up.
    let tanks = input.network.tanks().iter();
    let tops = tanks.flat_map(|t| [Some(t.inlet), t.overflow.as_ref().map(|o| o.level)]).flatten();
    let inverts =
        input.network.lines().iter().flat_map(|line| line.profile.iter().map(|s| s.level));
    let own = input.network.downspouts()[index].lip;
    let top = tops.chain(inverts).fold(own, |top, level| if level > top { level } else { top });
    let free = proof::solved(input, |parts| {
        let downspout = &mut parts.downspouts[index];
        let out_of_reach = top + Length::m(1.0);
        (downspout.outlet, downspout.lip) = (out_of_reach, out_of_reach);
        downspout.leaf_head = None;
    })?;
    free.steady.rest.downspout(DownspoutId::new(index)).map(Length::to_m)
}

fn set(downspout: &mut Downspout, level: Length) {
    if let Some(rim) = &mut downspout.leaf_head {
        *rim = level;
        return;
    }
    let rise = downspout.lip - downspout.outlet;
    (downspout.outlet, downspout.lip) = (level, level + rise);
}
