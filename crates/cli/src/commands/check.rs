//! `wetrun check`: the verdict on a site in its storm.

use crate::args;
use crate::commands::many::{Many, listed};
use crate::commands::site_file::{Overrides, SiteFile};
use crate::outcome::{Answer, Refusal, Status};
use clap::{Args, ValueEnum};
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::PathBuf;
use wetrun_answers::{CheckRow, Solved, csv, json, text};

/// Solve a site in its design storm: how far the water stands below each gutter, what spills,
/// and which piece of the route costs the head. With `--format jsonl` many sites: a line of JSON
/// each, in the order given, on all cores.
#[derive(Debug, Args)]
pub(crate) struct Check {
    /// The site file; `-` reads it from standard input. With `--format jsonl` any number of files and
    /// folders; a folder stands for its *.yaml by name, those of its folders among them.
    #[arg(value_name = "SITE", required_unless_present = "each")]
    sites: Vec<PathBuf>,

    /// More of them, a path a line in this file; `-` reads the list from standard input.
    #[arg(long, value_name = "LIST")]
    each: Option<PathBuf>,

    #[command(flatten)]
    overrides: Overrides,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

    /// What a row of `--format csv` is; a downspout where this is not given.
    #[arg(long, value_name = "ROW", value_parser = args::named(ROWS))]
    by: Option<CheckRow>,

    /// Leave out the rains at which water first leaves: on thousands of lines they take longest.
    #[arg(long)]
    no_spill_rains: bool,

    /// Show US and SI units side by side.
    #[arg(long)]
    both_units: bool,
}

/// How to write the result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    Text,
    Json,
    Csv,
    // A line of JSON a site.
    Jsonl,
}

const ROWS: [(&str, CheckRow); 7] = [
    ("site", CheckRow::Site),
    ("downspout", CheckRow::Downspout),
    ("line", CheckRow::Line),
    ("point", CheckRow::Point),
    ("opening", CheckRow::Opening),
    ("tank", CheckRow::Tank),
    ("finding", CheckRow::Finding),
];

impl Check {
    /// What messages call the file, where it is one.
    pub(super) fn name(&self) -> Option<String> {
        match (&self.sites[..], self.format) {
            ([one], Format::Text | Format::Json | Format::Csv) => {
                Some(SiteFile { path: one.clone() }.name())
            }
            _ => None,
        }
    }

    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let format = match self.format {
            Format::Text => args::Format::Text,
            Format::Json => args::Format::Json,
            Format::Csv => args::Format::Csv,
            Format::Jsonl => return self.many(),
        };
        let row = args::row(self.by, format, CheckRow::Downspout)?;
        let [path] = &self.sites[..] else {
            return Err(Refusal::because("many sites are answered by `--format jsonl`; add that"));
        };
        if self.each.is_some() || path.is_dir() {
            return Err(Refusal::because(
                "folders and lists of sites are answered by `--format jsonl`; add that",
            ));
        }
        let mut site = SiteFile { path: path.clone() }.read()?;
        self.overrides.apply(&mut site)?;
        let solved = match self.no_spill_rains {
            true => Solved::without_spill_rains(site)?,
            false => Solved::new(site)?,
        };
        let stdout = match format {
            args::Format::Text => text::check(&solved, self.both_units),
            args::Format::Json => {
                json::check::writable(&solved)?;
                return Ok(Answer::written(move |out| json(&solved, out)));
            }
            args::Format::Csv => csv::check::check(&solved, row)?,
        };
        Ok(Answer::new(stdout, solved.status()))
    }

    fn many(self) -> Result<Answer, Refusal> {
        if self.by.is_some() || self.both_units {
            let message = "`--by` and `--both-units` have no part in `--format jsonl`";
            return Err(Refusal::because(message));
        }
        self.overrides.sound()?;
        let mut paths = self.sites;
        if let Some(list) = &self.each {
            paths.extend(listed(list)?);
        }
        if paths.is_empty() {
            return Err(Refusal::because("the list names no site"));
        }
        let many = Many { paths, no_spill_rains: self.no_spill_rains, overrides: self.overrides };
        Ok(Answer::written(move |out| many.write(out)))
    }
}

/// Writes the whole result, and says how it ended.
fn json(solved: &Solved, out: &mut dyn Write) -> io::Result<Status> {
    let mut out = BufWriter::new(out);
    let written = json::check::write(solved, &mut out).map_err(io::Error::other)?;
    match written.and_then(|()| out.flush()) {
        // Whoever read the output has seen enough, and all of it is worked out.
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(solved.status()),
        written => written.map(|()| solved.status()),
    }
}
