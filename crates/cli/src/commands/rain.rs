//! `wetrun rain`: the rain of a return period out of a published table, and into a site file.

use crate::args::Format;
use crate::commands::site_file::SiteFile;
use crate::files::Force;
use crate::outcome::{Answer, Refusal};
use clap::Args;
use std::path::{Path, PathBuf};
use wetrun_answers::{DesignRain, csv, json, rain_table, text};

/// Read a table of rain as a weather service publishes it: what falls in each duration once in so
/// many years; and put it into a site file.
///
/// TABLE is the precipitation-frequency table of the US weather service as it is downloaded (CSV;
/// depths or intensities, inches or millimetres), or a plain CSV: a column `duration` and one a
/// return period, headed such as `10 yr (mm)`.
#[derive(Debug, Args)]
pub(crate) struct Rain {
    /// The table; `-` reads it from standard input.
    #[arg(value_name = "TABLE")]
    table: PathBuf,

    /// The return period; between columns it is interpolated, beyond them there is none.
    #[arg(long, value_name = "YEARS", allow_hyphen_values = true)]
    years: Option<f64>,

    /// What the storm is the mean of; 5 min where this is not given, as a gutter fills in minutes.
    #[arg(long, value_name = "DURATION", allow_hyphen_values = true)]
    duration: Option<String>,

    /// Put the rains into this site file, as `rainfall`, and let its storm take its intensity from
    /// them; comments and all other keys stay.
    #[arg(long, value_name = "SITE")]
    write: Option<PathBuf>,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,
}

impl Rain {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let file = SiteFile { path: self.table };
        let table = rain_table(&file.bytes()?, &file.name())?;
        let rain = DesignRain::new(table, &file.name(), self.years, self.duration.as_deref())?;
        let stdout = match self.format {
            Format::Text => text::rain::rain(&rain),
            Format::Json => json::rain::rain(&rain)?,
            Format::Csv => csv::rain::rain(&rain)?,
        };
        let mut answer = Answer::pass(stdout);
        for note in rain.notes() {
            answer.warning.push_str(&format!("warning: {note}\n"));
        }
        if let Some(out) = self.write {
            answer.warning.push_str(&put(&rain, &file.path, out)?);
        }
        Ok(answer)
    }
}

/// Puts the rains into a site file, and says what that leaves as it was.
fn put(rain: &DesignRain, table: &Path, out: PathBuf) -> Result<String, Refusal> {
    let site = SiteFile { path: out };
    if site.path == Path::new("-") {
        return Err(Refusal::because("--write: name the site file; `-` cannot be written back"));
    }
    let new = rain.put_into(&site.bytes()?, &site.name())?;
    Force { force: false }.write(&site.path, new.as_bytes(), &[table])?;
    let mut said = format!("{}: rainfall and storm.from are written\n", site.name());
    let after = site.read_from(new.as_bytes())?;
    // A basis of its own is printed in place of the table's: it may be that of another rain.
    let basis = after.storm.basis.as_ref().filter(|_| after.place(&["storm", "basis"]).is_some());
    if let Some(basis) = basis {
        said.push_str(&format!(
            "warning: storm.basis still says `{basis}`, and is what reports print; take it out \
             where it is not this table's\n"
        ));
    }
    Ok(said)
}
