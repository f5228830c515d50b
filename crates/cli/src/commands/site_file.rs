//! The site file named on the command line, and what may be overridden for one run.

use crate::files::no_larger;
use crate::outcome::Refusal;
use clap::{Args, ValueEnum};
use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};
use wetrun_site::{Site, Tanks};

/// The site file.
#[derive(Debug, Args)]
pub(crate) struct SiteFile {
    /// The site file; `-` reads it from standard input.
    #[arg(value_name = "SITE")]
    pub(crate) path: PathBuf,
}

impl SiteFile {
    /// The bytes of the file.
    pub(crate) fn bytes(&self) -> Result<Vec<u8>, Refusal> {
        read_bytes(&self.path).map_err(|error| {
            Refusal::because(format_args!("cannot read `{}`: {error}", self.name()))
        })
    }

    /// What messages call it.
    pub(crate) fn name(&self) -> String {
        if self.path == Path::new("-") {
            return "<stdin>".to_owned();
        }
        self.path.display().to_string()
    }

    /// Reads the site.
    pub(crate) fn read(&self) -> Result<Site, Refusal> {
        self.read_from(&self.bytes()?)
    }

    /// Reads the site from the bytes of its file.
    pub(crate) fn read_from(&self, bytes: &[u8]) -> Result<Site, Refusal> {
        wetrun_answers::read(bytes, &self.name())
    }
}

/// The bytes of a file, or of standard input where it is `-`.
pub(crate) fn read_bytes(path: &Path) -> io::Result<Vec<u8>> {
    match path == Path::new("-") {
        true => no_larger(io::stdin().lock()),
        false => no_larger(File::open(path)?),
    }
}

/// A site file, and what replaces its storm for this run.
#[derive(Debug, Args)]
pub(crate) struct StormSite {
    #[command(flatten)]
    pub(crate) file: SiteFile,

    #[command(flatten)]
    overrides: Overrides,
}

impl StormSite {
    /// What messages call it.
    pub(crate) fn name(&self) -> String {
        self.file.name()
    }

    /// Reads the site, with what replaces its storm.
    pub(crate) fn read(&self) -> Result<Site, Refusal> {
        Ok(self.read_with_bytes()?.0)
    }

    /// The same with the bytes of its file.
    pub(crate) fn read_with_bytes(&self) -> Result<(Site, Vec<u8>), Refusal> {
        let bytes = self.file.bytes()?;
        let mut site = self.file.read_from(&bytes)?;
        self.overrides.apply(&mut site)?;
        Ok((site, bytes))
    }
}

/// What replaces the file's storm for one run.
#[derive(Debug, Args)]
pub(crate) struct Overrides {
    /// Rain in place of the file's, such as `6 in/h` or `150 mm/h`.
    #[arg(long, value_name = "RAIN", allow_hyphen_values = true)]
    storm: Option<String>,

    /// How the tanks stand, in place of what the file says: at their overflows, or below every
    /// inlet.
    #[arg(long, value_name = "STATE")]
    tanks: Option<TankState>,
}

/// How the tanks stand.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum TankState {
    Full,
    Empty,
}

impl Overrides {
    /// Refuses a rain that is none, whatever site it is for.
    pub(crate) fn sound(&self) -> Result<(), Refusal> {
        wetrun_answers::Overrides { rain: self.storm.clone(), tanks: None }.sound()
    }

    /// Puts the overrides in place.
    pub(crate) fn apply(&self, site: &mut Site) -> Result<(), Refusal> {
        let tanks = self.tanks.map(|tanks| match tanks {
            TankState::Full => Tanks::Full,
            TankState::Empty => Tanks::Empty,
        });
        wetrun_answers::Overrides { rain: self.storm.clone(), tanks }.apply(site)
    }
}
