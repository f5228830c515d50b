//! The calculation as a live workbook: every level a formula from the roofs to the standing level.
//!
//! Flows follow the directions of the solved state. Where the network splits, water spills or comes
//! out, what no formula can tell stands as it was solved, and is marked so.

mod book;
mod critical;
mod ex;
mod inputs;
mod junctions;
mod levels;
mod package;
mod ways;

use crate::outcome::Refusal;
use crate::solved::Solved;
use book::{Book, Look, Sheet};
use inputs::Friction;
use levels::Levels;

/// The workbook of a solved site, as the bytes of an .xlsx file.
///
/// # Errors
/// A refusal where a number of it is none, or the archive would be too large.
pub fn workbook(solved: &Solved) -> Result<Vec<u8>, Refusal> {
    let (sheet, inputs) = inputs::inputs(solved);
    let (roofs, demands) = inputs::roofs(solved, &inputs);
    let mut levels = Levels::new(solved, &inputs, Friction::new(&inputs), demands);
    levels.work();
    let first = first(solved, &levels);
    let mut sheets = vec![first, sheet, roofs];
    sheets.extend(levels.sheets());
    let book = Book { sheets };
    if !book.is_finite() {
        return Err(Refusal::because("a number of the workbook is none; it is not written"));
    }
    package::bytes(&book).map_err(Refusal::because)
}

/// What the workbook is, and what came of it.
fn first(solved: &Solved, levels: &Levels<'_>) -> Sheet {
    let mut sheet = Sheet::new("Answer", &[24.0, 16.0, 16.0, 16.0, 18.0, 18.0, 40.0], 0);
    sheet.text(0, 0, &solved.site.name, Look::Title);
    sheet.text(1, 0, &crate::text::sentence(solved), Look::Plain);
    let words = [
        "That sentence is as solved when the workbook was written. All below is worked out here: \
         change a yellow cell and the levels move.",
        "Red cells are as solved and stay as they are: flows where the network splits, water that \
         spills or comes out, heads of water that stands still. Each says so in its column's head or \
         by its colour, and water keeps to the way it ran. After a change to such a site run \
         `wetrun check` again.",
        "More than 0 in the last column: that downspout now spills, but all of its water is still sent \
         on here. The levels beside it are then too high: run `wetrun check`.",
        "Levels are total heads above the site's datum. Laws and their sources: docs/hydraulics.md.",
        "This is a steady flow in clean pipes. Local code and licensed people decide; this does not.",
    ];
    // In lines, as the widest of them sets how small the page is printed.
    let lines = words.map(|words| crate::render::wrap::wrap(words, 0, 0));
    let mut row = 2;
    for line in lines.iter().flat_map(|text| text.lines()) {
        sheet.text(row, 0, line, Look::Note);
        row += 1;
    }
    levels.answer(&mut sheet, row + 1);
    sheet
}
