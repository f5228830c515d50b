//! The governing route: what each piece of it adds to the level, from the tank up.

use crate::render::show::{Show, head};
use crate::render::table::{Cells, Table, aligned};
use crate::render::wrap::wrap;
use crate::solved::Solved;
use anstyle::Style;
use wetrun_network::{DownspoutId, End};
use wetrun_solver::laws::head_loss;
use wetrun_units::{Length, Shown, Speed, UnitSystem};

/// A step of the level on the way from the tank to the downspout.
struct Step {
    label: [String; 3],
    friction: Length,
    fittings: Length,
    other: Length,
    after: Length,
}

/// The route of the worst downspout.
pub(crate) fn table(solved: &Solved, show: Show) -> String {
    let Some(worst) = solved.worst() else { return String::new() };
    let Some((base, steps)) = steps(solved, worst) else { return String::new() };
    let labels: Vec<[String; 3]> = std::iter::once(&base)
        .chain(&steps)
        .map(|step| {
            let [tag, what, pipe] = step.label.clone();
            [tag, what, if show.both { String::new() } else { pipe }]
        })
        .collect();
    let labels = aligned(&labels);
    let zero = |s| head(s, Length::ZERO);
    let mut table = Table::new("GOVERNING ROUTE", show)
        .column("friction", zero)
        .column("fittings", zero)
        .column("lift", zero)
        .column("level", zero);
    let first = Cells::new(show).words("").words("").words("");
    table.row(labels[0].as_str(), first.number(|s| head(s, base.after)), Style::new());
    for (label, step) in labels.iter().skip(1).zip(&steps) {
        let mut cells = Cells::new(show);
        for part in step.parts() {
            cells = cells.number(|s| part_of(s, part));
        }
        table.row(label.as_str(), cells.number(|s| head(s, step.after)), Style::new());
    }
    let sum = sum(&steps);
    let mut sums = Cells::new(show);
    for part in sum {
        sums = sums.number(|s| part_of(s, part));
    }
    let last = steps.last().map_or(base.after, |step| step.after);
    table.row("sum", sums.number(|s| head(s, last)), Style::new().bold());
    format!("{}{}", table.render(), in_words(solved, show, worst, &base, sum, last))
}

impl Step {
    fn parts(&self) -> [Length; 3] {
        [self.friction, self.fittings, self.other]
    }
}

/// The sums of the parts: rounded as a whole, so that each number is that of the lines' table.
fn sum(steps: &[Step]) -> [Length; 3] {
    steps.iter().fold([Length::ZERO; 3], |sum, step| {
        let parts = step.parts();
        [0, 1, 2].map(|part| sum[part] + parts[part])
    })
}

/// A part of a row; a dash where it is nothing.
fn part_of(system: UnitSystem, part: Length) -> Shown {
    let shown = head(system, part);
    let none = shown.number.chars().all(|c| matches!(c, '0' | '.'));
    if none { Shown { number: "-".to_owned(), ..shown } } else { shown }
}

/// The sum as a sentence that can be added up by hand.
fn in_words(
    solved: &Solved,
    show: Show,
    worst: DownspoutId,
    base: &Step,
    sum: [Length; 3],
    last: Length,
) -> String {
    let downspout = solved.site.network.downspout(worst);
    let mut added = head(show.main, base.after).number;
    for part in sum {
        let sign = if part.to_m() < 0.0 { "-" } else { "+" };
        let size = Length::m(part.to_m().abs());
        added.push_str(&format!(" {sign} {}", head(show.main, size).number));
    }
    let opening = if downspout.leaf_head.is_some() { "leaf head" } else { "gutter outlet" };
    let words = format!(
        "{} {} {added} = {}: standing level in {}, whose {opening} is at {}; each number is \
         rounded for itself.",
        base.label[0],
        base.label[1],
        head(show.main, last),
        downspout.tag,
        head(show.main, downspout.opening()),
    );
    let mut out = format!("  {}\n", wrap(&words, 2, 2));
    if solved.steady.downspouts[worst.index()].admitted.to_m3_per_s() < 0.0 {
        let back =
            format!("Water comes up through {}: its losses count against the rise.", downspout.tag);
        out.push_str(&format!("  {}\n", wrap(&back, 2, 2)));
    }
    out
}

/// The level the route starts from, and the steps up from there.
fn steps(solved: &Solved, worst: DownspoutId) -> Option<(Step, Vec<Step>)> {
    let network = &solved.site.network;
    let route = solved.steady.routes.route(network, worst);
    let tank = route.tank?;
    let mut at = End::Downspout(worst);
    let mut walked = Vec::new();
    for &id in &route.lines {
        let forward = network.line(id).from == at;
        at = if forward { network.line(id).to } else { network.line(id).from };
        walked.push((id, forward));
    }
    let &(last, forward) = walked.last()?;
    let (base, outfall) = tank_end(solved, tank, last, forward);
    let mut steps = vec![outfall];
    for &(id, forward) in walked.iter().rev() {
        let (line, state) = (network.line(id), &solved.steady.lines[id.index()]);
        let sign = if forward { 1.0 } else { -1.0 };
        let (near, far) = if forward {
            (state.from_head, state.to_head)
        } else {
            (state.to_head, state.from_head)
        };
        let (friction, fittings) = (state.friction_loss * sign, state.fitting_loss * sign);
        let ends = if forward { (line.from, line.to) } else { (line.to, line.from) };
        let lift = (near - far) - (friction + fittings);
        let crest = if state.broken { lift } else { Length::ZERO };
        if state.broken {
            steps.push(Step {
                label: [line.tag.clone(), "lifted over its high point".to_owned(), String::new()],
                friction: Length::ZERO,
                fittings: Length::ZERO,
                other: crest,
                after: far + crest,
            });
        }
        steps.push(Step {
            label: [
                line.tag.clone(),
                format!("{} > {}", network.end_tag(ends.0), network.end_tag(ends.1)),
                line.pipe.label.clone(),
            ],
            friction,
            fittings,
            other: lift - crest,
            after: near,
        });
    }
    let (downspout, state) = (network.downspout(worst), &solved.steady.downspouts[worst.index()]);
    steps.push(Step {
        label: [downspout.tag.clone(), "downspout".to_owned(), downspout.pipe.label.clone()],
        friction: state.friction_loss,
        fittings: state.fitting_loss,
        other: (state.standing_level - state.foot_head)
            - (state.friction_loss + state.fitting_loss),
        after: state.standing_level,
    });
    Some((base, steps))
}

/// The level at the tank, and what the outfall adds to it: over the water where that is higher,
/// else over the inlet's invert.
fn tank_end(
    solved: &Solved,
    tank: wetrun_network::TankId,
    line: wetrun_network::LineId,
    forward: bool,
) -> (Step, Step) {
    const NEAR_M: f64 = 1e-6;
    let network = &solved.site.network;
    let (piece, state) = (network.line(line), &solved.steady.lines[line.index()]);
    let end_head = if forward { state.to_head } else { state.from_head };
    let inlet = if forward { piece.to_level() } else { piece.from_level() };
    let speed_m_per_s = state.velocity.to_m_per_s().abs();
    let over_water = head_loss::fitting(1.0, Speed::m_per_s(speed_m_per_s));
    let water = solved.steady.tanks[tank.index()].water_level;
    let drowned = water.filter(|w| ((*w + over_water) - end_head).to_m().abs() < NEAR_M);
    let (level, what, how) = match drowned {
        _ if speed_m_per_s == 0.0 => (inlet, "inlet", "still water"),
        Some(water) => (water, "water level", "outfall under water"),
        None => (inlet, "inlet", "outfall"),
    };
    let step = |what: &str, other, after| Step {
        label: [network.tank(tank).tag.clone(), what.to_owned(), String::new()],
        friction: Length::ZERO,
        fittings: Length::ZERO,
        other,
        after,
    };
    (step(what, Length::ZERO, level), step(how, end_head - level, end_head))
}
