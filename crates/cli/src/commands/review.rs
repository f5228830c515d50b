//! `wetrun review`: the inspector's checklist, item by item.

use crate::args::Format;
use crate::commands::site_file::{Overrides, SiteFile};
use crate::outcome::{Answer, Refusal, Status};
use crate::render;
use crate::solved::Solved;
use clap::Args;
use wetrun_checks::Standing;

/// Review a drawing against the inspector's checklist: what conforms, what does not, what is
/// not shown, and what a person must decide.
#[derive(Debug, Args)]
pub(crate) struct Review {
    #[command(flatten)]
    pub(super) site: SiteFile,

    #[command(flatten)]
    overrides: Overrides,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

    /// An item that is not shown fails.
    #[arg(long)]
    strict: bool,

    /// Print the keys that would show what is not shown, ready to paste into the site file.
    #[arg(long, conflicts_with = "format")]
    todo: bool,
}

impl Review {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let mut site = self.site.read()?;
        self.overrides.apply(&mut site)?;
        let solved = Solved::new(site)?;
        let findings = crate::mends::reviewed(&solved);
        let standing = match Standing::of(&findings) {
            Standing::Incomplete if self.strict => Standing::Fails,
            standing => standing,
        };
        let status = match standing {
            Standing::Conforms => Status::Pass,
            Standing::Incomplete | Standing::Fails => Status::Fail,
        };
        if self.todo {
            return Ok(Answer::new(render::todo::keys(&findings, &tags(&solved)), status));
        }
        let stdout = match self.format {
            Format::Text => render::text::review::review(&solved, &findings, standing),
            Format::Json => render::json::review::review(&solved, &findings, standing)?,
        };
        Ok(Answer::new(stdout, status))
    }
}

/// The tags of everything a key can name.
fn tags(solved: &Solved) -> Vec<&str> {
    let network = &solved.site.network;
    let nodes = network.downspouts().iter().map(|d| d.tag.as_str());
    let nodes = nodes.chain(network.points().iter().map(|p| p.tag.as_str()));
    let lines = network.lines().iter().map(|l| l.tag.as_str());
    let tanks = network.tanks().iter().map(|t| t.tag.as_str());
    let gutters = solved.site.gutters.iter().map(|g| g.tag.as_str());
    nodes.chain(lines).chain(tanks).chain(gutters).collect()
}
