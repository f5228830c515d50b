//! A place in plan moved by hand.

use super::outline;
use crate::outcome::Refusal;
use crate::site_levels::value;
use wetrun_site::edit::{Change, change};
use wetrun_site::{Outline, Written};
use wetrun_units::{Length, UnitSystem};

/// How far a place in plan is moved, to the east and to the north.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PlanMove {
    /// So far.
    By([Length; 2]),
    /// So many steps: half a foot or a tenth of a metre each.
    Steps([i16; 2]),
}

/// The text with a place in plan moved, each of its two lengths in its own spelling.
///
/// # Errors
/// A refusal where no place stands at the keys.
pub fn moved_in_plan(text: &str, keys: &[&str], by: PlanMove) -> Result<String, Refusal> {
    let written = outline(text)?;
    let units = match written.written(&["units"]) {
        Some(Written::Text("si")) => UnitSystem::Si,
        _ => UnitSystem::Us,
    };
    let step = match units {
        UnitSystem::Us => Length::m(0.1524),
        UnitSystem::Si => Length::m(0.1),
    };
    let by = match by {
        PlanMove::By(by) => by,
        PlanMove::Steps(count) => count.map(|count| step * f64::from(count)),
    };
    let mut changes = Vec::new();
    for (axis, by) in ["0", "1"].into_iter().zip(by) {
        let keys: Vec<&str> = keys.iter().copied().chain([axis]).collect();
        let moved = moved(&written, units, &keys, by);
        let moved = moved.ok_or_else(|| Refusal::because("there is no place in plan to move"))?;
        changes.push(Change::text(&keys, moved));
    }
    change(text, &changes).map_err(Refusal::because)
}

fn moved(written: &Outline, units: UnitSystem, keys: &[&str], by: Length) -> Option<String> {
    let Some(Written::Text(old)) = written.written(keys) else { return None };
    let to = on_grid(units, units.read_level(old).ok()? + by);
    Some(units.respell_level(old, to).unwrap_or_else(|| value(units, to)))
}

/// To the hundredth of a metre, the twentieth of a foot: a hand is no surveyor.
pub(super) fn on_grid(units: UnitSystem, length: Length) -> Length {
    let grid_m = match units {
        UnitSystem::Us => 0.3048 / 20.0,
        UnitSystem::Si => 0.01,
    };
    Length::m((length.to_m() / grid_m).round() * grid_m)
}
