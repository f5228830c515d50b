//! `wetrun check`: the verdict on a site in its storm.

use crate::args::{Format, row};
use crate::commands::site_file::{Overrides, SiteFile};
use crate::outcome::{Answer, Refusal};
use clap::{Args, ValueEnum};
use wetrun_answers::{CheckRow, Solved, csv, json, text};

/// Solve a site in its design storm: how far the water stands below each gutter, what spills,
/// and which piece of the route costs the head.
#[derive(Debug, Args)]
pub(crate) struct Check {
    #[command(flatten)]
    pub(super) site: SiteFile,

    #[command(flatten)]
    overrides: Overrides,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

    /// What a row of `--format csv` is; a downspout where this is not given.
    #[arg(long, value_name = "ROW")]
    by: Option<Row>,

    /// Leave out the rains at which water first leaves: on thousands of lines they take longest.
    #[arg(long)]
    no_spill_rains: bool,

    /// Show US and SI units side by side.
    #[arg(long)]
    both_units: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Row {
    Site,
    Downspout,
    Line,
    Point,
    Opening,
    Tank,
    Finding,
}

impl From<Row> for CheckRow {
    fn from(row: Row) -> Self {
        match row {
            Row::Site => Self::Site,
            Row::Downspout => Self::Downspout,
            Row::Line => Self::Line,
            Row::Point => Self::Point,
            Row::Opening => Self::Opening,
            Row::Tank => Self::Tank,
            Row::Finding => Self::Finding,
        }
    }
}

impl Check {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let row = row(self.by, self.format, Row::Downspout)?;
        let mut site = self.site.read()?;
        self.overrides.apply(&mut site)?;
        let solved = match self.no_spill_rains {
            true => Solved::without_spill_rains(site)?,
            false => Solved::new(site)?,
        };
        let stdout = match self.format {
            Format::Text => text::check(&solved, self.both_units),
            Format::Json => json::check::check(&solved)?,
            Format::Csv => csv::check::check(&solved, row.into())?,
        };
        Ok(Answer::new(stdout, solved.status()))
    }
}
