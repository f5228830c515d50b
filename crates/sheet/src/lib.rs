//! Drawings and printed sets: long sections, the plan, the calculation sheet, the level
//! schedule, the review checklist and the owner's page, as PDF, HTML or SVG; drawings for CAD as DXF.
//!
//! Pure: the same [`SheetInput`] gives the same bytes. Nothing here reads a file or the clock.

mod cad;
pub mod draw;
pub mod graph;
mod input;
mod missing;
pub mod paper;
mod plan;
mod section;
mod set;
mod values;
mod writers;

pub use input::{
    Coefficient, FailureRow, FindingRow, Job, LevelRow, OwnerText, Rod, RodRow, SheetInput,
    UpkeepRow,
};
pub use missing::{unprintable, unprintable_paper};
use paper::Paper;
pub use plan::{PlanScale, PlanView};
pub use section::{Held, Mark, Room, SectionView, Spot};
use wetrun_network::DownspoutId;
pub use wetrun_verdict::Outcome;
pub use writers::pdf::PdfError;

/// The file format of a paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Medium {
    /// The whole paper, paged.
    Pdf,
    /// The whole paper as one self-contained page for the screen, which prints to the pages of
    /// [`Medium::Pdf`].
    Html,
    /// The drawings alone.
    Svg,
}

impl Medium {
    /// The medium that a file's extension asks for (`pdf`, `html`, `svg`, in any case).
    pub fn from_extension(extension: &str) -> Option<Self> {
        match extension.to_ascii_lowercase().as_str() {
            "pdf" => Some(Self::Pdf),
            "html" | "htm" => Some(Self::Html),
            "svg" => Some(Self::Svg),
            _ => None,
        }
    }
}

/// The file format of the set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Format {
    /// A paper.
    Paper(Medium),
    /// Plan and sections at their true lengths, for CAD.
    Dxf,
}

impl From<Medium> for Format {
    fn from(medium: Medium) -> Self {
        Self::Paper(medium)
    }
}

impl Format {
    /// The format that a file's extension asks for (that of a [`Medium`], or `dxf`, in any case).
    pub fn from_extension(extension: &str) -> Option<Self> {
        match Medium::from_extension(extension) {
            Some(medium) => Some(Self::Paper(medium)),
            None => extension.eq_ignore_ascii_case("dxf").then_some(Self::Dxf),
        }
    }
}

/// The set as the bytes of a file.
///
/// # Errors
/// [`PdfError`] where the PDF writer refuses; the others always succeed.
pub fn render(input: &SheetInput<'_>, format: impl Into<Format>) -> Result<Vec<u8>, PdfError> {
    match format.into() {
        Format::Dxf => Ok(writers::dxf::file(&cad::model(input))),
        Format::Paper(Medium::Svg) => {
            // The cover's map is not one of them.
            let more = input.more.iter().flat_map(paper::Part::figures).cloned();
            let all: Vec<draw::Drawing> = drawings(input).into_iter().chain(more).collect();
            Ok(writers::svg::file(&input.job.site, &all).into_bytes())
        }
        Format::Paper(medium) => print(&set(input), medium),
    }
}

/// A paper as the bytes of a file.
///
/// # Errors
/// [`PdfError`] where the PDF writer refuses; the others always succeed.
pub fn print(paper: &Paper, medium: Medium) -> Result<Vec<u8>, PdfError> {
    match medium {
        Medium::Pdf => writers::pdf::file(&paper.site, &paper::page::pages(paper)),
        Medium::Html => Ok(writers::html::file(paper, &paper::page::pages(paper)).into_bytes()),
        Medium::Svg => Ok(writers::svg::file(&paper.site, &paper.drawings()).into_bytes()),
    }
}

/// The pages of the printed set, as drawings.
pub fn pages(input: &SheetInput<'_>) -> Vec<draw::Drawing> {
    paper::page::pages(&set(input))
}

fn set(input: &SheetInput<'_>) -> Paper {
    Paper {
        site: input.job.site.clone(),
        units: input.units,
        foot: paper::foot(&input.job.file_hash, input.revision(), input.datum()),
        parts: set::parts(input),
    }
}

/// The drawings alone: the plan, then the long section of each route.
pub fn drawings(input: &SheetInput<'_>) -> Vec<draw::Drawing> {
    let mut drawings = plan::drawings(input);
    drawings.extend(section::drawings(input));
    drawings
}

/// The long section of one downspout's route, in as many panels as it needs; of the input it reads
/// the network, the state, the verdict and the ground.
pub fn section(input: &SheetInput<'_>, downspout: DownspoutId) -> Vec<draw::Drawing> {
    section::of(input, downspout)
}

/// The same section for a screen: in a room of its own, held still under a hand that moves something,
/// with the places of its levels. Nothing where the route reaches no tank.
pub fn section_view(
    input: &SheetInput<'_>,
    downspout: DownspoutId,
    room: Room,
    held: Option<Held>,
) -> Option<SectionView> {
    section::view(input, downspout, room, held)
}

/// The plan for a screen: each sheet with the places of what it shows.
pub fn plan_view(input: &SheetInput<'_>) -> Vec<PlanView> {
    plan::views(input)
}

/// The plan alone; of the input it reads what [`section`] does, and places in plan.
pub fn plan(input: &SheetInput<'_>) -> Vec<draw::Drawing> {
    plan::drawings(input)
}

/// The font of the sheets as files, the book weight and the bold one, for a page that brings it.
pub fn fonts() -> [&'static [u8]; 2] {
    [draw::font::Weight::Book, draw::font::Weight::Bold].map(draw::font::file)
}

/// The family name that drawings ask for.
pub const FONT_FAMILY: &str = writers::svg::FAMILY;

/// A drawing as one SVG element for a page that brings its own fonts.
pub fn svg_element(drawing: &draw::Drawing) -> String {
    writers::svg::element(drawing)
}
