//! Pictures and tables that a command writes beside its report.

use crate::files::Force;
use crate::outcome::Refusal;
use clap::Args;
use std::path::{Path, PathBuf};
use wetrun_answers::{Medium, Printed};

/// A picture beside the report.
#[derive(Debug, Args)]
pub(crate) struct Picture {
    /// Draw it as well: a picture as OUT, ending in .svg, .html or .pdf.
    #[arg(short, long, value_name = "OUT")]
    output: Option<PathBuf>,

    #[command(flatten)]
    pub(crate) force: Force,
}

impl Picture {
    /// What is to be drawn, known before anything is worked out.
    ///
    /// # Errors
    /// A refusal where the file's ending asks for no picture.
    pub(crate) fn medium(&self) -> Result<Option<Medium>, Refusal> {
        self.output.as_deref().map(medium).transpose()
    }

    /// Draws and writes it, where it is asked for; gives what there is to complain of.
    ///
    /// # Errors
    /// A refusal where it cannot be drawn or written.
    pub(crate) fn write(
        &self,
        draw: impl FnOnce(Medium) -> Result<Printed, Refusal>,
        inputs: &[&Path],
    ) -> Result<String, Refusal> {
        let Some(out) = &self.output else { return Ok(String::new()) };
        let printed = draw(medium(out)?)?;
        self.force.write(out, &printed.bytes, inputs)?;
        Ok(lacking(&printed.lacking))
    }
}

/// The medium that a picture's ending asks for.
///
/// # Errors
/// A refusal that names the file where it asks for none.
fn medium(out: &Path) -> Result<Medium, Refusal> {
    let extension = out.extension().and_then(|e| e.to_str()).unwrap_or_default();
    Medium::from_extension(extension).ok_or_else(|| {
        Refusal::because(format_args!("`{}` must end in .svg, .html or .pdf", out.display()))
    })
}

/// Names the texts that the embedded font cannot show in full.
pub(crate) fn lacking(texts: &[String]) -> String {
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
