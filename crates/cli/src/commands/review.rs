//! `wetrun review`: the inspector's checklist, item by item.

use crate::args::Format;
use crate::commands::site_file::StormSite;
use crate::files::Force;
use crate::outcome::{Answer, Refusal};
use clap::Args;
use std::path::PathBuf;
use wetrun_answers::{Solved, csv, json, text};

/// Review a drawing against the inspector's checklist: what conforms, what does not, what is
/// not shown, and what a person must decide.
#[derive(Debug, Args)]
pub(crate) struct Review {
    #[command(flatten)]
    pub(super) site: StormSite,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

    /// An item that is not shown fails.
    #[arg(long)]
    strict: bool,

    /// Print the keys that would show what is not shown, ready to paste into the site file.
    #[arg(long, conflicts_with = "format")]
    todo: bool,

    /// With `--todo`, write a site file with those keys in their place, all else kept as it is.
    #[arg(long, value_name = "OUT", requires = "todo")]
    write: Option<PathBuf>,

    #[command(flatten)]
    force: Force,
}

impl Review {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let (site, bytes) = self.site.read_with_bytes()?;
        let solved = Solved::new(site)?;
        let review = wetrun_answers::Review::new(&solved, self.strict);
        let status = review.status();
        if self.todo {
            let todo = review.todo(&solved, &bytes)?;
            if let Some(out) = &self.write {
                self.force.write(out, todo.file.as_bytes(), &[&self.site.file.path])?;
            }
            return Ok(Answer::new(todo.piece, status));
        }
        let stdout = match self.format {
            Format::Text => text::review::review(&solved, &review),
            Format::Json => json::review::review(&solved, &review)?,
            Format::Csv => csv::review::review(&solved, &review)?,
        };
        Ok(Answer::new(stdout, status))
    }
}
