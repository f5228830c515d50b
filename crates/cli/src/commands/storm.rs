//! `wetrun storm`: what happens minute by minute while a storm passes.

use crate::args::{Format, row};
use crate::clock::Clock;
use crate::commands::site_file::StormSite;
use crate::files::Force;
use crate::outcome::{Answer, Refusal};
use crate::picture;
use clap::{Args, ValueEnum};
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

    /// Draw it as well: a picture as OUT, ending in .svg, .html or .pdf.
    #[arg(short, long, value_name = "OUT")]
    output: Option<PathBuf>,

    /// Write the courses as a table as well: rain, levels, flows and contents at every step.
    #[arg(long, value_name = "FILE.csv")]
    series: Option<PathBuf>,

    #[command(flatten)]
    force: Force,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

    /// What a row of `--format csv` is; a downspout where this is not given.
    #[arg(long, value_name = "ROW")]
    by: Option<Row>,

    /// Show US and SI units side by side.
    #[arg(long)]
    both_units: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Row {
    Downspout,
    Opening,
    Line,
    Tank,
    Rain,
    Finding,
}

impl From<Row> for StormRow {
    fn from(row: Row) -> Self {
        match row {
            Row::Downspout => Self::Downspout,
            Row::Opening => Self::Opening,
            Row::Line => Self::Line,
            Row::Tank => Self::Tank,
            Row::Rain => Self::Rain,
            Row::Finding => Self::Finding,
        }
    }
}

impl StormArgs {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let row = row(self.by, self.format, Row::Downspout)?;
        let medium = self.output.as_deref().map(picture::medium).transpose()?;
        let (site, bytes) = self.site.read_with_bytes()?;
        let until = match &self.until {
            Some(text) => Some(wetrun_answers::length_of_time("--until", text, &site)?),
            None => None,
        };
        let clock = Clock::new();
        let storm = clock.over("storm", |watch| Storm::while_wanted(site, until, watch))?;
        let storm = storm.ok_or_else(|| Refusal::because("the storm was called off"))?;
        if matches!(self.format, Format::Text) || self.output.is_some() {
            clock.over("storm, what differs", |watch| storm.find_meaning(watch));
        }
        drop(clock);
        let stdout = match self.format {
            Format::Text => text::storm::storm(&storm, self.both_units),
            Format::Json => json::storm::storm(&storm)?,
            Format::Csv => csv::storm::storm(&storm, row.into())?,
        };
        let inputs: [&Path; 1] = [&self.site.file.path];
        if let Some(out) = &self.series {
            self.force.write(out, csv::storm::series(&storm)?.as_bytes(), &inputs)?;
        }
        let mut warning = String::new();
        if let Some((out, medium)) = self.output.as_ref().zip(medium) {
            let printed = paper::storm(&storm, &bytes, medium)?;
            warning = picture::write(out, &printed, self.force, &inputs)?;
        }
        Ok(Answer { warning, ..Answer::new(stdout, storm.status()) })
    }
}
