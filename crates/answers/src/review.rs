//! The inspector's checklist on a solved site, item by item.

use crate::outcome::{Refusal, Status};
use crate::render::todo::Todo;
use crate::solved::Solved;
use wetrun_checks::{Finding, Standing};

/// The review of a site.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Review {
    /// Every item of the checklist, with the mends that hold.
    pub findings: Vec<Finding>,
    /// What they come to together.
    pub standing: Standing,
}

impl Review {
    /// Reviews a site; `strict`: an item that is not shown fails.
    pub fn new(solved: &Solved, strict: bool) -> Self {
        let findings = crate::mends::reviewed(solved);
        let standing = match Standing::of(&findings) {
            Standing::Incomplete if strict => Standing::Fails,
            standing => standing,
        };
        Self { findings, standing }
    }

    /// Whether the drawing conforms.
    pub fn status(&self) -> Status {
        match self.standing {
            Standing::Conforms => Status::Pass,
            Standing::Incomplete | Standing::Fails => Status::Fail,
        }
    }

    /// The keys that would show what is not shown, ready to paste into the site file of this text.
    ///
    /// # Errors
    /// A refusal where the text is not that of the site.
    pub fn todo(&self, solved: &Solved, text: &[u8]) -> Result<Todo, Refusal> {
        let text = std::str::from_utf8(text).map_err(Refusal::because)?;
        crate::render::todo::todo(&self.findings, &tags(solved), text)
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
