//! `wetrun levels`: the level schedule, rod readings, and the as-built check.

use crate::commands::site_file::{Overrides, SiteFile};
use crate::outcome::{Answer, Refusal, Status};
use crate::render;
use crate::site_levels::{self, Level};
use crate::solved::{Solved, not_solved};
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};
use wetrun_checks::Outcome;
use wetrun_design::levels::{
    AsBuilt, Close, Drawn, Instrument, LevelRun, Limits, Schedule, SetPoint, Verdict,
    review_as_built, schedule,
};
use wetrun_site::edit::set_values;
use wetrun_site::{Reading, ReadingNames, Site};
use wetrun_units::{Length, Shown, UnitSystem, decimal, feet_inches, nearest};

/// The level schedule: for every level that somebody sets how far it may go with everything
/// still passing, what a millimetre there costs, how far all may be off at once, and up to what
/// level joints must be watertight. With readings: whether what was built still passes.
#[derive(Debug, Args)]
pub(crate) struct Levels {
    #[command(flatten)]
    site: SiteFile,

    #[command(flatten)]
    overrides: Overrides,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

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

    /// A file of levels measured on site, or of rod readings: checks what was built.
    #[arg(long, value_name = "READINGS")]
    as_built: Option<PathBuf>,

    /// Write the site file as built, with comments and order kept.
    #[arg(long, value_name = "OUT", requires = "as_built")]
    write: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    Text,
    Json,
    Csv,
}

/// How a rod is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Rod {
    /// Decimal feet, to 0.01.
    Ft,
    /// Feet and inches, to 1/8.
    Ftin,
    /// Whole millimetres.
    Mm,
}

impl Rod {
    /// A reading as the rod shows it.
    pub(crate) fn show(self, reading: Length) -> Shown {
        match self {
            Self::Ft => Shown { number: decimal(reading.to_m() / 0.3048, 2), unit: "ft" },
            Self::Ftin => Shown { number: feet_inches(reading), unit: "" },
            Self::Mm => Shown { number: decimal(reading.to_m() * 1000.0, 0), unit: "mm" },
        }
    }

    /// The same rounded up or down, so that a limit as printed still holds.
    pub(crate) fn show_limit(self, reading: Length, upwards: bool) -> Shown {
        let step_m = match self {
            Self::Ft => 0.01 * 0.3048,
            Self::Ftin => 0.0254 / 8.0,
            Self::Mm => 0.001,
        };
        let steps = reading.to_m() / step_m;
        let steps = if upwards { (steps - 1e-6).ceil() } else { (steps + 1e-6).floor() };
        self.show(Length::m(steps * step_m))
    }
}

/// Everything that the command reports.
pub(crate) struct Report {
    /// The site as drawn, solved and judged.
    pub(crate) solved: Solved,
    /// The site as drawn, as the search for limits takes it.
    pub(crate) drawn: Drawn,
    /// Every level that somebody sets.
    pub(crate) levels: Vec<Level>,
    /// The schedule: as drawn, or as built.
    pub(crate) schedule: Schedule,
    /// Whether something fails that no level changes.
    pub(crate) fails_otherwise: bool,
    /// The instrument as it stands.
    pub(crate) instrument: Option<Instrument>,
    /// The closing checks.
    pub(crate) closes: Vec<Close>,
    /// How rod readings are written.
    pub(crate) rod: Rod,
    /// What was built.
    pub(crate) built: Option<Built>,
}

/// What was built.
pub(crate) struct Built {
    /// What it comes to.
    pub(crate) as_built: AsBuilt,
    /// The level found for each of the report's levels, where it was measured.
    pub(crate) found: Vec<Option<Length>>,
}

impl Levels {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let bytes = self.site.bytes()?;
        let mut site = self.site.read_from(&bytes)?;
        self.overrides.apply(&mut site)?;
        let report = self.report(Solved::new(site)?)?;
        if let (Some(out), Some(built)) = (&self.write, &report.built) {
            write(out, &bytes, &report.solved.site, &report.levels, &built.found)?;
        }
        let stdout = match self.format {
            Format::Text => render::text::levels::levels(&report),
            Format::Json => render::json::levels::levels(&report)?,
            Format::Csv => render::csv::levels(&report)?,
        };
        Ok(Answer::new(stdout, report.status()))
    }

    fn report(&self, solved: Solved) -> Result<Report, Refusal> {
        let site = &solved.site;
        let drawn = site_levels::drawn(&solved);
        let levels = site_levels::levels(site, &drawn);
        let benchmarks = site.benchmarks.iter().map(|b| (b.tag.clone(), b.level));
        let mut run = LevelRun::new(benchmarks);
        let built = match &self.as_built {
            Some(path) => Some(as_built(path, site, &drawn, &levels, &mut run)?),
            None => None,
        };
        if let Some(text) = &self.backsight {
            let (on, reading) = sight("--backsight", text, site)?;
            run.backsight(&on, reading).map_err(Refusal::because)?;
        }
        for text in &self.foresight {
            let (on, reading) = sight("--foresight", text, site)?;
            run.close(&on, reading).map_err(|error| {
                Refusal::because(format_args!("--foresight `{}`: {error}", text.escape_debug()))
            })?;
        }
        let now = built.as_ref().map_or(&drawn, |b| &b.as_built.built);
        let schedule = schedule(now).map_err(not_solved)?;
        let by_levels = ["freeboard", "no-spill"];
        let fails_otherwise = (solved.findings.iter())
            .any(|f| f.outcome == Outcome::Fail && !by_levels.contains(&f.rule));
        let rod = self.rod.unwrap_or(match site.units {
            UnitSystem::Us => Rod::Ft,
            UnitSystem::Si => Rod::Mm,
        });
        Ok(Report {
            drawn,
            levels,
            schedule,
            fails_otherwise,
            instrument: run.instrument(),
            closes: run.closes().to_vec(),
            rod,
            built,
            solved,
        })
    }
}

impl Report {
    /// Whether everything passes, as drawn or as built.
    pub(crate) fn passes(&self) -> bool {
        self.schedule.passes() && !self.fails_otherwise
    }

    pub(crate) fn status(&self) -> Status {
        if self.passes() { Status::Pass } else { Status::Fail }
    }

    /// How far a level may go; without limits where the site fails.
    pub(crate) fn limits(&self, level: &Level) -> Option<Limits> {
        let found = self.schedule.set_points.iter();
        let found = found.copied().find(|l| Some(l.set_point) == level.set_point)?;
        Some(if self.passes() { found } else { Limits { lowest: None, highest: None, ..found } })
    }

    /// The one tolerance; none where the site fails.
    pub(crate) fn tolerance(&self) -> Option<Length> {
        self.schedule.tolerance_all.filter(|_| self.passes())
    }

    /// The level of a set-point in words: tag and key.
    pub(crate) fn name(&self, set_point: SetPoint) -> String {
        let network = &self.solved.site.network;
        format!("{} {}", set_point.tag(network), set_point.key(network))
    }

    /// The as-built verdict.
    pub(crate) fn verdict(&self) -> Option<Verdict> {
        self.built.as_ref().map(|b| b.as_built.verdict)
    }
}

/// `BM1=4.32 ft`: a benchmark of the site and a reading.
pub(crate) fn sight(option: &str, text: &str, site: &Site) -> Result<(String, Length), Refusal> {
    let wrong =
        |why: String| Refusal::because(format_args!("{option} `{}`: {why}", text.escape_debug()));
    let Some((on, reading)) = text.split_once('=') else {
        return Err(wrong("write a benchmark and a reading, such as `BM1=4.32 ft`".to_owned()));
    };
    let on = on.trim();
    if !site.benchmarks.iter().any(|b| b.tag == on) {
        let tags = || site.benchmarks.iter().map(|b| b.tag.as_str());
        let near = nearest(on, tags()).map_or(String::new(), |n| format!("; the nearest is `{n}`"));
        let none =
            if tags().next().is_none() { "; the site file has no `benchmarks:`" } else { "" };
        return Err(wrong(format!("there is no such benchmark{near}{none}")));
    }
    let reading = site.units.read_level(reading).map_err(|error| wrong(error.to_string()))?;
    if reading.to_m().abs() > 20.0 {
        return Err(wrong("a rod reading is within 20 m (65 ft)".to_owned()));
    }
    Ok((on.to_owned(), reading))
}

/// Reads what was measured and judges it.
fn as_built(
    path: &Path,
    site: &Site,
    drawn: &Drawn,
    levels: &[Level],
    run: &mut LevelRun,
) -> Result<Built, Refusal> {
    let names = ReadingNames {
        units: site.units,
        benchmarks: site.benchmarks.iter().map(|b| b.tag.clone()).collect(),
        levels: levels.iter().map(|l| (l.tag.clone(), l.key.clone())).collect(),
    };
    let bytes = SiteFile { path: path.to_owned() }.bytes()?;
    let readings = wetrun_site::read_readings(bytes, &path.display().to_string(), &names)
        .map_err(|found| Refusal(found.render(true)))?;
    let mut found = vec![None; levels.len()];
    let mut note = |tag: &str, key: &str, level: Length| {
        if let Some(index) = levels.iter().position(|l| l.tag == tag && l.key == key) {
            found[index] = Some(level);
        }
    };
    for reading in readings {
        match reading {
            Reading::Backsight { on, rod } => {
                run.backsight(&on, rod).map_err(Refusal::because)?;
            }
            Reading::Turn { name, rod } => {
                run.turn(&name, rod).map_err(Refusal::because)?;
            }
            Reading::Close { on, rod } => {
                run.close(&on, rod).map_err(Refusal::because)?;
            }
            Reading::Rod { tag, level, rod } => {
                note(&tag, &level, run.foresight(rod).map_err(Refusal::because)?);
            }
            Reading::Measured { tag, level, found } => note(&tag, &level, found),
        }
    }
    let measured: Vec<(SetPoint, Length)> = levels
        .iter()
        .zip(&found)
        .filter_map(|(level, found)| Some((level.set_point?, (*found)?)))
        .collect();
    let as_built = review_as_built(drawn, &measured).map_err(Refusal::because)?;
    Ok(Built { as_built, found })
}

/// Writes the site file with the levels found.
fn write(
    out: &Path,
    bytes: &[u8],
    site: &Site,
    levels: &[Level],
    found: &[Option<Length>],
) -> Result<(), Refusal> {
    let text = std::str::from_utf8(bytes).map_err(Refusal::because)?;
    let measured = levels.iter().zip(found).filter_map(|(l, f)| Some((l, (*f)?)));
    let edits: Vec<_> = measured.flat_map(|(l, f)| site_levels::edits(site, l, f)).collect();
    let text = set_values(text, &edits).map_err(Refusal::because)?;
    std::fs::write(out, text).map_err(|error| {
        Refusal::because(format_args!("cannot write `{}`: {error}", out.display()))
    })
}
