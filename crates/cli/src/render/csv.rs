//! The level schedule as comma-separated values, for a spreadsheet: metres, with a header.

use crate::commands::levels::Report;
use crate::outcome::Refusal;
use wetrun_units::Length;

const HEADER: [&str; 9] = [
    "tag",
    "level",
    "design_m",
    "lowest_m",
    "highest_m",
    "margin_if_1_mm_low_m",
    "margin_if_1_mm_high_m",
    "built_m",
    "rod_m",
];

/// One row for each level.
pub(crate) fn levels(report: &Report) -> Result<String, Refusal> {
    let mut rows = csv::Writer::from_writer(Vec::new());
    rows.write_record(HEADER).map_err(Refusal::because)?;
    for (index, level) in report.levels.iter().enumerate() {
        let limits = report.limits(level);
        let built = report.built.as_ref().and_then(|b| b.found.get(index).copied().flatten());
        let rod = report.instrument.map(|i| i.reading(level.design));
        let record = [
            guarded(&level.tag),
            guarded(&level.key),
            metres(Some(level.design)),
            metres(limits.and_then(|l| l.lowest)),
            metres(limits.and_then(|l| l.highest)),
            metres(limits.map(|l| l.effect.if_low)),
            metres(limits.map(|l| l.effect.if_high)),
            metres(built),
            metres(rod),
        ];
        rows.write_record(record).map_err(Refusal::because)?;
    }
    let bytes = rows.into_inner().map_err(Refusal::because)?;
    String::from_utf8(bytes).map_err(Refusal::because)
}

/// To a hundredth of a millimetre; nothing where there is no number.
fn metres(length: Option<Length>) -> String {
    length.map_or(String::new(), |l| wetrun_units::decimal(l.to_m(), 5))
}

/// A text that no spreadsheet takes for a formula, its full-width signs among them.
fn guarded(text: &str) -> String {
    const SIGNS: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];
    let starts_with_a_blank = text.starts_with(char::is_whitespace);
    if starts_with_a_blank || text.starts_with(SIGNS) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::guarded;

    #[test]
    fn no_cell_is_taken_for_a_formula() {
        for text in ["=1+1", "+1", "-1", "@sum", "\t=1", "＝1", "＠x", " =1"] {
            assert!(guarded(text).starts_with('\''), "{text}");
        }
        assert_eq!(guarded("D1"), "D1");
    }
}
