//! The report of `wetrun rain` for people: the storm first, then the rains by duration.

use super::entry;
use crate::design_rain::DesignRain;
use crate::render::show::Show;
use crate::render::table::{Cells, TITLE, Table};
use anstyle::Style;
use wetrun_rain::frequency::{Series, in_words};
use wetrun_units::{Intensity, Length};

const COLUMN: usize = 13;

/// The whole report.
pub fn rain(rain: &DesignRain) -> String {
    let show = Show { main: rain.table.units, both: true };
    let mut out = format!("{TITLE}RAIN{TITLE:#}  {}\n", rain.named());
    out.push_str(&entry("table", COLUMN, &rain.source().join("; ")));
    let counted = match rain.table.series {
        Some(Series::PartialDuration) => "every heavy rain (partial duration)",
        Some(Series::AnnualMaximum) => {
            "the heaviest rain of each year (annual maximum), as printed, not converted"
        }
        None => "the file does not say",
    };
    out.push_str(&entry("counted", COLUMN, counted));
    let storm = match rain.storm {
        Some((duration, intensity)) => {
            let mean = show.prose(|s| s.show_intensity(intensity));
            format!("{mean}, the mean of {}", in_words(duration))
        }
        None => "none: 5 min lies outside the table; `--duration` names another".to_owned(),
    };
    out.push_str(&entry("storm", COLUMN, &storm));
    if rain.interpolated() {
        let words = "between two columns, in the logarithms of depth and years";
        out.push_str(&entry("taken", COLUMN, words));
    }
    let left_out = rain.left_out();
    if !left_out.is_empty() {
        let words = format!("{}: rounded by more than 5 %", left_out.join(", "));
        out.push_str(&entry("left out", COLUMN, &words));
    }
    let mut table = Table::new("DURATION", show)
        .column("depth", |s| s.show_size(Length::ZERO))
        .column("intensity", |s| s.show_intensity(Intensity::ZERO));
    for row in &rain.picked.rows {
        let cells = Cells::new(show)
            .number(|s| s.show_size(row.depth))
            .number(|s| s.show_intensity(row.intensity));
        table.row(in_words(row.duration), cells, Style::new());
    }
    out.push_str(&format!("\n{}", table.render()));
    out
}
