//! `wetrun list`: the catalogue of pipes and fittings, with the source of every row.

use crate::args::Format;
use crate::outcome::{Answer, Refusal};
use clap::{Args, ValueEnum};
use wetrun_answers::{csv, json, text};

/// List the catalogue: pipe types with their sizes, or fittings with their coefficients.
#[derive(Debug, Args)]
pub(crate) struct List {
    /// What to list.
    what: What,

    /// How to write the list.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum What {
    Pipes,
    Fittings,
}

impl List {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let out = match (self.what, self.format) {
            (What::Pipes, Format::Text) => text::catalogue::pipes(),
            (What::Pipes, Format::Json) => json::catalogue::pipes()?,
            (What::Pipes, Format::Csv) => csv::catalogue::pipes()?,
            (What::Fittings, Format::Text) => text::catalogue::fittings(),
            (What::Fittings, Format::Json) => json::catalogue::fittings()?,
            (What::Fittings, Format::Csv) => csv::catalogue::fittings()?,
        };
        Ok(Answer::pass(out))
    }
}
