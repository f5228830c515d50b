//! `wetrun size`: the cheapest pipes that carry the storm, with the proof.

use crate::args::{Format, named, row};
use crate::commands::site_file::StormSite;
use crate::files::Force;
use crate::outcome::{Answer, Refusal};
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use std::path::PathBuf;
use std::time::{Duration, Instant};
use wetrun_answers::{Progress, SizeRow, Sized, csv, json, text};

/// Choose the cheapest sizes for the pipes that the file leaves open, such that every downspout
/// takes its whole demand and keeps its freeboard, and say whether anything cheaper could work.
#[derive(Debug, Args)]
pub(crate) struct Size {
    #[command(flatten)]
    pub(super) site: StormSite,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

    /// What a row of `--format csv` is: a pipe that was open, or the site and what came of it; a
    /// pipe where this is not given.
    #[arg(long, value_name = "ROW", value_parser = named(ROWS))]
    by: Option<SizeRow>,

    /// Write a site file with the sizes filled in, all else kept as it is.
    #[arg(long, value_name = "OUT")]
    write: Option<PathBuf>,

    #[command(flatten)]
    force: Force,

    /// On loops and between tanks, how many sets of sizes and boxes of them to try at the most.
    /// Without it 100,000, and fewer where more than 20 lines lie there.
    #[arg(long, value_name = "COUNT")]
    tries: Option<usize>,
}

const ROWS: [(&str, SizeRow); 2] = [("pipe", SizeRow::Pipe), ("site", SizeRow::Site)];

impl Size {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let row = row(self.by, self.format, SizeRow::Pipe)?;
        let (site, bytes) = self.site.read_with_bytes()?;
        let bar = Bar::new();
        let around = matches!(self.format, Format::Text);
        let mut tell = |what: &str, progress| bar.tell(what, progress);
        let sized = Sized::new(site, self.tries, around, &mut tell)?;
        drop(bar);
        if let Some(out) = &self.write
            && let Some(filled_in) = sized.filled_in(&bytes)?
        {
            self.force.write(out, filled_in.as_bytes(), &[&self.site.file.path])?;
        }
        let stdout = match self.format {
            Format::Text => text::size::size(&sized, self.write.as_deref()),
            Format::Json => json::size::size(&sized)?,
            Format::Csv => csv::size::size(&sized, row)?,
        };
        Ok(Answer::new(stdout, sized.status()))
    }
}

/// A bar on a terminal, once a search takes longer.
struct Bar {
    bar: ProgressBar,
    started: Instant,
}

impl Bar {
    /// Drawn to stderr and only on a terminal; quick searches end before the first tick.
    fn new() -> Self {
        let bar = ProgressBar::new(1);
        bar.set_style(
            ProgressStyle::with_template("{msg} [{wide_bar}] {pos}/{len}")
                .unwrap_or_else(|_| ProgressStyle::default_bar()),
        );
        Self { bar, started: Instant::now() }
    }

    /// Tells how far a search for `what` has come.
    fn tell(&self, what: &str, progress: Progress) {
        if self.started.elapsed() < Duration::from_millis(500) {
            return;
        }
        let (words, done, of) = match progress {
            Progress::Tree { done, of } => ("trees".to_owned(), done, of),
            Progress::Mends { tried, most } => {
                ("nothing works; changes of level".to_owned(), tried, most)
            }
            Progress::Ring { solves, most, bound, best } => {
                let best = best.map_or("none yet".to_owned(), |cost| format!("{cost:.2}"));
                (format!("best {best}, none below {bound:.2}"), solves, most)
            }
        };
        self.bar.set_message(format!("{what}: {words}"));
        self.bar.set_length(of as u64);
        self.bar.set_position(done as u64);
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
