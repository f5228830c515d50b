//! `wetrun flush`: what opening the low-point drains does.

use crate::args::{Format, named, row};
use crate::clock::Clock;
use crate::commands::site_file::StormSite;
use crate::outcome::{Answer, Refusal};
use clap::Args;
use std::num::NonZeroUsize;
use wetrun_answers::{Flush, FlushAsked, FlushRow, csv, json, text};

/// Open the low-point drains in dry weather: how fast each line runs and whether that carries silt,
/// how long it takes, what runs out, and what stays behind.
#[derive(Debug, Args)]
pub(crate) struct FlushArgs {
    #[command(flatten)]
    pub(super) site: StormSite,

    /// Drains to open together, by the tags of their points; each by itself and then all at once
    /// where this is not given.
    #[arg(long, value_name = "POINTS", value_delimiter = ',')]
    open: Vec<String>,

    /// A hose that runs while the drains are open: a flow and a downspout or point, such as
    /// `10 gpm@D4`. May be given several times.
    #[arg(long, value_name = "FLOW@PLACE")]
    hose: Vec<String>,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

    /// What a row of `--format csv` is; a line in a run where this is not given.
    #[arg(long, value_name = "ROW", value_parser = named(ROWS))]
    by: Option<FlushRow>,

    /// Show US and SI units side by side.
    #[arg(long)]
    both_units: bool,
}

const ROWS: [(&str, FlushRow); 5] = [
    ("run", FlushRow::Run),
    ("line", FlushRow::Line),
    ("downspout", FlushRow::Downspout),
    ("drain", FlushRow::Drain),
    ("finding", FlushRow::Finding),
];

impl FlushArgs {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let row = row(self.by, self.format, FlushRow::Line)?;
        let site = self.site.read()?;
        let threads = std::thread::available_parallelism().map_or(1, NonZeroUsize::get);
        let asked = FlushAsked { open: self.open, hoses: self.hose, threads };
        let clock = Clock::new();
        let flush = clock.over("drains", |watch| Flush::while_wanted(site, &asked, watch))?;
        let flush = flush.ok_or_else(|| Refusal::because("the drains were called off"))?;
        drop(clock);
        let stdout = match self.format {
            Format::Json => json::flush::flush(&flush)?,
            Format::Text => text::flush::flush(&flush, self.both_units),
            Format::Csv => csv::flush::flush(&flush, row)?,
        };
        Ok(Answer::new(stdout, flush.status()))
    }
}
