//! `wetrun year`: days of measured rain through roofs, tanks and uses.

use crate::args::{Format, named, row};
use crate::commands::site_file::SiteFile;
use crate::outcome::{Answer, Refusal};
use crate::picture::Picture;
use clap::Args;
use std::path::PathBuf;
use wetrun_answers::{Closed, DayOrder, Days, RainUnit, YearRow, csv, json, paper, text};

/// Run days of measured rain through roofs, tanks and uses: how much is caught, how much runs
/// over, how often a use goes short, and what another size of tank would change.
#[derive(Debug, Args)]
pub(crate) struct YearArgs {
    #[command(flatten)]
    pub(super) site: SiteFile,

    /// The days of rain: comma-separated, a column `date` and one of rain.
    #[arg(long, value_name = "FILE")]
    rain: PathBuf,

    /// The unit of a column `PRCP`, as the file was ordered.
    #[arg(long, value_name = "UNIT", value_parser = named(UNITS))]
    rain_unit: Option<RainUnit>,

    /// Whether uses come last in a day (the cautious order) or first.
    #[arg(long, value_name = "ORDER", default_value = "use-last", value_parser = named(ORDERS))]
    order: DayOrder,

    /// A tank that is shut from one day to another: its water stays, and what would have come to
    /// it runs to the ground.
    #[arg(long, value_name = "TANK", requires = "from", requires = "to")]
    without: Option<String>,

    /// The first day it is shut, such as 2024-04-01.
    #[arg(long, value_name = "DATE", requires = "without")]
    from: Option<String>,

    /// The last day it is shut.
    #[arg(long, value_name = "DATE", requires = "without")]
    to: Option<String>,

    #[command(flatten)]
    picture: Picture,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

    /// What a row of `--format csv` is; a month where this is not given.
    #[arg(long, value_name = "ROW", value_parser = named(ROWS))]
    by: Option<YearRow>,
}

const ROWS: [(&str, YearRow); 5] = [
    ("month", YearRow::Month),
    ("day", YearRow::Day),
    ("use", YearRow::Use),
    ("tank", YearRow::Tank),
    ("size", YearRow::Size),
];

const UNITS: [(&str, RainUnit); 3] =
    [("mm", RainUnit::Mm), ("tenth-mm", RainUnit::TenthMm), ("in", RainUnit::In)];

const ORDERS: [(&str, DayOrder); 2] =
    [("use-last", DayOrder::UseLast), ("use-first", DayOrder::UseFirst)];

impl YearArgs {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let row = row(self.by, self.format, YearRow::Month)?;
        self.picture.medium()?;
        let site_bytes = self.site.bytes()?;
        let (site, of) = (self.site.read_from(&site_bytes)?, self.site.name());
        let file = SiteFile { path: self.rain };
        let bytes = file.bytes()?;
        let name = file.name();
        let days = String::from_utf8(bytes)
            .map_err(|_| Refusal::because(format_args!("{name}: not a text file in UTF-8")))?;
        let rain = wetrun_answers::rain(&days, &name, self.rain_unit)?;
        let closed = (self.without.zip(self.from).zip(self.to)).map(|((tank, from), to)| Closed {
            tank,
            from,
            to,
        });
        let days =
            Days::new(site, rain, self.order, closed).map_err(|refusal| refusal.about(&of))?;
        let stdout = match self.format {
            Format::Text => text::year::year(&days),
            Format::Json => json::year::year(&days)?,
            Format::Csv => csv::year(&days, row)?,
        };
        let draw = |medium| paper::year(&days, &site_bytes, medium);
        let warning = self.picture.write(draw, &[&self.site.path, &file.path])?;
        Ok(Answer { warning, ..Answer::pass(stdout) })
    }
}
