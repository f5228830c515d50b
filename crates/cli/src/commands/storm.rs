//! `wetrun storm`: what happens minute by minute while a storm passes.

use crate::args::Format;
use crate::commands::site_file::{Overrides, SiteFile};
use crate::outcome::{Answer, Refusal};
use clap::Args;
use wetrun_answers::{Storm, json, text};

/// Follow the storm as it passes: how high the water comes and when, what spills, how the tanks
/// fill, where the rain goes, and how that differs from the steady check.
#[derive(Debug, Args)]
pub(crate) struct StormArgs {
    #[command(flatten)]
    pub(super) site: SiteFile,

    #[command(flatten)]
    overrides: Overrides,

    /// The latest end of the run, such as `6 h`; without it the run ends when nothing flows any
    /// more, a day after the rain at the latest.
    #[arg(long, value_name = "TIME")]
    until: Option<String>,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

    /// Show US and SI units side by side.
    #[arg(long)]
    both_units: bool,
}

impl StormArgs {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let mut site = self.site.read()?;
        self.overrides.apply(&mut site)?;
        let until = match &self.until {
            Some(text) => Some(wetrun_answers::length_of_time("--until", text, &site)?),
            None => None,
        };
        let storm = Storm::new(site, until, None)?;
        let stdout = match self.format {
            Format::Text => text::storm::storm(&storm, self.both_units),
            Format::Json => json::storm::storm(&storm)?,
        };
        Ok(Answer::new(stdout, storm.status()))
    }
}
