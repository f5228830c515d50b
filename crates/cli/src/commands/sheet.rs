//! `wetrun sheet`: drawings and the printed set of a site, written to a file.

use crate::args::Rod;
use crate::commands::site_file::StormSite;
use crate::files::Force;
use crate::outcome::{Answer, Refusal};
use crate::picture;
use clap::Args;
use std::num::NonZeroUsize;
use std::path::PathBuf;
use wetrun_answers::{Asked, Format, Set, SetUp, Solved, workbook};

/// Draw the long sections and the plan, and print the set that people sign.
///
/// The ending of OUT chooses what is written: `.pdf` the whole set on pages, `.html` the same
/// as one page for a browser, `.svg` the drawings alone, `.dxf` plan and long sections for CAD at
/// their true lengths, `.xlsx` the calculation as a workbook whose levels are formulas.
#[derive(Debug, Args)]
pub(crate) struct Sheet {
    #[command(flatten)]
    pub(super) site: StormSite,

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

    /// Add the storm as it passes.
    #[arg(long)]
    storm_course: bool,

    /// Add how sure the margins are, from 4096 storms of the numbers as `doubts:` has them.
    #[arg(long)]
    doubts: bool,

    #[command(flatten)]
    force: Force,
}

impl Sheet {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let extension = self.output.extension().and_then(|e| e.to_str()).unwrap_or_default();
        if extension.eq_ignore_ascii_case("xlsx") {
            return self.workbook();
        }
        let format = Format::from_extension(extension).ok_or_else(|| {
            Refusal::because(format_args!(
                "`{}` must end in .pdf, .html, .svg, .dxf or .xlsx",
                self.output.display()
            ))
        })?;
        if format == Format::Dxf && (self.storm_course || self.doubts) {
            return Err(Refusal::because(
                "`--storm-course` and `--doubts` have no part in a drawing for CAD",
            ));
        }
        let (site, bytes) = self.site.read_with_bytes()?;
        let solved = Solved::new(site)?;
        let set_up = match &self.backsight {
            Some(text) => Some(SetUp::new(&solved.site, text, self.rod.map(Into::into))?),
            None => None,
        };
        let doubts = self.doubts.then(|| {
            let threads = std::thread::available_parallelism().map_or(1, NonZeroUsize::get);
            Asked::usual(threads)
        });
        let (all_routes, storm_course) = (self.all_routes, self.storm_course);
        let set = Set { format, set_up, all_routes, storm_course, doubts };
        // Nobody calls off what was asked on a command line.
        let Some(printed) = set.print(&solved, &bytes, &|| true)? else {
            return Ok(Answer::pass(String::new()));
        };
        self.force.write(&self.output, &printed.bytes, &[&self.site.file.path])?;
        Ok(Answer { warning: picture::lacking(&printed.lacking), ..Answer::pass(String::new()) })
    }

    /// The calculation as a workbook.
    fn workbook(self) -> Result<Answer, Refusal> {
        let drawn = self.backsight.is_some() || self.all_routes || self.storm_course || self.doubts;
        if drawn {
            return Err(Refusal::because(
                "`--backsight`, `--all-routes`, `--storm-course` and `--doubts` have no part in a \
                 workbook",
            ));
        }
        let site = self.site.read()?;
        let bytes = workbook(&Solved::new(site)?)?;
        self.force.write(&self.output, &bytes, &[&self.site.file.path])?;
        Ok(Answer::pass(String::new()))
    }
}
