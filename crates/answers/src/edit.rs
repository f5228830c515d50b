//! A level moved in the text of its site file, with what stands at the same place.

use crate::outcome::Refusal;
use crate::site_levels::{self, Level};
use crate::solved::Settled;
use wetrun_site::edit::set_values;
use wetrun_units::Length;

/// Every level that somebody sets on a site.
pub fn levels(settled: &Settled) -> Vec<Level> {
    site_levels::levels(&site_levels::drawn(settled))
}

/// The text of the site file with `level` at `to`: a lip moves with its outlet, ends of lines and
/// profiles with the place they stand at; comments and order are kept.
///
/// # Errors
/// A refusal where the text is not that of the site.
pub fn moved(text: &str, settled: &Settled, level: &Level, to: Length) -> Result<String, Refusal> {
    let edits = site_levels::edits(&settled.site, level, to);
    set_values(text, &edits).map_err(Refusal::because)
}
