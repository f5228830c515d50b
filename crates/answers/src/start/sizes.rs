//! Sizes for a new site: the least that carry the storm, and an overflow that passes it.

use super::plan::Plan;
use super::text::{Choice, Pipes, RUNOFF, site};
use super::usual::Answers;
use crate::outcome::Refusal;
use crate::read::read;
use crate::render::text::size::why_none;
use crate::sizing::Sized;
use wetrun_catalogue::PipeType;
use wetrun_design::size::Design;
use wetrun_site::OVERFLOW_K;
use wetrun_solver::laws::{air, outfall};
use wetrun_units::{Flow, Length};

/// Pipes chosen, and why they do not do where they do not.
pub(super) struct Chosen {
    pub(super) pipes: Pipes,
    /// What stands in the way, and what would mend it; nothing where the sizes work.
    pub(super) fails: Option<(String, Vec<String>)>,
}

/// Chooses the pipes of a plan.
pub(super) fn choose(plan: &Plan, answers: &Answers) -> Result<Chosen, Refusal> {
    let kind = wetrun_catalogue::pipe_type(&answers.pipes).map_err(Refusal::because)?;
    let demand = demand(plan, answers);
    let mut last = None;
    // Downspouts that let air out where there are any, else whatever carries the storm.
    for wide in [true, false] {
        let sized = sized(plan, answers, kind, wide.then_some(demand))?;
        if let Some(sized) = sized {
            if let Some(chosen) = sized.chosen() {
                let pipes = pipes(plan, kind, &chosen.design, demand);
                let choice = if wide { Choice::Vents } else { Choice::Carries };
                let pipes = Pipes { choice, ..pipes };
                return Ok(Chosen { pipes, fails: None });
            }
            last = Some(sized);
        }
    }
    let Some(sized) = last else { return Err(Refusal::because("no sizes were looked for")) };
    let (why, mut mends) = why_none(&sized);
    mends.extend(other_types(plan, answers, kind)?);
    let nearest = sized.none().and_then(|none| none.nearest.as_ref());
    let pipes = match nearest {
        Some(design) => pipes(plan, kind, design, demand),
        None => widest(plan, kind, demand),
    };
    let pipes = Pipes { choice: Choice::Nearest, ..pipes };
    Ok(Chosen { pipes, fails: Some((why, mends)) })
}

/// What each downspout takes.
fn demand(plan: &Plan, answers: &Answers) -> Flow {
    Flow::m3_per_s(RUNOFF * plan.roof.to_m2() * answers.rain.to_m_per_s())
}

/// The search for sizes of a type; none where no size of it lets air out.
fn sized(
    plan: &Plan,
    answers: &Answers,
    kind: &PipeType,
    vents: Option<Flow>,
) -> Result<Option<Sized>, Refusal> {
    let name = &kind.name;
    let any = format!("{{ type: {name}, size: any }}");
    let spout = match vents {
        None => any.clone(),
        Some(demand) => {
            let wide = kind.sizes.iter().filter(|size| demand <= air::self_venting(size.inside()));
            let wide: Vec<&str> = wide.map(|size| size.size.as_str()).collect();
            if wide.is_empty() {
                return Ok(None);
            }
            format!("{{ type: {name}, size: [{}] }}", wide.join(", "))
        }
    };
    let open = Pipes {
        downspouts: vec![spout; plan.downspouts.len()],
        lines: vec![any; plan.lines.len()],
        overflow: None,
        // So low that it has no part in the search.
        overflow_level: plan.inlet - plan.grid.round(5.0, 1.5),
        ..Pipes::default()
    };
    let text = site(plan, answers, &open, &[]);
    Sized::new(read(text.as_bytes(), "new site")?, None, true, &mut |_, _| {}).map(Some)
}

/// The pipes of a design, and the smallest overflow that passes the storm beside them.
fn pipes(plan: &Plan, kind: &PipeType, design: &Design, each: Flow) -> Pipes {
    let network = &design.network;
    let lines: Vec<_> = network.lines().iter().map(|line| &line.pipe).collect();
    let inlet = lines.last().map_or(Length::ZERO, |pipe| pipe.inside);
    let labels = lines.iter().map(|pipe| pipe.label.clone()).collect();
    let spouts = network.downspouts().iter().map(|spout| spout.pipe.label.clone()).collect();
    with_overflow(plan, kind, inlet, each, spouts, labels)
}

/// The largest size throughout, where nothing nearer is known.
fn widest(plan: &Plan, kind: &PipeType, each: Flow) -> Pipes {
    let largest = kind.sizes.iter().max_by(|a, b| a.inside().to_m().total_cmp(&b.inside().to_m()));
    let label = largest.map_or(String::new(), |size| format!("{} {}", kind.name, size.size));
    let bore = largest.map_or(Length::ZERO, |size| size.inside());
    let spouts = vec![label.clone(); plan.downspouts.len()];
    with_overflow(plan, kind, bore, each, spouts, vec![label; plan.lines.len()])
}

fn with_overflow(
    plan: &Plan,
    kind: &PipeType,
    inlet: Length,
    each: Flow,
    downspouts: Vec<String>,
    lines: Vec<String>,
) -> Pipes {
    let flow = each * plan.downspouts.len() as f64;
    // Not smaller than the inlet, an inlet's bore below it at least, and its water below it.
    let gap = |bore: Length| outfall::overflow_head(flow, bore, OVERFLOW_K).max(inlet);
    let mut sizes: Vec<_> = kind.sizes.iter().filter(|size| size.inside() >= inlet).collect();
    sizes.sort_by(|a, b| a.inside().to_m().total_cmp(&b.inside().to_m()));
    let fits = sizes.iter().find(|size| gap(size.inside()) <= inlet * 1.5);
    let size = fits.or(sizes.last());
    let below = size.map_or(inlet, |size| gap(size.inside()));
    let grid = plan.grid;
    Pipes {
        downspouts,
        lines,
        overflow: size.map(|size| format!("{} {}", kind.name, size.size)),
        overflow_level: plan.inlet - grid.steps_up(below) - grid.round(0.02, 0.005),
        ..Pipes::default()
    }
}

/// Types of the catalogue with which it would work.
fn other_types(plan: &Plan, answers: &Answers, kind: &PipeType) -> Result<Option<String>, Refusal> {
    let mut work = Vec::new();
    for other in wetrun_catalogue::pipe_types().iter().filter(|other| other.name != kind.name) {
        let Some(sized) = sized(plan, answers, other, None)? else { continue };
        if sized.chosen().is_some() {
            work.push(other.name.as_str());
        }
    }
    let named = work.join(", ");
    Ok((!work.is_empty()).then(|| format!("take pipes of another type: {named}")))
}
