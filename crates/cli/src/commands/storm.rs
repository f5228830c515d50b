//! `wetrun storm`: what happens minute by minute while a storm passes.

use crate::args::{Format, named, row};
use crate::clock::Clock;
use crate::commands::site_file::StormSite;
use crate::outcome::{Answer, Refusal};
use crate::picture::Picture;
use clap::Args;
use std::path::{Path, PathBuf};
use wetrun_answers::{Storm, StormRow, csv, json, paper, text};

/// Follow the storm as it passes: how high the water comes and when, what spills, how the tanks
/// fill, where the rain goes, and how that differs from the steady check.
#[derive(Debug, Args)]
pub(crate) struct StormArgs {
    #[command(flatten)]
    pub(super) site: StormSite,

    /// The latest end of the run, such as `6 h`; without it the run ends when nothing flows any
    /// more, a day after the rain at the latest.
    #[arg(long, value_name = "TIME")]
    until: Option<String>,

    #[command(flatten)]
    picture: Picture,

    /// Write the courses as a table as well: rain, levels, flows and contents at every step.
    #[arg(long, value_name = "FILE.csv")]
    series: Option<PathBuf>,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

    /// What a row of `--format csv` is; a downspout where this is not given.
    #[arg(long, value_name = "ROW", value_parser = named(ROWS))]
    by: Option<StormRow>,

    /// Show US and SI units side by side.
    #[arg(long)]
    both_units: bool,
}

const ROWS: [(&str, StormRow); 6] = [
    ("downspout", StormRow::Downspout),
    ("opening", StormRow::Opening),
    ("line", StormRow::Line),
    ("tank", StormRow::Tank),
    ("rain", StormRow::Rain),
    ("finding", StormRow::Finding),
];

impl StormArgs {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let row = row(self.by, self.format, StormRow::Downspout)?;
        let drawn = self.picture.medium()?.is_some();
        let (site, bytes) = self.site.read_with_bytes()?;
        let until = match &self.until {
            Some(text) => Some(wetrun_answers::length_of_time("--until", text, &site)?),
            None => None,
        };
        let clock = Clock::new();
        let storm = clock.over("storm", |watch| Storm::while_wanted(site, until, watch))?;
        let storm = storm.ok_or_else(|| Refusal::because("the storm was called off"))?;
        if matches!(self.format, Format::Text) || drawn {
            clock.over("storm, what differs", |watch| storm.find_meaning(watch));
        }
        drop(clock);
        let stdout = match self.format {
            Format::Text => text::storm::storm(&storm, self.both_units),
            Format::Json => json::storm::storm(&storm)?,
            Format::Csv => csv::storm::storm(&storm, row)?,
        };
        let inputs: [&Path; 1] = [&self.site.file.path];
        if let Some(out) = &self.series {
            self.picture.force.write(out, csv::storm::series(&storm)?.as_bytes(), &inputs)?;
        }
        let draw = |medium| paper::storm(&storm, &bytes, medium);
        let warning = self.picture.write(draw, &inputs)?;
        Ok(Answer { warning, ..Answer::new(stdout, storm.status()) })
    }
}
