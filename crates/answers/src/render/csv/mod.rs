//! Tables as comma-separated values, for a spreadsheet: the JSON result's names and numbers, a header.

pub mod catalogue;
pub mod check;
pub mod compare;
pub mod doubt;
pub mod flush;
mod levels;
mod points;
pub mod rain;
pub mod review;
pub mod size;
pub mod storm;
mod table;
mod year;

pub use levels::{LevelRow, levels};
pub use points::{Points, points};
pub use year::{YearRow, year};

use crate::outcome::Refusal;

/// The text of a table: its header, then its rows.
pub(crate) fn written<H, R>(header: H, rows: impl IntoIterator<Item = R>) -> Result<String, Refusal>
where
    H: IntoIterator,
    H::Item: AsRef<[u8]>,
    R: IntoIterator,
    R::Item: AsRef<[u8]>,
{
    let mut table = csv::Writer::from_writer(Vec::new());
    table.write_record(header).map_err(Refusal::because)?;
    for row in rows {
        table.write_record(row).map_err(Refusal::because)?;
    }
    let bytes = table.into_inner().map_err(Refusal::because)?;
    String::from_utf8(bytes).map_err(Refusal::because)
}

/// A text that no spreadsheet takes for a formula, where it cuts at commas nor where at semicolons,
/// full-width signs among them.
pub(crate) fn guarded(text: &str) -> String {
    const SIGNS: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];
    let mut safe = String::with_capacity(text.len() + 1);
    for (index, piece) in text.split(';').enumerate() {
        if index > 0 {
            safe.push(';');
        }
        // What stands behind quotes at the start of a cell is that cell too.
        let bare = piece.trim_start_matches(|c: char| c.is_whitespace() || c == '"');
        let starts_with_a_blank = index == 0 && piece.starts_with(char::is_whitespace);
        if starts_with_a_blank || bare.starts_with(SIGNS) {
            safe.push('\'');
        }
        safe.push_str(piece);
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::guarded;

    #[test]
    fn no_cell_is_taken_for_a_formula() {
        for text in ["=1+1", "+1", "-1", "@sum", "\t=1", "＝1", "＠x", " =1", "\"=1"] {
            assert!(guarded(text).starts_with('\''), "{text}");
        }
        assert_eq!(guarded("D1"), "D1");
        assert_eq!(guarded("low; as drawn"), "low; as drawn");
        assert_eq!(guarded("low;=1;\"+2"), "low;'=1;'\"+2");
    }
}
