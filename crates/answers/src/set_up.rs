//! A levelling instrument set up over a benchmark, and what its rod should read.

use crate::outcome::Refusal;
use crate::rod::{Rod, sight};
use wetrun_design::levels::{Instrument, LevelRun};
use wetrun_sheet::RodRow;
use wetrun_site::Site;
use wetrun_units::Length;

/// The instrument as it stands, and how its rod is read.
#[derive(Clone, Debug)]
pub struct SetUp {
    /// The instrument.
    pub(crate) instrument: Instrument,
    /// The benchmark it was set up over.
    on: String,
    /// What the rod read there.
    backsight: Length,
    /// How readings are written.
    rod: Rod,
}

impl SetUp {
    /// The instrument over its backsight, such as `BM1=4.32 ft`; the site's own system decides how
    /// the rod is read where `rod` does not.
    ///
    /// # Errors
    /// A refusal where the backsight is not a benchmark of the site and a reading.
    pub fn new(site: &Site, backsight: &str, rod: Option<Rod>) -> Result<Self, Refusal> {
        let (on, backsight) = sight("--backsight", backsight, site)?;
        let benchmarks = site.benchmarks.iter().map(|b| (b.tag.clone(), b.level));
        let mut run = LevelRun::new(benchmarks);
        let instrument = run.backsight(&on, backsight).map_err(Refusal::because)?;
        Ok(Self { instrument, on, backsight, rod: rod.unwrap_or(Rod::of(site.units)) })
    }

    /// How the sheet names it.
    pub(crate) fn rod_of_the_sheet(&self, site: &Site) -> wetrun_sheet::Rod {
        let unit = self.rod.show(Length::ZERO).unit;
        wetrun_sheet::Rod {
            unit: if unit.is_empty() { "ft in" } else { unit }.to_owned(),
            set_up: format!(
                "The rod read {} on {}: the height of instrument is {}.",
                self.rod.show(self.backsight).to_string().trim_end(),
                self.on,
                site.units.show_level(self.instrument.height)
            ),
        }
    }

    /// A high level reads small: the least reading is that at the highest level.
    pub(crate) fn readings(
        &self,
        set: Length,
        lowest: Option<Length>,
        highest: Option<Length>,
    ) -> RodRow {
        let at = |level: Length| self.instrument.reading(level);
        let limit = |level: Option<Length>, up: bool| {
            level.map(|l| self.rod.show_limit(at(l), up).number).unwrap_or_default()
        };
        RodRow {
            set: self.rod.show(at(set)).number,
            least: limit(highest, true),
            most: limit(lowest, false),
        }
    }
}
