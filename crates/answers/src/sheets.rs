//! Drawings of a settled site, and the printed set of a solved one.

use crate::doubt::Doubted;
use crate::outcome::Refusal;
use crate::render::paper::{doubt_part, storm_part};
use crate::render::sheet::{bare, input};
use crate::render::show::Show;
use crate::render::text::verdict;
use crate::review::Review;
use crate::set_up::SetUp;
use crate::site_levels;
use crate::solved::{Settled, Solved};
use crate::storm::Storm;
use sha2::{Digest, Sha256};
use wetrun_design::levels::{Drawn, Schedule, schedule};
use wetrun_doubt::Asked;
use wetrun_network::DownspoutId;
use wetrun_sheet::Format;
use wetrun_units::UnitSystem;

/// What to print.
#[derive(Clone, Debug)]
pub struct Set {
    /// As what.
    pub format: Format,
    /// The instrument, where the level schedule is to have rod readings.
    pub set_up: Option<SetUp>,
    /// Whether every route is drawn, not only the one that decides and those that fail.
    pub all_routes: bool,
    /// Whether the storm as it passes has a part of its own.
    pub storm_course: bool,
    /// How the margins are doubted, where that has a part of its own.
    pub doubts: Option<Asked>,
}

/// A printed set.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Printed {
    /// The bytes of the file.
    pub bytes: Vec<u8>,
    /// Texts that the font of the sheets cannot show in full.
    pub lacking: Vec<String>,
}

impl Set {
    /// Prints the set of a site, whose file's bytes are named on every page by their hash. `wanted`
    /// is asked before each stage whether anybody still waits for it.
    ///
    /// # Errors
    /// `None` where nobody waits any more; a refusal where a limit was not found or the writer of
    /// PDF refuses.
    pub fn print(
        &self,
        solved: &Solved,
        file: &[u8],
        wanted: &dyn Fn() -> bool,
    ) -> Result<Option<Printed>, Refusal> {
        if self.format == Format::Dxf {
            let bytes = drawing(solved, short_hash(file), self.all_routes)?;
            return Ok(Some(Printed { bytes, lacking: Vec::new() }));
        }
        let drawn = site_levels::drawn(solved);
        let schedule = level_schedule(&drawn, solved.site.units)?;
        if !wanted() {
            return Ok(None);
        }
        let review = Review::new(solved, false).findings;
        if !wanted() {
            return Ok(None);
        }
        let (hash, set_up) = (short_hash(file), self.set_up.as_ref());
        let mut input = input(solved, review, hash, &drawn, schedule.as_ref(), set_up);
        input.all_routes = self.all_routes;
        if self.storm_course {
            input.more.push(storm_part(&Storm::new(solved.site.clone(), None)?, false));
        }
        if let Some(asked) = &self.doubts {
            if !wanted() {
                return Ok(None);
            }
            input.more.push(doubt_part(&Doubted::new(solved.site.clone(), asked)?, false));
        }
        let bytes = wetrun_sheet::render(&input, self.format).map_err(Refusal::because)?;
        Ok(Some(Printed { bytes, lacking: wetrun_sheet::unprintable(&input) }))
    }
}

/// The drawing for CAD, which has neither the checklist nor the level schedule.
fn drawing(solved: &Solved, file_hash: String, all_routes: bool) -> Result<Vec<u8>, Refusal> {
    let show = Show { main: solved.site.units, both: false };
    let mut input = bare(solved);
    input.job.file_hash = file_hash;
    input.verdict_words = format!("{}{}", verdict::cause(solved, show), verdict::others(solved));
    input.all_routes = all_routes;
    wetrun_sheet::render(&input, Format::Dxf).map_err(Refusal::because)
}

/// The long section of one downspout's route, in as many panels as it needs: each an SVG element for
/// a page that brings its own fonts.
pub fn section(settled: &Settled, downspout: DownspoutId) -> Vec<String> {
    let drawings = wetrun_sheet::section(&bare(settled), downspout);
    drawings.iter().map(wetrun_sheet::svg_element).collect()
}

/// The plan, in as many sheets as it needs, likewise.
pub fn plan(settled: &Settled) -> Vec<String> {
    wetrun_sheet::plan(&bare(settled)).iter().map(wetrun_sheet::svg_element).collect()
}

/// How far each level may go, on a site small enough that the search for it takes no time a
/// person would notice; [`crate::Report`] works it out for any.
fn level_schedule(drawn: &Drawn, units: UnitSystem) -> Result<Option<Schedule>, Refusal> {
    const MOST_LEVELS: usize = 80;
    if drawn.set_points().len() > MOST_LEVELS {
        return Ok(None);
    }
    schedule(drawn, &[], units).map(Some).map_err(Refusal::because)
}

/// The first eight digits of the file's SHA-256: enough to tell two revisions apart.
pub(crate) fn short_hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().take(4).map(|byte| format!("{byte:02x}")).collect()
}
