//! `wetrun sheet`: drawings and the printed set of a site, written to a file.

use crate::commands::site_file::{Overrides, SiteFile};
use crate::files::Force;
use crate::outcome::{Answer, Refusal};
use crate::render;
use crate::render::sheet::SetUp;
use crate::rod::{Rod, sight};
use crate::site_levels;
use crate::solved::{Solved, not_solved};
use clap::Args;
use sha2::{Digest, Sha256};
use std::path::PathBuf;
use wetrun_design::levels::{Drawn, LevelRun, Schedule, schedule};
use wetrun_sheet::Format;
use wetrun_site::Site;
use wetrun_units::UnitSystem;

/// Draw the long sections and the plan, and print the set that people sign.
///
/// The ending of OUT chooses what is written: `.pdf` the whole set on pages, `.html` the same
/// as one page for a browser, `.svg` the drawings alone.
#[derive(Debug, Args)]
pub(crate) struct Sheet {
    #[command(flatten)]
    pub(super) site: SiteFile,

    #[command(flatten)]
    overrides: Overrides,

    /// The file to write.
    #[arg(short, long, value_name = "OUT")]
    output: PathBuf,

    /// What the rod reads on a benchmark, such as `BM1=4.32 ft`: the level schedule then has the
    /// rod reading for every level.
    #[arg(long, value_name = "BENCHMARK=READING", allow_hyphen_values = true)]
    backsight: Option<String>,

    /// How rod readings are written: decimal feet, feet and inches to 1/8, or millimetres; the
    /// site's own system decides where this is not given.
    #[arg(long, value_name = "UNIT", requires = "backsight")]
    rod: Option<Rod>,

    /// Draw and tell every route, not only the one that decides and those that fail.
    #[arg(long)]
    all_routes: bool,

    #[command(flatten)]
    force: Force,
}

impl Sheet {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let extension = self.output.extension().and_then(|e| e.to_str()).unwrap_or_default();
        let format = Format::from_extension(extension).ok_or_else(|| {
            Refusal::because(format_args!(
                "`{}` must end in .pdf, .html or .svg",
                self.output.display()
            ))
        })?;
        let bytes = self.site.bytes()?;
        let mut site = self.site.read_from(&bytes)?;
        self.overrides.apply(&mut site)?;
        let solved = Solved::new(site)?;
        let drawn = site_levels::drawn(&solved);
        let schedule = level_schedule(&drawn, solved.site.units)?;
        let set_up = self.set_up(&solved.site)?;
        let input = render::sheet::input(
            &solved,
            short_hash(&bytes),
            &drawn,
            schedule.as_ref(),
            set_up.as_ref(),
            self.all_routes,
        );
        let sheet = wetrun_sheet::render(&input, format).map_err(Refusal::because)?;
        self.force.write(&self.output, sheet.as_ref(), &[&self.site.path])?;
        let warning = lacking(&wetrun_sheet::unprintable(&input));
        Ok(Answer { warning, ..Answer::pass(String::new()) })
    }

    /// The instrument over its backsight.
    fn set_up(&self, site: &Site) -> Result<Option<SetUp>, Refusal> {
        let Some(text) = &self.backsight else { return Ok(None) };
        let (on, backsight) = sight("--backsight", text, site)?;
        let benchmarks = site.benchmarks.iter().map(|b| (b.tag.clone(), b.level));
        let mut run = LevelRun::new(benchmarks);
        let instrument = run.backsight(&on, backsight).map_err(Refusal::because)?;
        let rod = self.rod.unwrap_or(Rod::of(site.units));
        Ok(Some(SetUp { instrument, on, backsight, rod }))
    }
}

/// Names the texts that the embedded font cannot show in full.
fn lacking(texts: &[String]) -> String {
    const MOST: usize = 6;
    if texts.is_empty() {
        return String::new();
    }
    let named: Vec<String> = texts.iter().take(MOST).map(|text| format!("`{text}`")).collect();
    let more = texts.len() - named.len();
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!(
        "warning: the font of the sheets lacks characters of {}{more}; a \u{FFFD} stands in their place\n",
        named.join(", ")
    )
}

/// How far each level may go, on a site small enough that the search for it takes no time a
/// person would notice; `wetrun levels` works it out for any.
fn level_schedule(drawn: &Drawn, units: UnitSystem) -> Result<Option<Schedule>, Refusal> {
    const MOST_LEVELS: usize = 80;
    if drawn.set_points().len() > MOST_LEVELS {
        return Ok(None);
    }
    schedule(drawn, &[], units).map(Some).map_err(not_solved)
}

/// The first eight digits of the file's SHA-256: enough to tell two revisions apart.
fn short_hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().take(4).map(|byte| format!("{byte:02x}")).collect()
}
