//! Open sizes chosen: the cheapest pipes that carry the storm, with the proof.

use crate::mends::drains_of;
use crate::outcome::{Refusal, Status};
use crate::render;
use crate::solved::MOST_FOLLOWED;
use wetrun_checks::{Facts, Judged};
use wetrun_design::size::{
    self, Candidate, Cheaper, Chosen, Design, Mend, NoneWorks, OneStepDown, OpenPipe, Outcome,
    Owner, Problem, Progress, Targets, TrunkStep,
};
use wetrun_network::DownspoutId;
use wetrun_site::edit::{Edit, set_values};
use wetrun_site::{PipeOwner, Site};
use wetrun_solver::SpillRains;
use wetrun_units::Intensity;
use wetrun_verdict::{Cause, Failure, Verdict};

/// A site with open sizes, and what the search came to.
pub struct Sized {
    /// The site.
    pub(crate) site: Site,
    /// The problem that was solved.
    pub(crate) problem: Problem,
    /// What costs stand for.
    pub(crate) cost: CostBasis,
    /// What came of it.
    pub(crate) outcome: Outcome,
    /// The verdict on the site with the sizes chosen, as `check` gives it.
    pub(crate) verdict: Option<Verdict>,
    /// Where none works, the changes of level that would do: each as it is printed, and judged.
    pub(crate) mends: Vec<Mend>,
    /// What else could be done.
    pub(crate) alternatives: Option<Alternatives>,
}

/// What costs stand for.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum CostBasis {
    /// Prices of the site file; sizes of the types used that have none are not on offer.
    Prices {
        /// Those sizes.
        left_out: Vec<String>,
    },
    /// The mass of the pipe's wall.
    WallMass,
}

/// What else could be done.
pub(crate) struct Alternatives {
    /// The design with the widest sizes: what can be had at the most.
    pub(crate) widest: Option<Design>,
    /// The cheaper design that fails by least.
    pub(crate) next_cheaper: Option<Cheaper>,
    /// One pipe a size smaller.
    pub(crate) one_step_down: OneStepDown,
    /// Whether searches were left out, as too many pipes are open.
    pub(crate) left_out: bool,
    /// The trunk, its steps, and the ordinary rain they are judged in.
    pub(crate) trunk: Option<(usize, Vec<TrunkStep>)>,
    /// The ordinary rain.
    pub(crate) ordinary: Intensity,
    /// Whether the file gives that rain.
    pub(crate) ordinary_given: bool,
}

/// The ordinary rain where the file gives none: 20 mm/h, a hard shower that many places see
/// several times a year (common practice).
const ORDINARY: Intensity = Intensity::m_per_s(20e-3 / 3600.0);

/// On loops, tries for each size of the trunk, and for each height at which the next cheaper design
/// is looked for: the least, and as a share of what the first search took.
const LEAST_TRIES: usize = 100;
const TRUNK_SHARE: usize = 8;
const NEXT_SHARE: usize = 12;

/// With more open pipes than this neither is looked for.
pub(crate) const MOST_OPEN: usize = 300;

/// On loops, tries for the sizes that a change of level as printed is held against.
const MEND_TRIES: usize = 1_000;

/// No more designs with one pipe a size smaller are solved.
const MOST_STEPS: usize = 12;

/// What is told while a search goes on: which search, and how far it has come.
pub type Tell<'a> = dyn FnMut(&str, Progress) + 'a;

impl Sized {
    /// Chooses the cheapest sizes that work. `tries` is how many sets of sizes to try at the most
    /// on loops and between tanks; `around` asks for what else could be done as well.
    ///
    /// # Errors
    /// A refusal where no size is open, one has no price, or a state was not found.
    pub fn new(
        site: Site,
        tries: Option<usize>,
        around: bool,
        tell: &mut Tell<'_>,
    ) -> Result<Self, Refusal> {
        if site.open_pipes().is_empty() {
            return Err(Refusal::because(
                "no pipe size is open: write `pipe: { type: pvc-sch40, size: any }` where `size` is to choose",
            ));
        }
        let facts = crate::facts::facts(&site)?;
        let (problem, cost) = problem(&site, &facts)?;
        let tries = tries.unwrap_or_else(|| size::usual_tries(&problem));
        let outcome = size::choose(&problem, tries, &mut |progress| tell("cheapest", progress))
            .map_err(Refusal::because)?;
        let verdict = match &outcome {
            Outcome::Chosen(chosen) => {
                let design = &chosen.design;
                Some(wetrun_checks::verdict(&design.network, &design.steady, &facts))
            }
            Outcome::NoneWorks(_) => None,
        };
        let (mut alternatives, mut mends) = (None, Vec::new());
        match &outcome {
            Outcome::Chosen(chosen) if around => {
                alternatives = Some(self::alternatives(&site, &problem, chosen, tell)?);
            }
            Outcome::NoneWorks(none) if around => {
                mends = mends_that_hold(&site, &facts, &problem, none, tries)?;
            }
            Outcome::Chosen(_) | Outcome::NoneWorks(_) => {}
        }
        Ok(Self { site, problem, cost, outcome, verdict, mends, alternatives })
    }

    /// The site file with the sizes filled in, all else kept; `None` where none works.
    ///
    /// # Errors
    /// A refusal where the text is not that of the site.
    pub fn filled_in(&self, text: &[u8]) -> Result<Option<String>, Refusal> {
        let Some(chosen) = self.chosen() else { return Ok(None) };
        written(text, &self.problem, &self.site, &chosen.design).map(Some)
    }

    /// Whether sizes were found with which the whole site holds.
    pub fn status(&self) -> Status {
        let holds = self.verdict.as_ref().is_some_and(Verdict::holds);
        match self.chosen() {
            Some(chosen) if holds && chosen.design.fault.is_none() => Status::Pass,
            _ => Status::Fail,
        }
    }

    /// What fails with the sizes chosen that no pipe mends: gutters and their outlets.
    pub(crate) fn else_fails(&self) -> Vec<&Failure> {
        let gutters = |f: &&Failure| matches!(f.cause(), Cause::Gutter | Cause::Outlet);
        self.verdict.iter().flat_map(|v| v.failures().iter().filter(gutters)).collect()
    }

    /// The design that was chosen.
    pub(crate) fn chosen(&self) -> Option<&Chosen> {
        match &self.outcome {
            Outcome::Chosen(chosen) => Some(chosen),
            Outcome::NoneWorks(_) => None,
        }
    }

    /// The downspout with the least margin, or the one that cannot be served.
    pub(crate) fn worst(&self) -> Option<DownspoutId> {
        match &self.outcome {
            Outcome::Chosen(chosen) => chosen.design.worst(),
            Outcome::NoneWorks(none) => match none.shortfall {
                Some(short) => Some(short.downspout),
                None => none.nearest.as_ref().and_then(Design::worst),
            },
        }
    }

    /// Why none works.
    pub(crate) fn none(&self) -> Option<&NoneWorks> {
        match &self.outcome {
            Outcome::NoneWorks(none) => Some(none),
            Outcome::Chosen(_) => None,
        }
    }
}

/// What the site asks, with the costs of its candidates.
fn problem(site: &Site, facts: &Facts) -> Result<(Problem, CostBasis), Refusal> {
    let mut left_out = Vec::new();
    let mut open = Vec::new();
    for pipe in site.open_pipes() {
        let mut candidates = Vec::new();
        for found in &pipe.candidates {
            let cost_per_m = if site.prices.is_empty() {
                Some(size::wall_mass_per_m(found).ok_or_else(|| {
                    Refusal::because(format_args!(
                        "`{}` has neither a price nor an outside diameter to weigh its wall by",
                        found.label
                    ))
                })?)
            } else {
                site.price_per_metre(found)
            };
            match cost_per_m {
                Some(cost_per_m) => {
                    candidates.push(Candidate { pipe: found.clone(), cost_per_m });
                }
                None if !left_out.contains(&found.label) => left_out.push(found.label.clone()),
                None => {}
            }
        }
        if candidates.is_empty() {
            return Err(Refusal::because(format_args!(
                "no size open for `{}` has a price in `prices:`",
                pipe.tag
            )));
        }
        let owner = match pipe.owner {
            PipeOwner::Downspout(id) => Owner::Downspout(id),
            PipeOwner::Line(id) => Owner::Line(id),
        };
        open.push(OpenPipe { owner, candidates });
    }
    let targets = Targets {
        freeboard: facts.freeboard,
        most_speed: site.targets.most_speed,
        least_speed: site.targets.least_speed,
    };
    let network = site.network.clone();
    let scenario = crate::solved::scenario(site);
    let cost =
        if site.prices.is_empty() { CostBasis::WallMass } else { CostBasis::Prices { left_out } };
    Ok((Problem { network, scenario, targets, open }, cost))
}

fn alternatives(
    site: &Site,
    problem: &Problem,
    chosen: &Chosen,
    tell: &mut Tell<'_>,
) -> Result<Alternatives, Refusal> {
    let design = &chosen.design;
    let left_out = problem.open.len() > MOST_OPEN;
    let given = site.review.ordinary_rain;
    let ordinary = given.unwrap_or(ORDINARY);
    let widest = (problem.open.iter())
        .map(|open| {
            let bore_m = |i: &usize| open.candidates[*i].pipe.inside.to_m();
            (0..open.candidates.len()).max_by(|a, b| bore_m(a).total_cmp(&bore_m(b))).unwrap_or(0)
        })
        .collect();
    let trunk = match size::trunk(problem, design).filter(|_| !left_out) {
        Some(trunk) => {
            let mut tell = |progress| tell("trunk", progress);
            let tries = (chosen.tried / TRUNK_SHARE).max(LEAST_TRIES);
            let steps = size::trunk_steps(problem, trunk, design, ordinary, tries, &mut tell);
            Some((trunk, steps.map_err(Refusal::because)?))
        }
        None => None,
    };
    let mut tell = |progress| tell("next cheaper", progress);
    let tries = (chosen.tried / NEXT_SHARE).max(LEAST_TRIES);
    let next_cheaper = match left_out {
        true => None,
        false => size::next_cheaper(problem, design, tries, &mut tell).map_err(Refusal::because)?,
    };
    Ok(Alternatives {
        widest: Design::new(problem, widest).ok(),
        one_step_down: size::one_step_down(problem, design, MOST_STEPS),
        left_out,
        next_cheaper,
        trunk,
        ordinary,
        ordinary_given: given.is_some(),
    })
}

/// The changes of level that would do, rounded up to what is printed: each with sizes that work, and
/// with nothing failing then that did not fail before.
fn mends_that_hold(
    site: &Site,
    facts: &Facts,
    problem: &Problem,
    none: &NoneWorks,
    tries: usize,
) -> Result<Vec<Mend>, Refusal> {
    let Some(nearest) = &none.nearest else { return Ok(Vec::new()) };
    let before = wetrun_checks::verdict(&nearest.network, &nearest.steady, facts);
    let drains_of = |design: &Design| {
        let followed = design.network.lines().len() <= MOST_FOLLOWED;
        followed.then(|| drains_of(site, &design.network, facts)).flatten()
    };
    let drains = drains_of(nearest);
    let as_drawn = Judged {
        network: &nearest.network,
        scenario: &problem.scenario,
        steady: &nearest.steady,
        spill_rains: &SpillRains::NONE,
        drains: drains.as_deref(),
        mends: None,
        verdict: &before,
        facts,
    };
    let mut hold = Vec::new();
    for mend in &none.mends {
        let mend = mend.so_far(render::text::size::rounded_up(site.units, mend.by()));
        let Some(mended) = size::mended(problem, mend) else { continue };
        let Outcome::Chosen(chosen) =
            size::choose(&mended, tries.min(MEND_TRIES), &mut |_| {}).map_err(Refusal::because)?
        else {
            continue;
        };
        let design = &chosen.design;
        let verdict = wetrun_checks::verdict(&design.network, &design.steady, facts);
        let known = |new: &Failure| {
            let same = |old: &Failure| {
                old.cause() == new.cause() && old.tag(&design.network) == new.tag(&design.network)
            };
            before.failures().iter().any(same)
        };
        let gutters_only = verdict
            .failures()
            .iter()
            .all(|f| matches!(f.cause(), Cause::Gutter | Cause::Outlet) && known(f));
        let mended = Judged {
            network: &design.network,
            steady: &design.steady,
            verdict: &verdict,
            drains: None,
            ..as_drawn
        };
        let worse = || wetrun_checks::turns_a_rule(&as_drawn, &mended, || drains_of(design));
        if design.fault.is_none() && gutters_only && !worse() {
            hold.push(mend);
        }
    }
    Ok(hold)
}

/// The site file with the sizes filled in.
fn written(
    bytes: &[u8],
    problem: &Problem,
    site: &Site,
    design: &Design,
) -> Result<String, Refusal> {
    let text = std::str::from_utf8(bytes).map_err(Refusal::because)?;
    let edits: Vec<Edit> = (site.open_pipes().iter().enumerate())
        .map(|(index, open)| {
            let section = match open.owner {
                PipeOwner::Downspout(_) => "downspouts",
                PipeOwner::Line(_) => "lines",
            };
            let pipe = design.pipe(problem, index);
            let keys = [section, open.tag.as_str(), "pipe", "size"];
            // `TYPE SIZE` in one text is parted at its first blank.
            match pipe.kind.contains(char::is_whitespace) {
                true => Edit::new(&keys, pipe.size.clone()),
                false => Edit::new(&keys[..3], pipe.label.clone()),
            }
        })
        .collect();
    set_values(text, &edits).map_err(Refusal::because)
}
