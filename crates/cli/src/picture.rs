//! Pictures and tables that a command writes beside its report.

use crate::files::Force;
use crate::outcome::Refusal;
use std::path::Path;
use wetrun_answers::{Medium, Printed};

/// The medium that a picture's ending asks for.
///
/// # Errors
/// A refusal that names the file where it asks for none.
pub(crate) fn medium(out: &Path) -> Result<Medium, Refusal> {
    let extension = out.extension().and_then(|e| e.to_str()).unwrap_or_default();
    Medium::from_extension(extension).ok_or_else(|| {
        Refusal::because(format_args!("`{}` must end in .svg, .html or .pdf", out.display()))
    })
}

/// Writes a picture; gives what there is to complain of.
///
/// # Errors
/// A refusal where the file cannot be written.
pub(crate) fn write(
    out: &Path,
    printed: &Printed,
    force: Force,
    inputs: &[&Path],
) -> Result<String, Refusal> {
    force.write(out, &printed.bytes, inputs)?;
    Ok(lacking(&printed.lacking))
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
