//! Whether a table can be true: more falls in longer rains and in rarer ones.

use super::{Depth, FrequencyTable, TableFault, fault, in_words, plainly};

/// What arithmetic leaves over, in metres.
const LEFT_OVER_M: f64 = 1e-9;

/// The least that a cell can mean, and what it is called.
struct Before {
    least_m: f64,
    name: String,
}

/// Refuses depths that fall as the duration or the return period grows, by more than the printed
/// digits are rounded.
pub(super) fn check(table: &FrequencyTable) -> Result<(), TableFault> {
    let mut above: Vec<Option<Before>> = table.years.iter().map(|_| None).collect();
    for row in &table.rows {
        let mut beside: Option<Before> = None;
        let duration = in_words(row.duration);
        for ((cell, above), years) in row.cells.iter().zip(&mut above).zip(&table.years) {
            if let Some(shorter) = falls(cell, above.as_ref()) {
                let message = format!("less falls in {duration} than in the shorter {shorter}");
                return fault(row.line, cell.column, message);
            }
            if let Some(fewer) = falls(cell, beside.as_ref()) {
                let years = plainly(*years, 7);
                let message = format!("less falls once in {years} years than once in {fewer}");
                return fault(row.line, cell.column, message);
            }
            raise(above, cell, || duration.clone());
            raise(&mut beside, cell, || plainly(*years, 7));
        }
    }
    Ok(())
}

/// The name of what a cell falls below.
fn falls(cell: &Depth, before: Option<&Before>) -> Option<String> {
    let most = (cell.depth + cell.rounding).to_m() + LEFT_OVER_M;
    before.filter(|before| most < before.least_m).map(|before| before.name.clone())
}

fn raise(before: &mut Option<Before>, cell: &Depth, name: impl Fn() -> String) {
    let least_m = (cell.depth - cell.rounding).to_m();
    if before.as_ref().is_none_or(|before| before.least_m < least_m) {
        *before = Some(Before { least_m, name: name() });
    }
}
