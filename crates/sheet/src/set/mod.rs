//! The parts of the printed set, in order.

mod calculation;
mod cover;
mod levels;
mod owner;
mod review;
mod routes;

use crate::draw::Drawing;
use crate::input::SheetInput;
pub(crate) use crate::paper::{Block, Part, RowKind, Table, or_dash};

/// The whole set, in order.
pub(crate) fn parts(input: &SheetInput<'_>) -> Vec<Part> {
    let mut parts = vec![cover::part(input)];
    parts.extend(crate::plan::drawings(input).into_iter().map(drawing_part));
    parts.extend(crate::section::drawings(input).into_iter().map(drawing_part));
    parts.push(calculation::part(input));
    parts.push(routes::part(input));
    parts.push(levels::part(input));
    parts.extend(review::part(input));
    parts.extend(input.more.iter().cloned());
    parts.push(owner::part(input));
    parts
}

fn drawing_part(drawing: Drawing) -> Part {
    Part { title: drawing.title.clone(), wide: true, blocks: vec![Block::Figure(drawing)] }
}
