//! `wetrun levels`: the level schedule, rod readings, and the as-built check.

use crate::args::{Format, Rod, named, row};
use crate::commands::site_file::{SiteFile, StormSite};
use crate::files::Force;
use crate::outcome::{Answer, Refusal};
use clap::Args;
use std::path::{Path, PathBuf};
use wetrun_answers::{LevelRow, ReadingsFile, Report, Sights, Solved, csv, json, text};

/// The level schedule: for every level that somebody sets how far it may go with everything
/// still passing, what a millimetre there costs, how far all may be off at once, and up to what
/// level joints must be watertight. With readings: whether what was built still passes.
#[derive(Debug, Args)]
pub(crate) struct Levels {
    #[command(flatten)]
    pub(super) site: StormSite,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

    /// What a row of `--format csv` is: a level to set, a downspout with the level up to which
    /// joints must be watertight, a level measured, or a benchmark closed on; a level where this
    /// is not given.
    #[arg(long, value_name = "ROW", value_parser = named(ROWS))]
    by: Option<LevelRow>,

    /// What the rod reads on a benchmark, such as `BM1=4.32 ft`: gives the rod reading for
    /// every level.
    #[arg(long, value_name = "BENCHMARK=READING", allow_hyphen_values = true)]
    backsight: Option<String>,

    /// What the rod reads on another benchmark from the same place: the closing check.
    #[arg(long, value_name = "BENCHMARK=READING", allow_hyphen_values = true)]
    foresight: Vec<String>,

    /// How rod readings are written: decimal feet, feet and inches to 1/8, or millimetres; the
    /// site's own system decides where this is not given.
    #[arg(long, value_name = "UNIT")]
    rod: Option<Rod>,

    /// A file of levels measured on site, of rod readings, or (ending in .csv) of points surveyed as
    /// `--points` writes them: checks what was built.
    #[arg(long, value_name = "READINGS")]
    as_built: Option<PathBuf>,

    /// Write the site file as built, with comments and order kept.
    #[arg(long, value_name = "OUT", requires = "as_built")]
    write: Option<PathBuf>,

    /// Write the levels that have a place in plan as survey points: number, northing, easting,
    /// level, description, in the file's units.
    #[arg(long, value_name = "OUT.csv")]
    points: Option<PathBuf>,

    #[command(flatten)]
    force: Force,
}

const ROWS: [(&str, LevelRow); 4] = [
    ("level", LevelRow::Level),
    ("downspout", LevelRow::Downspout),
    ("measured", LevelRow::Measured),
    ("benchmark", LevelRow::Benchmark),
];

impl Levels {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let row = row(self.by, self.format, LevelRow::Level)?;
        let (site, bytes) = self.site.read_with_bytes()?;
        let solved = Solved::new(site)?;
        let readings = self.as_built.as_deref().map(readings).transpose()?;
        let sights = Sights {
            backsight: self.backsight.clone(),
            foresights: self.foresight.clone(),
            rod: self.rod.map(Into::into),
        };
        let report = Report::new(solved, readings.as_ref(), &sights)?;
        let stdout = match self.format {
            Format::Text => text::levels::levels(&report),
            Format::Json => json::levels::levels(&report)?,
            Format::Csv => csv::levels(&report, row)?,
        };
        let mut answer = Answer::new(stdout, report.status());
        for doubt in &report.plan_doubts {
            answer.warning.push_str(&format!("warning: {doubt}\n"));
        }
        let inputs = [Some(&self.site.file.path), self.as_built.as_ref()];
        let inputs: Vec<&Path> = inputs.into_iter().flatten().map(PathBuf::as_path).collect();
        if let Some(out) = &self.points {
            let points = csv::points(&report)?;
            self.force.write(out, points.text.as_bytes(), &inputs)?;
            answer.warning.push_str(&points.warning());
        }
        if let Some(out) = &self.write
            && let Some(as_built) = report.as_built(&bytes)?
        {
            self.force.write(out, as_built.as_bytes(), &inputs)?;
            answer.warning.push_str(&text::levels::written(out, &report));
        }
        Ok(answer)
    }
}

/// The readings file; a dash reads it from standard input.
fn readings(path: &Path) -> Result<ReadingsFile, Refusal> {
    let bytes = SiteFile { path: path.to_owned() }.bytes()?;
    Ok(ReadingsFile { name: path.display().to_string(), bytes })
}
