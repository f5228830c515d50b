//! Pieces put into the text of a site file, and taken out of it with what hangs on them.

mod away;
mod fresh;
mod join;
mod names;
mod place;
mod references;
mod split;
mod stations;

pub use away::{Away, away};
pub use fresh::{with_downspout, with_item};
pub use names::{fresh_tag, fresh_tag_like, sort_of};
pub use place::{PlanMove, moved_in_plan};
pub use split::{Cut, Halves, with_point};
pub use stations::with_station;

use crate::outcome::Refusal;
use wetrun_site::{Outline, Site};

/// The text as it is written.
fn outline(text: &str) -> Result<Outline, Refusal> {
    Outline::read(text)
        .ok_or_else(|| Refusal::because("the file cannot be read as YAML: mend that first"))
}

/// The site that a text makes, where levels and lengths are to be worked out.
fn site(text: &str) -> Result<Site, Refusal> {
    crate::read(text.as_bytes(), "")
        .map_err(|_| Refusal::because("the file has errors: mend them first"))
}
