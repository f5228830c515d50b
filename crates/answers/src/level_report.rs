//! The level schedule of a site, rod readings, and the site as built.

use crate::as_built::{Built, GoOn};
use crate::outcome::{Refusal, Status};
use crate::readings::{self, ReadingsFile};
use crate::rod::{Rod, sight};
use crate::site_levels::{self, Level};
use crate::solved::Solved;
use crate::survey;
use wetrun_design::levels::{Close, Instrument, LevelRun, Limits, Schedule, SetPoint, schedule};
use wetrun_site::edit::set_values;
use wetrun_units::Length;

/// The level schedule with all that belongs to it.
#[non_exhaustive]
pub struct Report {
    /// The site as drawn, solved and judged.
    pub solved: Solved,
    /// Every level that somebody sets.
    pub levels: Vec<Level>,
    /// The schedule: as drawn, or as built.
    pub schedule: Schedule,
    /// The instrument as it stands.
    pub(crate) instrument: Option<Instrument>,
    /// The closing checks.
    pub(crate) closes: Vec<Close>,
    /// How rod readings are written.
    pub(crate) rod: Rod,
    /// What was built.
    pub(crate) built: Option<Built>,
    /// What the places of surveyed points say against their descriptions, in words.
    pub plan_doubts: Vec<String>,
}

/// What the rod reads on benchmarks, as it is typed: `BM1=4.32 ft`.
#[derive(Clone, Debug, Default)]
pub struct Sights {
    /// On the benchmark that the instrument is set up over.
    pub backsight: Option<String>,
    /// On others from the same place: the closing checks.
    pub foresights: Vec<String>,
    /// How readings are written; the site's own system decides where this is not given.
    pub rod: Option<Rod>,
}

impl Report {
    /// The schedule of a site, and what was built where there are readings.
    ///
    /// # Errors
    /// A refusal where a reading is wrong or no state was found.
    pub fn new(
        solved: Solved,
        readings: Option<&ReadingsFile>,
        sights: &Sights,
    ) -> Result<Self, Refusal> {
        let site = &solved.site;
        let drawn = site_levels::drawn(&solved);
        let levels = site_levels::levels(&drawn);
        let benchmarks = site.benchmarks.iter().map(|b| (b.tag.clone(), b.level));
        let mut run = LevelRun::new(benchmarks);
        let (mut built, mut plan_doubts) = (None, Vec::new());
        if let Some(file) = readings {
            let measured = readings::read(file, site, &levels, &mut run)?;
            plan_doubts = survey::doubts(&solved, &levels, &measured.surveyed);
            built = Some(Built::new(&solved, &drawn, &levels, &measured.found)?);
        }
        if let Some(text) = &sights.backsight {
            let (on, reading) = sight("--backsight", text, site)?;
            run.backsight(&on, reading).map_err(Refusal::because)?;
        }
        for text in &sights.foresights {
            let (on, reading) = sight("--foresight", text, site)?;
            run.close(&on, reading).map_err(|error| {
                Refusal::because(format_args!("--foresight `{}`: {error}", text.escape_debug()))
            })?;
        }
        let deviations = built.as_ref().map(|b| b.as_built.deviations.as_slice());
        let settled: Vec<(SetPoint, Length)> =
            deviations.unwrap_or_default().iter().map(|d| (d.set_point, d.design)).collect();
        let now = built.as_ref().map_or(&drawn, |b| &b.as_built.built);
        let schedule = schedule(now, &settled, site.units).map_err(Refusal::because)?;
        let rod = sights.rod.unwrap_or(Rod::of(site.units));
        Ok(Self {
            levels,
            schedule,
            instrument: run.instrument(),
            closes: run.closes().to_vec(),
            rod,
            built,
            plan_doubts,
            solved,
        })
    }

    /// The site file with the levels found, comments and order kept; `None` where nothing was
    /// measured.
    ///
    /// # Errors
    /// A refusal where the text is not that of the site.
    pub fn as_built(&self, text: &[u8]) -> Result<Option<String>, Refusal> {
        let Some(built) = &self.built else { return Ok(None) };
        let text = std::str::from_utf8(text).map_err(Refusal::because)?;
        let measured = self.levels.iter().zip(&built.found).filter_map(|(l, f)| Some((l, (*f)?)));
        let site = &self.solved.site;
        let edits: Vec<_> = measured.flat_map(|(l, f)| site_levels::edits(site, l, f)).collect();
        set_values(text, &edits).map(Some).map_err(Refusal::because)
    }

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

    /// Whether the work may go on, or the site as drawn holds.
    pub fn status(&self) -> Status {
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
