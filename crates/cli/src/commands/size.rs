//! `wetrun size`: the cheapest pipes that carry the storm, with the proof.

use crate::args::Format;
use crate::commands::site_file::{Overrides, SiteFile};
use crate::files::Force;
use crate::outcome::{Answer, Refusal, Status};
use crate::render;
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use std::path::PathBuf;
use std::time::{Duration, Instant};
use wetrun_design::size::{
    self, Candidate, Cheaper, Chosen, Design, NoneWorks, OneStep, OpenPipe, Outcome, Owner,
    Problem, Progress, Targets, TrunkStep,
};
use wetrun_network::DownspoutId;
use wetrun_site::edit::{Edit, set_values};
use wetrun_site::{PipeOwner, Site};
use wetrun_units::Intensity;

/// Choose the cheapest sizes for the pipes that the file leaves open, such that every downspout
/// takes its whole demand and keeps its freeboard, and say whether anything cheaper could work.
#[derive(Debug, Args)]
pub(crate) struct Size {
    #[command(flatten)]
    pub(super) site: SiteFile,

    #[command(flatten)]
    overrides: Overrides,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

    /// Write a site file with the sizes filled in, all else kept as it is.
    #[arg(long, value_name = "OUT")]
    write: Option<PathBuf>,

    #[command(flatten)]
    force: Force,

    /// On loops and between tanks, how many sets of sizes and boxes of them to try at the most.
    #[arg(long, value_name = "COUNT", default_value_t = 100_000)]
    tries: usize,
}

/// A site with open sizes, and what the search came to.
pub(crate) struct Sized {
    /// The site.
    pub(crate) site: Site,
    /// The problem that was solved.
    pub(crate) problem: Problem,
    /// What costs stand for.
    pub(crate) cost: CostBasis,
    /// What came of it.
    pub(crate) outcome: Outcome,
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
    pub(crate) one_step_down: Vec<OneStep>,
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
/// is looked for.
const TRUNK_TRIES: usize = 2_000;
const NEXT_TRIES: usize = 10_000;

impl Size {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let bytes = self.site.bytes()?;
        let mut site = self.site.read_from(&bytes)?;
        self.overrides.apply(&mut site)?;
        if site.open_pipes().is_empty() {
            return Err(Refusal::because(
                "no pipe size is open: write `pipe: { type: pvc-sch40, size: any }` where `size` is to choose",
            ));
        }
        let (problem, cost) = problem(&site)?;
        let outcome = search(&problem, self.tries)?;
        if let (Some(out), Outcome::Chosen(chosen)) = (&self.write, &outcome) {
            let text = written(&bytes, &problem, &site, &chosen.design)?;
            self.force.write(out, text.as_bytes(), &[&self.site.path])?;
        }
        let alternatives = match (self.format, &outcome) {
            (Format::Text, Outcome::Chosen(chosen)) => {
                Some(alternatives(&site, &problem, &chosen.design, self.tries)?)
            }
            _ => None,
        };
        let sized = Sized { site, problem, cost, outcome, alternatives };
        let stdout = match self.format {
            Format::Text => render::text::size::size(&sized, self.write.as_deref()),
            Format::Json => render::json::size::size(&sized)?,
        };
        Ok(Answer::new(stdout, sized.status()))
    }
}

impl Sized {
    /// The exit status: 1 where none works.
    pub(crate) fn status(&self) -> Status {
        match &self.outcome {
            Outcome::Chosen(chosen) if chosen.design.fault.is_none() => Status::Pass,
            _ => Status::Fail,
        }
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
fn problem(site: &Site) -> Result<(Problem, CostBasis), Refusal> {
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
        freeboard: site.targets.freeboard,
        most_speed: site.targets.most_speed,
        least_speed: site.targets.least_speed,
    };
    let network = site.network.clone();
    let scenario = crate::solved::scenario(site);
    let cost =
        if site.prices.is_empty() { CostBasis::WallMass } else { CostBasis::Prices { left_out } };
    Ok((Problem { network, scenario, targets, open }, cost))
}

/// A bar on a terminal, once a search takes longer.
struct Bar {
    bar: ProgressBar,
    started: Instant,
}

impl Bar {
    /// Drawn to stderr and only on a terminal; quick searches end before the first tick.
    fn new() -> Self {
        let bar = ProgressBar::new(1);
        bar.set_style(
            ProgressStyle::with_template("{msg} [{wide_bar}] {pos}/{len}")
                .unwrap_or_else(|_| ProgressStyle::default_bar()),
        );
        Self { bar, started: Instant::now() }
    }

    /// Tells how far a search for `what` has come.
    fn tell(&self, what: &str, progress: Progress) {
        if self.started.elapsed() < Duration::from_millis(500) {
            return;
        }
        let (words, done, of) = match progress {
            Progress::Tree { done, of } => ("trees".to_owned(), done, of),
            Progress::Mends { tried, most } => {
                ("nothing works; changes of level".to_owned(), tried, most)
            }
            Progress::Ring { solves, most, bound, best } => {
                let best = best.map_or("none yet".to_owned(), |cost| format!("{cost:.2}"));
                (format!("best {best}, none below {bound:.2}"), solves, most)
            }
        };
        self.bar.set_message(format!("{what}: {words}"));
        self.bar.set_length(of as u64);
        self.bar.set_position(done as u64);
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}

fn search(problem: &Problem, tries: usize) -> Result<Outcome, Refusal> {
    let bar = Bar::new();
    let found = size::choose(problem, tries, &mut |progress| bar.tell("cheapest", progress));
    found.map_err(Refusal::because)
}

fn alternatives(
    site: &Site,
    problem: &Problem,
    design: &Design,
    tries: usize,
) -> Result<Alternatives, Refusal> {
    let bar = Bar::new();
    let given = site.review.ordinary_rain;
    let ordinary = given.unwrap_or(ORDINARY);
    let widest = (problem.open.iter())
        .map(|open| {
            let bore_m = |i: &usize| open.candidates[*i].pipe.inside.to_m();
            (0..open.candidates.len()).max_by(|a, b| bore_m(a).total_cmp(&bore_m(b))).unwrap_or(0)
        })
        .collect();
    let trunk = match size::trunk(problem, design) {
        Some(trunk) => {
            let mut tell = |progress| bar.tell("trunk", progress);
            let tries = tries.min(TRUNK_TRIES);
            let steps = size::trunk_steps(problem, trunk, design, ordinary, tries, &mut tell);
            Some((trunk, steps.map_err(Refusal::because)?))
        }
        None => None,
    };
    let mut tell = |progress| bar.tell("next cheaper", progress);
    let next_cheaper = size::next_cheaper(problem, design, tries.min(NEXT_TRIES), &mut tell);
    let next_cheaper = next_cheaper.map_err(Refusal::because)?;
    Ok(Alternatives {
        widest: Design::new(problem, widest).ok(),
        one_step_down: size::one_step_down(problem, design),
        next_cheaper,
        trunk,
        ordinary,
        ordinary_given: given.is_some(),
    })
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
            let keys = [section, open.tag.as_str(), "pipe"];
            Edit::new(&keys, design.pipe(problem, index).label.clone())
        })
        .collect();
    set_values(text, &edits).map_err(Refusal::because)
}
