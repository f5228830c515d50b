//! `wetrun check`: the verdict on a site in its storm.

use crate::args::Format;
use crate::commands::site_file::{Overrides, SiteFile};
use crate::outcome::{Answer, Refusal};
use clap::Args;
use wetrun_answers::{Solved, json, text};

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

    /// Show US and SI units side by side.
    #[arg(long)]
    both_units: bool,
}

impl Check {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let mut site = self.site.read()?;
        self.overrides.apply(&mut site)?;
        let solved = Solved::new(site)?;
        let stdout = match self.format {
            Format::Text => text::check(&solved, self.both_units),
            Format::Json => json::check::check(&solved)?,
        };
        Ok(Answer::new(stdout, solved.status()))
    }
}
