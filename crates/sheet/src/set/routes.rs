//! Each route piece by piece: the losses from the tank to the opening, with their sum.

use super::{Block, Part, RowKind, Table};
use crate::input::SheetInput;
use crate::values::{head, heads, level_unit, opening_name, pipe_name, route, travel};
use wetrun_network::{DownspoutId, End, LineId};
use wetrun_units::{Length, UnitSystem, decimal};

/// Smaller differences are rounding.
const SHOWN_M: f64 = 5e-5;

pub(super) fn part(input: &SheetInput<'_>) -> Part {
    let ids = crate::section::chosen(input);
    let mut blocks = vec![Block::Text(
        "From the head at the tank inlet, losses are added piece by piece against the flow. The last level is the standing level of the downspout.".to_owned(),
    )];
    let left_out = input.network.downspouts().len().saturating_sub(ids.len());
    if left_out > 0 {
        blocks.push(Block::Text(format!(
            "The {} downspouts with the least margin are shown; the other {left_out} follow from the table of lines in the same way.",
            ids.len()
        )));
    }
    for id in ids {
        blocks.push(Block::Heading(heading(input, id)));
        blocks.push(Block::Table(table(input, id)));
    }
    Part { title: "Standing levels, route by route".to_owned(), wide: false, blocks }
}

fn heading(input: &SheetInput<'_>, id: DownspoutId) -> String {
    let route = route(input, id);
    let lines: Vec<&str> = route.iter().map(|&l| input.network.line(l).tag.as_str()).collect();
    format!("{}: {}", input.network.downspout(id).tag, lines.join(", "))
}

/// A line of the route in the direction from the foot to the tank.
struct Piece {
    line: LineId,
    forward: bool,
    finish: End,
}

fn table(input: &SheetInput<'_>, id: DownspoutId) -> Table {
    let units = input.units;
    let us = units == UnitSystem::Us;
    let level = level_unit(units);
    let mut table = Table::new(&[
        ("Piece", "", false),
        ("Flow", if us { "gpm" } else { "L/s" }, true),
        ("Speed", if us { "ft/s" } else { "m/s" }, true),
        ("V²/2g", level, true),
        ("Friction", level, true),
        ("ΣK", "", true),
        ("Fittings", level, true),
        ("Level", level, true),
    ]);
    let mut at = End::Downspout(id);
    let mut pieces = Vec::new();
    for line in route(input, id) {
        let (finish, forward) = travel(input.network.line(line), at);
        pieces.push(Piece { line, forward, finish });
        at = finish;
    }
    if let Some(last) = pieces.last() {
        start(input, last, &mut table);
    }
    for piece in pieces.iter().rev() {
        line_rows(input, piece, &mut table);
    }
    downspout_rows(input, id, &mut table);
    table
}

fn extra(name: String, amount: Length, after: Length, units: UnitSystem) -> [String; 8] {
    let none = String::new;
    [name, none(), none(), none(), head(units, amount), none(), none(), head(units, after)]
}

/// The tank end: its invert, and what the outfall adds to it.
fn start(input: &SheetInput<'_>, last: &Piece, table: &mut Table) {
    let units = input.units;
    let state = &input.steady.lines[last.line.index()];
    let (_, end_head) = heads(state, last.forward);
    let line = input.network.line(last.line);
    let invert = if last.forward { line.to_level() } else { line.from_level() };
    let tag = input.network.end_tag(last.finish);
    let blank = String::new;
    let row = [
        format!("{tag}: inlet invert"),
        blank(),
        blank(),
        blank(),
        blank(),
        blank(),
        blank(),
        head(units, invert),
    ];
    table.row(row);
    table.row(extra(
        format!("{tag}: head over the inlet at this flow"),
        end_head - invert,
        end_head,
        units,
    ));
}

fn line_rows(input: &SheetInput<'_>, piece: &Piece, table: &mut Table) {
    let units = input.units;
    let line = input.network.line(piece.line);
    let state = &input.steady.lines[piece.line.index()];
    let sign = if piece.forward { 1.0 } else { -1.0 };
    let (near, far) = heads(state, piece.forward);
    let friction = state.friction_loss * sign;
    let fittings = state.fitting_loss * sign;
    let speed = state.velocity.to_m_per_s();
    let velocity_head = Length::m(speed * speed / (2.0 * super::calculation::G));
    let size = pipe_name(units, &line.pipe);
    let length = units.show_length(line.length);
    // What a broken line loses besides: its water falls from the high point.
    let rest = near - far - friction - fittings;
    let sum = far + friction + fittings;
    table.row([
        format!("{}  {size}, {length}", line.tag),
        units.show_flow(state.flow * sign).number,
        units.show_speed(state.velocity * sign).number,
        head(units, velocity_head),
        head(units, friction),
        decimal(line.total_k(), 2),
        head(units, fittings),
        head(units, sum),
    ]);
    if rest.to_m().abs() > SHOWN_M {
        let why = if state.broken { "held up by a high point" } else { "not told by the losses" };
        table.row(extra(format!("{}: {why}", line.tag), rest, near, units));
    }
}

fn downspout_rows(input: &SheetInput<'_>, id: DownspoutId, table: &mut Table) {
    let units = input.units;
    let downspout = input.network.downspout(id);
    let state = &input.steady.downspouts[id.index()];
    let bore_m = downspout.pipe.inside.to_m();
    let area_m2 = std::f64::consts::PI * bore_m * bore_m / 4.0;
    let speed_m_per_s = state.admitted.to_m3_per_s() / area_m2;
    let velocity_head = Length::m(speed_m_per_s * speed_m_per_s / (2.0 * super::calculation::G));
    let sum = state.foot_head + state.friction_loss + state.fitting_loss;
    table.row([
        format!("{}  {}, wetted part", downspout.tag, pipe_name(units, &downspout.pipe)),
        units.show_flow(state.admitted).number,
        units.show_speed(wetrun_units::Speed::m_per_s(speed_m_per_s)).number,
        head(units, velocity_head),
        head(units, state.friction_loss),
        decimal(downspout.total_k(), 2),
        head(units, state.fitting_loss),
        head(units, sum),
    ]);
    let rest = state.standing_level - sum;
    if rest.to_m().abs() > SHOWN_M {
        table.row(extra(
            format!("{}: stands at its lip", downspout.tag),
            rest,
            state.standing_level,
            units,
        ));
    }
    let blank = String::new;
    let result = |name: String, value: String| {
        [name, blank(), blank(), blank(), blank(), blank(), blank(), value]
    };
    table.push(
        result("Standing level".to_owned(), head(units, state.standing_level)),
        RowKind::Total,
    );
    table.row(result(capital(opening_name(downspout)), head(units, downspout.opening())));
    table.push(
        result(
            format!("Headroom ({})", units.show_height(state.headroom)),
            head(units, state.headroom),
        ),
        RowKind::Total,
    );
}

fn capital(word: &str) -> String {
    let mut chars = word.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + chars.as_str())
}
