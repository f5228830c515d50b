//! Papers with graphs, of what takes place over time and of what is uncertain.

mod doubt;
mod flush;
mod scaled;
mod storm;
mod year;

use crate::outcome::Refusal;
use crate::sheets::{Printed, short_hash};
use wetrun_facts::Facts;
use wetrun_sheet::paper::{Paper, Part, foot};
use wetrun_sheet::{Medium, print, unprintable_paper};
use wetrun_site::Site;

pub use doubt::doubt;
pub use storm::storm;
pub use year::year;

pub(crate) use doubt::part as doubt_part;
pub(crate) use flush::part as flush_part;
pub(crate) use storm::part as storm_part;
pub(crate) use year::part as year_part;

/// The paper of one part, whose site file is named on every page by its hash.
fn paper(site: &Site, facts: &Facts, file: &[u8], part: Part) -> Paper {
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    Paper {
        site: site.name.clone(),
        units: site.units,
        foot: foot(&short_hash(file), &text(&facts.revision), &text(&facts.datum)),
        parts: vec![part],
    }
}

fn printed(paper: &Paper, medium: Medium) -> Result<Printed, Refusal> {
    let bytes = print(paper, medium).map_err(Refusal::because)?;
    Ok(Printed { bytes, lacking: unprintable_paper(paper) })
}
