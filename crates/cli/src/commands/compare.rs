//! `wetrun compare`: two revisions of a site, and what the changes do to it.

use crate::args::{Format, named, row};
use crate::commands::site_file::SiteFile;
use crate::outcome::{Answer, Refusal};
use clap::Args;
use std::path::PathBuf;
use wetrun_answers::{CompareRow, Comparison, Solved, csv, json, text};

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

    /// What a row of `--format csv` is; a downspout where this is not given.
    #[arg(long, value_name = "ROW", value_parser = named(ROWS))]
    by: Option<CompareRow>,
}

const ROWS: [(&str, CompareRow); 3] = [
    ("downspout", CompareRow::Downspout),
    ("change", CompareRow::Change),
    ("finding", CompareRow::Finding),
];

impl Compare {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let row = row(self.by, self.format, CompareRow::Downspout)?;
        let solved = |path| {
            let file = SiteFile { path };
            file.read().and_then(Solved::new).map_err(|refusal| refusal.about(&file.name()))
        };
        let (before, after) = (solved(self.before)?, solved(self.after)?);
        let comparison = Comparison::new(before, after);
        let stdout = match self.format {
            Format::Text => text::compare::compare(&comparison),
            Format::Json => json::compare::compare(&comparison)?,
            Format::Csv => csv::compare::compare(&comparison, row)?,
        };
        Ok(Answer::new(stdout, comparison.status()))
    }
}
