//! Each route piece by piece: the losses from the tank to the opening, with their sum.

use super::{Block, Part, RowKind, Table};
use crate::input::SheetInput;
use crate::values::{head, heads, level_unit, opening_name, pipe_name, route, travel};
use wetrun_network::{DownspoutId, End, LineId};
use wetrun_solver::laws::head_loss::{fitting, full_speed};
use wetrun_units::{UnitSystem, decimal};

/// Smaller differences are rounding.
const SHOWN_M: f64 = 5e-5;

pub(super) fn part(input: &SheetInput<'_>) -> Part {
    let ids = crate::section::chosen(input);
    let mut blocks = vec![Block::Text(
        "From the head at the tank inlet, losses are added piece by piece against the flow. The last level is the standing level of the downspout.".to_owned(),
    )];
    blocks.extend(crate::section::left_out(input).map(Block::Text));
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
        ("Junction", level, true),
        ("Other", level, true),
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

/// Columns of the table.
const FRICTION: usize = 4;
const OTHER: usize = 8;
const LEVEL: usize = 9;
const COLUMNS: usize = 10;

/// A row with a few of its cells filled.
fn sparse(name: String, filled: &[(usize, String)]) -> Vec<String> {
    let mut cells = vec![String::new(); COLUMNS];
    cells[0] = name;
    for (column, text) in filled {
        cells[*column].clone_from(text);
    }
    cells
}

/// The tank end: its invert, and what the outfall adds to it.
fn start(input: &SheetInput<'_>, last: &Piece, table: &mut Table) {
    let units = input.units;
    let state = &input.steady.lines[last.line.index()];
    let (_, end_head) = heads(state, last.forward);
    let line = input.network.line(last.line);
    let invert = if last.forward { line.to_level() } else { line.from_level() };
    let tag = input.network.end_tag(last.finish);
    table.row(sparse(format!("{tag}: inlet invert"), &[(LEVEL, head(units, invert))]));
    let over = [(OTHER, head(units, end_head - invert)), (LEVEL, head(units, end_head))];
    table.row(sparse(format!("{tag}: head over the inlet"), &over));
}

fn line_rows(input: &SheetInput<'_>, piece: &Piece, table: &mut Table) {
    let units = input.units;
    let line = input.network.line(piece.line);
    let state = &input.steady.lines[piece.line.index()];
    let sign = if piece.forward { 1.0 } else { -1.0 };
    let (near, far) = heads(state, piece.forward);
    let velocity_head = fitting(1.0, state.velocity);
    let of_fittings = fitting(line.total_k(), state.velocity) * sign;
    // What is lost beyond K·V²/2g is the wye's or tee's. A broken line's K count where it is
    // full only, so there the two are not told apart.
    let junction = state.fitting_loss * sign - of_fittings;
    let at_junction = !state.broken && junction.to_m().abs() > 1e-9;
    let of_fittings = if at_junction { of_fittings } else { state.fitting_loss * sign };
    let friction = state.friction_loss * sign;
    let sum = far + friction + state.fitting_loss * sign;
    let mut cells = sparse(
        format!(
            "{}  {}, {}",
            line.tag,
            pipe_name(units, &line.pipe),
            units.show_length(line.length)
        ),
        &[
            (1, units.show_flow(state.flow * sign).number),
            (2, units.show_speed(state.velocity * sign).number),
            (3, head(units, velocity_head)),
            (FRICTION, head(units, friction)),
            (5, decimal(line.total_k(), 2)),
            (6, head(units, of_fittings)),
            (LEVEL, head(units, sum)),
        ],
    );
    if at_junction {
        cells[7] = head(units, junction);
    }
    table.row(cells);
    // What a broken line loses besides: its water falls from the high point.
    let rest = near - sum;
    if rest.to_m().abs() > SHOWN_M {
        let why = if state.broken { "held up by a high point" } else { "not told by the losses" };
        let filled = [(OTHER, head(units, rest)), (LEVEL, head(units, near))];
        table.row(sparse(format!("{}: {why}", line.tag), &filled));
    }
}

fn downspout_rows(input: &SheetInput<'_>, id: DownspoutId, table: &mut Table) {
    let units = input.units;
    let downspout = input.network.downspout(id);
    let state = &input.steady.downspouts[id.index()];
    let speed = full_speed(state.admitted, downspout.pipe.inside);
    let sum = state.foot_head + state.friction_loss + state.fitting_loss;
    table.row(sparse(
        format!("{}  {}, wetted part", downspout.tag, pipe_name(units, &downspout.pipe)),
        &[
            (1, units.show_flow(state.admitted).number),
            (2, units.show_speed(speed).number),
            (3, head(units, fitting(1.0, speed))),
            (FRICTION, head(units, state.friction_loss)),
            (5, decimal(downspout.total_k(), 2)),
            (6, head(units, state.fitting_loss)),
            (LEVEL, head(units, sum)),
        ],
    ));
    let standing = state.standing_level;
    let rest = standing - sum;
    if rest.to_m().abs() > SHOWN_M {
        let filled = [(OTHER, head(units, rest)), (LEVEL, head(units, standing))];
        table.row(sparse(format!("{}: stands at its lip", downspout.tag), &filled));
    }
    let result = |name: String, level| sparse(name, &[(LEVEL, head(units, level))]);
    table.push(result("Standing level".to_owned(), standing), RowKind::Total);
    table.row(result(capital(opening_name(downspout)), downspout.opening()));
    let headroom = format!("Headroom ({})", units.show_height(state.headroom));
    table.push(result(headroom, state.headroom), RowKind::Total);
}

fn capital(word: &str) -> String {
    let mut chars = word.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + chars.as_str())
}
