//! `wetrun levels`: the level schedule, rod readings, and the as-built check.

use crate::as_built::{Built, GoOn};
use crate::commands::site_file::{Overrides, SiteFile};
use crate::files::Force;
use crate::outcome::{Answer, Refusal, Status};
use crate::readings;
use crate::render;
use crate::rod::{Rod, sight};
use crate::site_levels::{self, Level};
use crate::solved::{Solved, not_solved};
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};
use wetrun_design::levels::{Close, Instrument, LevelRun, Limits, Schedule, SetPoint, schedule};
use wetrun_site::Site;
use wetrun_site::edit::set_values;
use wetrun_units::Length;

/// The level schedule: for every level that somebody sets how far it may go with everything
/// still passing, what a millimetre there costs, how far all may be off at once, and up to what
/// level joints must be watertight. With readings: whether what was built still passes.
#[derive(Debug, Args)]
pub(crate) struct Levels {
    #[command(flatten)]
    pub(super) site: SiteFile,

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

    #[command(flatten)]
    force: Force,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    Text,
    Json,
    Csv,
}

/// Everything that the command reports.
pub(crate) struct Report {
    /// The site as drawn, solved and judged.
    pub(crate) solved: Solved,
    /// Every level that somebody sets.
    pub(crate) levels: Vec<Level>,
    /// The schedule: as drawn, or as built.
    pub(crate) schedule: Schedule,
    /// The instrument as it stands.
    pub(crate) instrument: Option<Instrument>,
    /// The closing checks.
    pub(crate) closes: Vec<Close>,
    /// How rod readings are written.
    pub(crate) rod: Rod,
    /// What was built.
    pub(crate) built: Option<Built>,
}

impl Levels {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let bytes = self.site.bytes()?;
        let mut site = self.site.read_from(&bytes)?;
        self.overrides.apply(&mut site)?;
        let report = self.report(Solved::new(site)?)?;
        let stdout = match self.format {
            Format::Text => render::text::levels::levels(&report),
            Format::Json => render::json::levels::levels(&report)?,
            Format::Csv => render::csv::levels(&report)?,
        };
        let mut answer = Answer::new(stdout, report.status());
        if let (Some(out), Some(built)) = (&self.write, &report.built) {
            self.write(out, &bytes, &report.solved.site, &report.levels, &built.found)?;
            answer.warning = render::text::levels::written(out, &report);
        }
        Ok(answer)
    }

    fn report(&self, solved: Solved) -> Result<Report, Refusal> {
        let site = &solved.site;
        let drawn = site_levels::drawn(&solved);
        let levels = site_levels::levels(&drawn);
        let benchmarks = site.benchmarks.iter().map(|b| (b.tag.clone(), b.level));
        let mut run = LevelRun::new(benchmarks);
        let built = match &self.as_built {
            Some(path) => {
                let found = readings::read(path, site, &levels, &mut run)?;
                Some(Built::new(&solved, &drawn, &levels, &found)?)
            }
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
        let deviations = built.as_ref().map(|b| b.as_built.deviations.as_slice());
        let settled: Vec<(SetPoint, Length)> =
            deviations.unwrap_or_default().iter().map(|d| (d.set_point, d.design)).collect();
        let now = built.as_ref().map_or(&drawn, |b| &b.as_built.built);
        let schedule = schedule(now, &settled, site.units).map_err(not_solved)?;
        let rod = self.rod.unwrap_or(Rod::of(site.units));
        Ok(Report {
            levels,
            schedule,
            instrument: run.instrument(),
            closes: run.closes().to_vec(),
            rod,
            built,
            solved,
        })
    }

    /// Writes the site file with the levels found.
    fn write(
        &self,
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
        let inputs = [Some(&self.site.path), self.as_built.as_ref()];
        let inputs: Vec<&Path> = inputs.into_iter().flatten().map(PathBuf::as_path).collect();
        self.force.write(out, text.as_bytes(), &inputs)
    }
}

impl Report {
    /// The site that the schedule is about: as built where it was, else as drawn.
    pub(crate) fn now(&self) -> &Solved {
        self.built.as_ref().map_or(&self.solved, |b| &b.solved)
    }

    /// Whether the site that the schedule is about holds.
    pub(crate) fn holds(&self) -> bool {
        self.schedule.passes()
    }

    /// Whether the work may go on, where something was built.
    pub(crate) fn go_on(&self) -> Option<GoOn> {
        self.built.as_ref().map(|built| built.go_on(&self.closes))
    }

    pub(crate) fn status(&self) -> Status {
        let fine = self.go_on().map_or(self.holds(), |go_on| go_on == GoOn::Yes);
        if fine { Status::Pass } else { Status::Fail }
    }

    /// The row of a level.
    pub(crate) fn limits(&self, level: &Level) -> Option<&Limits> {
        self.schedule.of(level.set_point)
    }

    /// The level found, where it was measured.
    pub(crate) fn found(&self, level: &Level) -> Option<Length> {
        let built = self.built.as_ref()?;
        let deviations = built.as_built.deviations.iter();
        deviations.clone().find(|d| d.set_point == level.set_point).map(|d| d.built)
    }

    /// The level of a set-point in words: tag and key.
    pub(crate) fn name(&self, set_point: SetPoint) -> String {
        let network = &self.solved.site.network;
        format!("{} {}", set_point.tag(network), set_point.key(network))
    }

    /// The levels that mend a site that fails, each alone: where it stands, and where it would
    /// have to be; the smallest move first.
    pub(crate) fn mends(&self) -> Vec<(&Level, Length, Length)> {
        let each = self.levels.iter().filter_map(|level| {
            let row = self.limits(level)?;
            Some((level, row.level, row.mend?))
        });
        let mut mends: Vec<_> = each.collect();
        let distance_m = |(_, from, to): &(&Level, Length, Length)| (*to - *from).to_m().abs();
        mends.sort_by(|a, b| distance_m(a).total_cmp(&distance_m(b)));
        mends
    }
}
