//! Drawings and printed sets: long sections, the plan, the calculation sheet, the level
//! schedule, the review checklist and the owner's page, as PDF, HTML or SVG; drawings for CAD as DXF.
//!
//! Pure: the same [`SheetInput`] gives the same bytes. Nothing here reads a file or the clock.

mod cad;
pub mod draw;
mod input;
mod missing;
mod out;
mod plan;
mod section;
mod set;
mod values;

pub use input::{
    Coefficient, FailureRow, FindingRow, Job, LevelRow, Outcome, OwnerText, Rod, RodRow,
    SheetInput, UpkeepRow,
};
pub use missing::unprintable;
pub use out::pdf::PdfError;
use wetrun_network::DownspoutId;

/// The file format of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Format {
    /// The whole set, paged.
    Pdf,
    /// The whole set as one self-contained page for the screen, which prints to the pages of
    /// [`Format::Pdf`].
    Html,
    /// The drawings alone.
    Svg,
    /// Plan and sections at their true lengths, for CAD.
    Dxf,
}

impl Format {
    /// The format that a file's extension asks for (`pdf`, `html`, `svg`, `dxf`, in any case).
    pub fn from_extension(extension: &str) -> Option<Self> {
        match extension.to_ascii_lowercase().as_str() {
            "pdf" => Some(Self::Pdf),
            "html" | "htm" => Some(Self::Html),
            "svg" => Some(Self::Svg),
            "dxf" => Some(Self::Dxf),
            _ => None,
        }
    }
}

/// The sheet as the bytes of a file.
///
/// # Errors
/// [`PdfError`] where the PDF writer refuses; the others always succeed.
pub fn render(input: &SheetInput<'_>, format: Format) -> Result<Vec<u8>, PdfError> {
    match format {
        Format::Pdf => out::pdf::file(&input.job.site, &pages(input)),
        Format::Html => {
            let parts = set::parts(input);
            let pages = set::page::pages(input, &parts);
            Ok(out::html::file(input, &parts, &pages).into_bytes())
        }
        Format::Dxf => Ok(out::dxf::file(&cad::model(input))),
        Format::Svg => Ok(out::svg::file(&input.job.site, &drawings(input)).into_bytes()),
    }
}

/// The pages of the printed set, as drawings.
pub fn pages(input: &SheetInput<'_>) -> Vec<draw::Drawing> {
    set::page::pages(input, &set::parts(input))
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

/// The plan alone; of the input it reads what [`section`] does, and places in plan.
pub fn plan(input: &SheetInput<'_>) -> Vec<draw::Drawing> {
    plan::drawings(input)
}

/// A drawing as one SVG element for a page that brings its own fonts.
pub fn svg_element(drawing: &draw::Drawing) -> String {
    out::svg::element(drawing)
}
