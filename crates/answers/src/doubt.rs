//! How sure a site is, given how well its numbers are known.

use crate::outcome::Refusal;
use crate::render::doubt::Told;
use crate::site_levels;
use crate::solved::Settled;
use wetrun_doubt::{Asked, Drawn, Study};
use wetrun_site::Site;

/// A site that was doubted.
pub struct Doubted {
    /// The site as it is drawn.
    pub settled: Settled,
    /// What came of it.
    pub study: Study,
}

impl Doubted {
    /// Doubts a site.
    ///
    /// # Errors
    /// [`Refusal`] where sizes are open or the site as drawn has no steady state.
    pub fn new(site: Site, asked: &Asked) -> Result<Self, Refusal> {
        let doubted = Self::while_wanted(site, asked, &|| true)?;
        doubted.ok_or_else(|| Refusal::because("nobody waits any more"))
    }

    /// The same, as long as somebody waits for it: `wanted` is asked again and again.
    ///
    /// # Errors
    /// `None` where nobody waits any more; a refusal likewise.
    pub fn while_wanted(
        site: Site,
        asked: &Asked,
        wanted: &(dyn Fn() -> bool + Sync),
    ) -> Result<Option<Self>, Refusal> {
        let settled = Settled::new(site)?;
        let own_ends = site_levels::own_ends(&settled.site);
        let study = wetrun_doubt::study(&drawn(&settled, &own_ends, wanted), asked);
        let study = study.map_err(Refusal::because)?;
        Ok(study.map(|study| Self { settled, study }))
    }

    /// What its words speak of.
    pub(crate) fn told(&self) -> Told<'_> {
        Told {
            units: self.settled.site.units,
            network: &self.settled.site.network,
            facts: &self.settled.facts,
            types: &self.study.types,
        }
    }
}

fn drawn<'a>(
    settled: &'a Settled,
    own_ends: &'a [[bool; 2]],
    wanted: &'a (dyn Fn() -> bool + Sync),
) -> Drawn<'a> {
    Drawn {
        network: &settled.site.network,
        own_ends,
        scenario: settled.scenario,
        facts: &settled.facts,
        judge: &wetrun_checks::verdict,
        wanted,
    }
}
