//! The level schedule as comma-separated values, for a spreadsheet: metres, with a header.

use crate::level_report::Report;
use crate::outcome::Refusal;
use crate::render::text::levels::stopped_by;
use wetrun_design::levels::{By, Stop};
use wetrun_units::{Length, whole_steps_down, whole_steps_up};

/// Five decimals of a metre.
const STEPS_PER_M: f64 = 1e5;

const HEADER: [&str; 14] = [
    "tag",
    "level",
    "design_m",
    "lowest_m",
    "highest_m",
    "margin_if_1_mm_low_m",
    "margin_if_1_mm_high_m",
    "built_m",
    "rod_m",
    "lowest_by_rules_m",
    "lowest_limited_by",
    "highest_by_rules_m",
    "highest_limited_by",
    "would_hold_at_m",
];

/// One row for each level.
pub fn levels(report: &Report) -> Result<String, Refusal> {
    let mut rows = csv::Writer::from_writer(Vec::new());
    rows.write_record(HEADER).map_err(Refusal::because)?;
    for level in &report.levels {
        let limits = report.limits(level);
        let rod = report.instrument.map(|i| i.reading(level.design));
        let low_stop = limits.and_then(|l| l.low_stop.as_ref());
        let high_stop = limits.and_then(|l| l.high_stop.as_ref());
        let record = [
            guarded(&level.tag),
            guarded(&level.key),
            metres(Some(level.design)),
            limit(limits.and_then(|l| l.lowest), whole_steps_up),
            limit(limits.and_then(|l| l.highest), whole_steps_down),
            metres(limits.map(|l| l.effect.if_low)),
            metres(limits.map(|l| l.effect.if_high)),
            metres(report.found(level)),
            metres(rod),
            limit(low_stop.and_then(by_rule), whole_steps_up),
            limited_by(low_stop),
            limit(high_stop.and_then(by_rule), whole_steps_down),
            limited_by(high_stop),
            metres(limits.and_then(|l| l.mend)),
        ];
        rows.write_record(record).map_err(Refusal::because)?;
    }
    let bytes = rows.into_inner().map_err(Refusal::because)?;
    String::from_utf8(bytes).map_err(Refusal::because)
}

/// The months of a run over days of rain, volumes in cubic metres.
pub fn months(report: &crate::days::Days) -> Result<String, Refusal> {
    let mut rows = csv::Writer::from_writer(Vec::new());
    let header = ["month", "rain_m3", "caught_m3", "overflowed_m3", "asked_m3", "met_m3", "end_m3"];
    rows.write_record(header).map_err(Refusal::because)?;
    for month in &report.year.months {
        let values =
            [month.rain, month.caught, month.overflowed, month.asked, month.met, month.end];
        let values = values.map(|volume| wetrun_units::decimal(volume.to_m3(), 6));
        let name = format!("{:04}-{:02}", month.year, month.month);
        rows.write_record([name].iter().chain(&values)).map_err(Refusal::because)?;
    }
    let bytes = rows.into_inner().map_err(Refusal::because)?;
    String::from_utf8(bytes).map_err(Refusal::because)
}

/// The days of such a run, volumes in cubic metres; each tank's is what it holds in the evening.
pub fn days(report: &crate::days::Days) -> Result<String, Refusal> {
    let mut rows = csv::Writer::from_writer(Vec::new());
    let tanks = report.site.network.tanks().iter();
    let tanks = tanks.map(|tank| guarded(&format!("{}_m3", tank.tag)));
    let header = ["date", "rain_m3", "overflowed_m3", "asked_m3", "met_m3"];
    let header = header.map(str::to_owned).into_iter().chain(tanks);
    rows.write_record(header).map_err(Refusal::because)?;
    for (index, day) in report.year.course.iter().enumerate() {
        let values = [day.rain, day.overflowed, day.asked, day.met];
        let values = values.iter().chain(&day.tanks);
        let values = values.map(|volume| wetrun_units::decimal(volume.to_m3(), 6));
        let date = report.rain.first.plus(index).to_string();
        rows.write_record([date].into_iter().chain(values)).map_err(Refusal::because)?;
    }
    let bytes = rows.into_inner().map_err(Refusal::because)?;
    String::from_utf8(bytes).map_err(Refusal::because)
}

/// A table of a doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DoubtTable {
    /// A row for each downspout: chances with their bounds, headrooms.
    Downspouts,
    /// A row for each input: its law, its basis, and its shares.
    Inputs,
    /// A row for each fault, the most harmful first.
    Faults,
}

/// One of the tables of a doubt, in SI.
pub fn doubt(report: &crate::doubt::Doubted, table: DoubtTable) -> Result<String, Refusal> {
    match table {
        DoubtTable::Downspouts => doubt_downspouts(report),
        DoubtTable::Inputs => doubt_inputs(report),
        DoubtTable::Faults => doubt_faults(report),
    }
}

fn doubt_downspouts(report: &crate::doubt::Doubted) -> Result<String, Refusal> {
    let mut rows = csv::Writer::from_writer(Vec::new());
    let chances = ["spills", "short"]
        .map(|of| [format!("{of}_chance"), format!("{of}_low"), format!("{of}_high")]);
    let levels = ["headroom_p05_m", "headroom_p50_m", "headroom_p95_m"].map(str::to_owned);
    let header = ["downspout".to_owned()].into_iter().chain(chances.concat()).chain(levels);
    rows.write_record(header).map_err(Refusal::because)?;
    let downspouts = report.settled.site.network.downspouts().iter();
    for (downspout, at) in downspouts.zip(&report.study.downspouts) {
        let chances = [at.spills, at.short].map(|c| [c.chance, c.low, c.high]).concat();
        let chances = chances.into_iter().map(|chance| wetrun_units::decimal(chance, 8));
        let levels = (0..3).map(|index| metres(at.headroom.map(|levels| levels[index])));
        let row = [guarded(&downspout.tag)].into_iter().chain(chances).chain(levels);
        rows.write_record(row).map_err(Refusal::because)?;
    }
    text(rows)
}

fn doubt_inputs(report: &crate::doubt::Doubted) -> Result<String, Refusal> {
    let mut rows = csv::Writer::from_writer(Vec::new());
    let header = ["input", "like", "spread", "unit", "basis", "first", "total"];
    rows.write_record(header).map_err(Refusal::because)?;
    for owed in &report.study.owed_to {
        let input = &report.study.inputs[owed.input];
        let (spread, unit) = crate::render::doubt::in_si(input.width());
        let record = [
            guarded(&input.name),
            crate::render::doubt::like(input).to_owned(),
            wetrun_units::decimal(spread, 6),
            unit.to_owned(),
            guarded(&crate::render::doubt::basis(input)),
            wetrun_units::decimal(owed.first, 6),
            wetrun_units::decimal(owed.total, 6),
        ];
        rows.write_record(record).map_err(Refusal::because)?;
    }
    text(rows)
}

fn doubt_faults(report: &crate::doubt::Doubted) -> Result<String, Refusal> {
    let mut rows = csv::Writer::from_writer(Vec::new());
    let header = [
        "fault",
        "where",
        "no_way",
        "worst_downspout",
        "worst_headroom_m",
        "spilled_m3_per_s",
        "spills",
    ];
    rows.write_record(header).map_err(Refusal::because)?;
    let network = &report.settled.site.network;
    let tag = |id: &wetrun_network::DownspoutId| network.downspout(*id).tag.as_str();
    let tags = |ids: &[wetrun_network::DownspoutId]| {
        guarded(&ids.iter().map(tag).collect::<Vec<_>>().join(" "))
    };
    for harm in &report.study.faults {
        let record = [
            harm.fault.word().to_owned(),
            guarded(&harm.at),
            tags(&harm.no_way),
            guarded(harm.worst.as_ref().map_or("", tag)),
            metres(harm.headroom),
            wetrun_units::decimal(harm.spilled.to_m3_per_s(), 9),
            tags(&harm.spills),
        ];
        rows.write_record(record).map_err(Refusal::because)?;
    }
    text(rows)
}

fn text(rows: csv::Writer<Vec<u8>>) -> Result<String, Refusal> {
    let bytes = rows.into_inner().map_err(Refusal::because)?;
    String::from_utf8(bytes).map_err(Refusal::because)
}

/// To a hundredth of a millimetre; nothing where there is no number.
fn metres(length: Option<Length>) -> String {
    length.map_or(String::new(), |l| wetrun_units::decimal(l.to_m(), 5))
}

/// A limit to a hundredth of a millimetre, rounded so that it still holds.
fn limit(length: Option<Length>, whole: fn(f64) -> f64) -> String {
    metres(length.map(|l| Length::m(whole(l.to_m() * STEPS_PER_M) / STEPS_PER_M)))
}

fn by_rule(stop: &Stop) -> Option<Length> {
    matches!(stop.by, By::Rule(_)).then_some(stop.level)
}

fn limited_by(stop: Option<&Stop>) -> String {
    let words = stop.and_then(|stop| Some(format!("{} {}", stopped_by(stop.by)?, stop.at)));
    guarded(&words.unwrap_or_default())
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
