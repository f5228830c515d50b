//! `wetrun compare`: two revisions of a site, and what the changes do to it.

use crate::args::Format;
use crate::commands::site_file::SiteFile;
use crate::outcome::{Answer, Refusal};
use clap::Args;
use std::path::PathBuf;
use wetrun_answers::{Comparison, Solved, json, text};

/// Compare two revisions of a site, or the design and the as built: what changed, and what that
/// did to every margin and finding. The status is that of `check` on the second.
#[derive(Debug, Args)]
pub(crate) struct Compare {
    /// The first site file.
    #[arg(value_name = "A")]
    before: PathBuf,

    /// The second site file.
    #[arg(value_name = "B")]
    after: PathBuf,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,
}

impl Compare {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let solved = |path| {
            let file = SiteFile { path };
            file.read().and_then(Solved::new).map_err(|refusal| refusal.about(&file.name()))
        };
        let (before, after) = (solved(self.before)?, solved(self.after)?);
        let comparison = Comparison::new(before, after);
        let stdout = match self.format {
            Format::Text => text::compare::compare(&comparison),
            Format::Json => json::compare::compare(&comparison)?,
        };
        Ok(Answer::new(stdout, comparison.status()))
    }
}
