//! `wetrun doubt`: how sure the margins are.

use crate::args::{Format, named, row};
use crate::commands::site_file::StormSite;
use crate::outcome::{Answer, Refusal};
use crate::picture::Picture;
use clap::Args;
use std::num::NonZeroUsize;
use wetrun_answers::{Asked, DoubtRow, Doubted, csv, json, paper, text};

/// Say how sure the margins are: how likely the gutters back up given how well each number is known,
/// which number decides it, the smallest bad luck that makes them, and what one plain fault does.
#[derive(Debug, Args)]
pub(crate) struct Doubt {
    #[command(flatten)]
    pub(super) site: StormSite,

    /// How many storms to try, each with the numbers drawn anew within what they may be.
    #[arg(long, value_name = "N", default_value_t = Asked::SAMPLES, value_parser = samples)]
    samples: usize,

    /// The seed that the draws begin from: the same seed gives the same numbers.
    #[arg(long, value_name = "SEED", default_value_t = Asked::SEED)]
    seed: u64,

    /// Print what is taken to be off, as a section to paste into the site file and better; nothing is
    /// sampled.
    #[arg(long, conflicts_with_all = ["format", "by", "output"])]
    inputs: bool,

    #[command(flatten)]
    picture: Picture,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

    /// What a row of `--format csv` is; a downspout where this is not given.
    #[arg(long, value_name = "ROW", value_parser = named(ROWS))]
    by: Option<DoubtRow>,
}

const ROWS: [(&str, DoubtRow); 4] = [
    ("downspout", DoubtRow::Downspout),
    ("input", DoubtRow::Input),
    ("share", DoubtRow::Share),
    ("fault", DoubtRow::Fault),
];

fn samples(text: &str) -> Result<usize, String> {
    match text.parse() {
        Ok(samples) if (16..=1_000_000).contains(&samples) => Ok(samples),
        _ => Err("a whole number from 16 to 1000000".to_owned()),
    }
}

impl Doubt {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let row = row(self.by, self.format, DoubtRow::Downspout)?;
        self.picture.medium()?;
        let (site, bytes) = self.site.read_with_bytes()?;
        if self.inputs {
            return Ok(Answer::pass(text::doubt::yaml(&site)));
        }
        let threads = std::thread::available_parallelism().map_or(1, NonZeroUsize::get);
        let asked = Asked { samples: self.samples, seed: self.seed, threads };
        let doubted = Doubted::new(site, &asked)?;
        let stdout = match self.format {
            Format::Text => text::doubt::doubt(&doubted),
            Format::Json => json::doubt::doubt(&doubted)?,
            Format::Csv => csv::doubt::doubt(&doubted, row)?,
        };
        let draw = |medium| paper::doubt(&doubted, &bytes, medium);
        let warning = self.picture.write(draw, &[&self.site.file.path])?;
        Ok(Answer { warning, ..Answer::new(stdout, doubted.settled.status()) })
    }
}
