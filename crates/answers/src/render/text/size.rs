//! The report of `wetrun size` for people: the answer first, then what it rests on.

use super::entry;
use crate::render::show::Show;
use crate::render::table::{Cells, TITLE, Table, aligned};
use crate::render::wrap::wrap;
use crate::sizing::{Alternatives, CostBasis, MOST_OPEN, Sized};
use anstyle::{AnsiColor, Style};
use std::path::Path;
use wetrun_design::size::{
    Chosen, Cut, Design, Fault, Mend, NoneWorks, Owner, PVC_DENSITY, Problem,
};
use wetrun_network::{DownspoutId, End, OpeningKind};
use wetrun_units::{Length, Speed, UnitSystem, decimal};
use wetrun_verdict::Cause;

const COLUMN: usize = 13;

/// The whole report.
pub fn size(sized: &Sized, written: Option<&Path>) -> String {
    let show = Show { main: sized.site.units, both: false };
    let mut parts = Vec::new();
    if let Some(chosen) = sized.chosen() {
        parts.push(answer(sized, chosen, show));
        parts.push(schedule(sized, &chosen.design, show));
        parts.push(else_fails(sized, show));
        if let Some(others) = &sized.alternatives {
            parts.push(margins(sized, &chosen.design, others, show));
            parts.push(next_cheaper(sized, chosen, others, show));
            parts.push(one_smaller(sized, &chosen.design, others, show));
            parts.push(trunk(sized, others, show));
        }
    }
    if let Some(none) = sized.none() {
        parts.push(refusal(sized, none, show));
        parts.push(mends(sized, show));
    }
    parts.push(basis(sized, written, show));
    parts.retain(|part| !part.is_empty());
    parts.join("\n")
}

fn headline(word: &str, color: AnsiColor, words: &str, sized: &Sized, show: Show) -> String {
    let style = Style::new().bold().fg_color(Some(color.into()));
    let indent = word.len() + 2;
    let storm = &sized.site.storm;
    let rain = show.prose(|system| system.show_intensity(storm.intensity));
    let tanks = match sized.problem.scenario.tanks {
        wetrun_solver::TankState::Full => "full",
        wetrun_solver::TankState::Empty => "empty",
    };
    let under = format!("{}, {rain} of rain, tanks {tanks}", sized.site.name);
    format!(
        "{style}{word}{style:#}  {}\n{}{}\n",
        wrap(words, indent, indent),
        " ".repeat(indent),
        wrap(&under, indent, indent)
    )
}

fn answer(sized: &Sized, chosen: &Chosen, show: Show) -> String {
    let design = &chosen.design;
    let cost = cost(sized, design.cost);
    let proof = if chosen.proven {
        "proven: nothing cheaper works".to_owned()
    } else {
        let cut = match chosen.cut {
            Some(Cut::Memory) => "; the search stopped at the memory it may take",
            Some(Cut::Tries) => "; the tries ran out",
            None => "",
        };
        let gap = 100.0 * (design.cost - chosen.lower_bound) / design.cost.max(f64::MIN_POSITIVE);
        format!(
            "not proven the least: no design below {} works, a gap of {} %{cut}",
            self::cost(sized, chosen.lower_bound),
            decimal(gap, 1)
        )
    };
    let worst = match design.worst() {
        Some(d) => format!("worst is {}", margin_words(&sized.problem, design, d, show)),
        None => "no downspout, so no water to carry".to_owned(),
    };
    let fails = !sized.else_fails().is_empty();
    let words = match &design.fault {
        None if fails => format!("{cost}, {proof}; but the site still fails, see below"),
        None => format!("{cost}, {proof}; {worst}"),
        Some(fault) => format!("{cost}, but {}", fault_words(&sized.problem, fault, show)),
    };
    let color = if fails || design.fault.is_some() { AnsiColor::Red } else { AnsiColor::Green };
    headline("CHOSEN", color, &words, sized, show)
}

/// What fails with the sizes chosen, and no pipe mends.
fn else_fails(sized: &Sized, show: Show) -> String {
    let failures = sized.else_fails();
    if failures.is_empty() {
        return String::new();
    }
    let mut out = format!("{TITLE}FAILS ALL THE SAME: NO PIPE MENDS IT{TITLE:#}\n");
    for failure in failures {
        let tag = failure.tag(&sized.problem.network);
        let short = show.prose(|s| s.show_flow(failure.lost()));
        let what = match failure.cause() {
            Cause::Gutter => "the gutter cannot carry",
            _ => "the gutter's outlet cannot take",
        };
        out.push_str(&format!(
            "  {}\n",
            wrap(&format!("{tag}: {what} {short} of its share"), 2, 4)
        ));
    }
    out
}

fn refusal(sized: &Sized, none: &NoneWorks, show: Show) -> String {
    let problem = &sized.problem;
    let mut words = short_of(sized, none, show);
    if let Some(mend) = sized.mends.first() {
        words.push_str(&format!("; the smallest mend is to {}", mend_words(problem, mend, show)));
    }
    if !none.proven {
        words.push_str("; none was found, which is no proof that there is none");
        if none.cut == Some(Cut::Memory) {
            words.push_str(": the search stopped at the memory it may take");
        }
    }
    headline("NONE WORKS", AnsiColor::Red, &words, sized, show)
}

/// Why no choice of sizes works, and every change of level that would do; nothing where one works.
pub(crate) fn why_none(sized: &Sized) -> (String, Vec<String>) {
    let show = Show { main: sized.site.units, both: false };
    let Some(none) = sized.none() else { return (String::new(), Vec::new()) };
    let mends = sized.mends.iter().map(|mend| mend_words(&sized.problem, mend, show));
    (short_of(sized, none, show), mends.collect())
}

fn short_of(sized: &Sized, none: &NoneWorks, show: Show) -> String {
    let problem = &sized.problem;
    match (&none.shortfall, none.nearest.as_ref().and_then(|d| d.fault.as_ref())) {
        (Some(short), fault) => {
            let tag = &problem.network.downspout(short.downspout).tag;
            let lack = match fault {
                Some(fault @ (Fault::Spills { .. } | Fault::Freeboard { .. })) => {
                    fault_words(problem, fault, show)
                }
                _ => format!(
                    "it stands {} too high",
                    show.prose(|s| s.show_height(short.margin * -1.0))
                ),
            };
            format!("no choice of sizes serves {tag}: at the nearest, {lack}")
        }
        (None, Some(fault)) => {
            format!("no choice of sizes holds: {}", fault_words(problem, fault, show))
        }
        (None, None) => "no choice of sizes works".to_owned(),
    }
}

fn schedule(sized: &Sized, design: &Design, show: Show) -> String {
    let mut table = Table::new("SIZES", show)
        .column("length", |s| s.show_length(Length::ZERO))
        .column("flow", |s| s.show_flow(wetrun_units::Flow::ZERO))
        .column("velocity", |s| s.show_speed(Speed::ZERO))
        .plain_column(cost_name(sized));
    let labels = aligned(
        &(sized.site.open_pipes().iter().enumerate())
            .map(|(i, open)| [open.tag.clone(), design.pipe(&sized.problem, i).label.clone()])
            .collect::<Vec<_>>(),
    );
    for (index, label) in labels.into_iter().enumerate() {
        let open = &sized.problem.open[index];
        let pipe = design.pipe(&sized.problem, index);
        let (length, flow) = match open.owner {
            Owner::Line(id) => {
                (design.network.line(id).length, design.steady.lines[id.index()].flow)
            }
            Owner::Downspout(id) => {
                let downspout = design.network.downspout(id);
                (downspout.outlet - downspout.foot, design.steady.downspouts[id.index()].admitted)
            }
        };
        let flow = flow * flow.to_m3_per_s().signum();
        let speed = wetrun_solver::laws::head_loss::full_speed(flow, pipe.inside);
        let each = open.candidates[design.sizes[index]].cost_per_m * length.to_m();
        let cells = Cells::new(show)
            .number(|s| s.show_length(length))
            .number(|s| s.show_flow(flow))
            .number(|s| s.show_speed(speed))
            .plain(decimal(each, 2));
        table.row(label, cells, Style::new());
    }
    let cells = Cells::new(show).words("").words("").words("").plain(decimal(design.cost, 2));
    table.row("sum", cells, Style::new().bold());
    table.render()
}

/// What every downspout has to spare, with the widest sizes and with those chosen.
fn margins(sized: &Sized, design: &Design, others: &Alternatives, show: Show) -> String {
    let mut table = Table::new("MARGIN OVER THE FREEBOARD", show)
        .column("widest sizes", |s| s.show_height(Length::ZERO))
        .column("chosen sizes", |s| s.show_height(Length::ZERO));
    for (index, downspout) in sized.problem.network.downspouts().iter().enumerate() {
        let before = others.widest.as_ref().map(|d| d.margins[index]);
        let worst = design.worst() == Some(DownspoutId::new(index));
        let style = if worst { Style::new().bold() } else { Style::new() };
        let cells = Cells::new(show)
            .maybe(before, |s, margin| s.show_height(margin))
            .number(|s| s.show_height(design.margins[index]));
        table.row(downspout.tag.clone(), cells, style);
    }
    table.render()
}

/// The cheaper design that fails by least: by how much, where, and what is smaller or larger in it.
fn next_cheaper(sized: &Sized, chosen: &Chosen, others: &Alternatives, show: Show) -> String {
    if others.left_out {
        let words = format!(
            "the next cheaper design and the trunk in each of its sizes are not looked for: more \
             than {MOST_OPEN} pipes are open"
        );
        return format!("{TITLE}LEFT OUT{TITLE:#}\n  {}\n", wrap(&words, 2, 2));
    }
    let Some(next) = &others.next_cheaper else { return String::new() };
    let (problem, from, to) = (&sized.problem, &chosen.design, &next.design);
    let fails = match &to.fault {
        Some(fault @ Fault::Freeboard { .. }) => fault_words(problem, fault, show),
        Some(fault) => {
            let lacks = show.prose(|s| s.show_height(next.lacks));
            let fails = fault_words(problem, fault, show);
            format!("{fails}; it would take every opening {lacks} higher")
        }
        None => "works".to_owned(),
    };
    let sure = if next.proven && chosen.proven {
        "no cheaper design fails by less"
    } else {
        "of those found none fails by less"
    };
    let words = format!("{}: {fails}; {sure}", cost(sized, to.cost));
    let mut out = format!("{TITLE}NEXT CHEAPER, FAILS{TITLE:#}\n  {}\n", wrap(&words, 2, 4));
    let changed: Vec<[String; 3]> = (0..from.sizes.len())
        .filter(|&open| from.sizes[open] != to.sizes[open])
        .map(|open| {
            let tag = sized.site.open_pipes()[open].tag.clone();
            let label = |design: &Design| design.pipe(problem, open).label.clone();
            [tag, label(to), format!("instead of {}", label(from))]
        })
        .collect();
    for row in aligned(&changed) {
        out.push_str(&format!("    {}\n", row.trim_end()));
    }
    out
}

/// The designs with one pipe a size smaller than chosen.
fn one_smaller(sized: &Sized, design: &Design, others: &Alternatives, show: Show) -> String {
    let problem = &sized.problem;
    if others.one_step_down.steps.is_empty() {
        return String::new();
    }
    let mut out = format!("{TITLE}ONE SIZE SMALLER{TITLE:#}\n");
    let rows: Vec<[String; 3]> = (others.one_step_down.steps.iter())
        .map(|step| {
            let tag = sized.site.open_pipes()[step.open].tag.clone();
            let pipe = step.design.pipe(problem, step.open).label.clone();
            [tag, pipe, cost(sized, step.design.cost)]
        })
        .collect();
    for (step, label) in others.one_step_down.steps.iter().zip(aligned(&rows)) {
        let words = match &step.design.fault {
            Some(fault) => fault_words(problem, fault, show),
            None if step.design.cost < design.cost => "works".to_owned(),
            None => "works, but costs no less".to_owned(),
        };
        let taken = 2 + label.chars().count() + 2;
        out.push_str(&format!("  {label}  {}\n", wrap(&words, taken, taken.min(40))));
    }
    let more = others.one_step_down.more;
    if more > 0 {
        out.push_str(&format!("  and {more} more, which save more and are not solved\n"));
    }
    out
}

/// The trunk in each of its sizes, side by side.
fn trunk(sized: &Sized, others: &Alternatives, show: Show) -> String {
    let Some((open, steps)) = &others.trunk else { return String::new() };
    let tag = &sized.site.open_pipes()[*open].tag;
    let title = format!("TRUNK {tag}, ALL ELSE AT ITS CHEAPEST");
    let mut table = Table::new(&title, show)
        .plain_column("works")
        .column("margin", |s| s.show_height(Length::ZERO))
        .plain_column(cost_name(sized))
        .column("ordinary", |s| s.show_speed(Speed::ZERO))
        .column("stale", |s| s.show_volume(wetrun_units::Volume::ZERO));
    for step in steps {
        let candidate = &sized.problem.open[*open].candidates[step.candidate];
        let margin = step.design.as_ref().and_then(Design::worst_margin);
        let works = step.design.as_ref().filter(|_| step.works);
        let cost = works.map_or("-".to_owned(), |d| decimal(d.cost, 2));
        let cells = Cells::new(show)
            .plain(if step.works { "yes" } else { "no" })
            .maybe(margin, |s, margin| s.show_height(margin))
            .plain(cost)
            .maybe(step.ordinary_speed, |s, speed| s.show_speed(speed))
            .maybe(step.stale, |s, volume| s.show_volume(volume));
        let style = if step.works { Style::new() } else { Style::new().dimmed() };
        table.row(candidate.pipe.label.clone(), cells, style);
    }
    let rain = show.prose(|s| s.show_intensity(others.ordinary));
    let given = if others.ordinary_given {
        "the file's `ordinary_rain`"
    } else {
        "taken, as the file gives no `ordinary_rain`"
    };
    let sure = if steps.iter().all(|step| step.proven) {
        ""
    } else {
        " Not every row is proven: something cheaper than shown may work."
    };
    let note = format!(
        "ordinary: speed in {tag} in a rain of {rain} ({given}); stale: water that stands in all \
         pipes between storms. Wider pipes lose less head, run slower and hold more stale water.{sure}"
    );
    format!("{}  {}\n", table.render(), wrap(&note, 2, 2))
}

fn mends(sized: &Sized, show: Show) -> String {
    if sized.mends.is_empty() {
        return String::new();
    }
    let mut out = format!("{TITLE}ANY ONE OF THESE WOULD DO{TITLE:#}\n");
    for mend in &sized.mends {
        let words = mend_words(&sized.problem, mend, show);
        out.push_str(&format!("  {}\n", wrap(&words, 2, 4)));
    }
    out
}

fn basis(sized: &Sized, written: Option<&Path>, show: Show) -> String {
    let mut out = format!("{TITLE}BASIS{TITLE:#}\n");
    let site = &sized.site;
    let costs = match &sized.cost {
        CostBasis::Prices { .. } => "prices of the site file, of the pipes left open".to_owned(),
        CostBasis::WallMass => format!(
            "no prices in the site file: kg of pipe wall stand in, at {} kg/m³ as of rigid PVC \
             (common practice)",
            decimal(PVC_DENSITY.to_kg_per_m3(), 0)
        ),
    };
    out.push_str(&entry("cost", COLUMN, &costs));
    if let CostBasis::Prices { left_out } = &sized.cost
        && !left_out.is_empty()
    {
        let words = format!("{} not on offer, as no price is given", left_out.join(", "));
        out.push_str(&entry("left out", COLUMN, &words));
    }
    let freeboard = show.prose(|s| s.show_height(sized.problem.targets.freeboard));
    let mut targets =
        format!("{freeboard} below every opening; no pipe smaller than one that feeds it");
    for (word, speed) in
        [("at most", site.targets.most_speed), ("at least", site.targets.least_speed)]
    {
        if let Some(speed) = speed {
            let speed = show.prose(|s| s.show_speed(speed));
            targets.push_str(&format!("; {word} {speed} in every line that carries water"));
        }
    }
    out.push_str(&entry("target", COLUMN, &targets));
    if let Some(path) = written {
        let words = match sized.chosen() {
            Some(_) => path.display().to_string(),
            None => "nothing, as no sizes work".to_owned(),
        };
        out.push_str(&entry("written", COLUMN, &words));
    }
    out
}

fn margin_words(problem: &Problem, design: &Design, at: DownspoutId, show: Show) -> String {
    let tag = &problem.network.downspout(at).tag;
    let margin = design.margins[at.index()];
    let apart = show.prose(|s| s.show_height(margin * margin.to_m().signum()));
    let side = if margin.to_m() < 0.0 { "short of" } else { "more than" };
    format!("{tag}, {apart} {side} the freeboard")
}

fn fault_words(problem: &Problem, fault: &Fault, show: Show) -> String {
    let network = &problem.network;
    match fault {
        Fault::Spills { downspout, spilled } => {
            let spilled = show.prose(|s| s.show_flow(*spilled));
            format!("{} spills {spilled}", network.downspout(*downspout).tag)
        }
        Fault::Freeboard { downspout, short } => {
            let short = show.prose(|s| s.show_height(*short));
            format!("{} stands {short} too high", network.downspout(*downspout).tag)
        }
        Fault::Escapes { point, escapes } => {
            let escapes = show.prose(|s| s.show_flow(*escapes));
            let point = network.point(*point);
            let what = match point.opening.map(|o| o.kind) {
                Some(OpeningKind::Cap) => "open cap",
                _ => "vent",
            };
            format!("{escapes} comes out of the {what} of {}", point.tag)
        }
        Fault::OverRim { tank, over } => {
            let over = show.prose(|s| s.show_flow(*over));
            format!("{over} runs over the wall of {}", network.tank(*tank).tag)
        }
        Fault::Narrows { line, fed_by } => {
            let feeder = match fed_by {
                Owner::Line(id) => &network.line(*id).tag,
                Owner::Downspout(id) => &network.downspout(*id).tag,
            };
            format!("{} is smaller than {feeder}, which feeds it", network.line(*line).tag)
        }
        Fault::Speed { line } => {
            format!("the velocity in {} is outside its limits", network.line(*line).tag)
        }
    }
}

fn mend_words(problem: &Problem, mend: &Mend, show: Show) -> String {
    let by = show.prose(|s| s.show_height(mend.by()));
    match mend {
        Mend::Raise(id, _) => {
            let downspout = problem.network.downspout(*id);
            let opening = match downspout.leaf_head {
                Some(_) => "leaf head",
                None if downspout.lip > downspout.outlet => "outlet and lip",
                None => "outlet",
            };
            format!("raise the {opening} of {} by {by}", downspout.tag)
        }
        Mend::RaiseAll(_) => format!("raise every opening by {by}"),
        Mend::Lower(id, _) => {
            let tank = problem.network.tank(*id);
            let with = if tank.overflow.is_some() { " and overflow" } else { "" };
            let lines: Vec<&str> = problem
                .network
                .lines()
                .iter()
                .filter(|l| l.from == End::Tank(*id) || l.to == End::Tank(*id))
                .map(|l| l.tag.as_str())
                .collect();
            format!(
                "lower inlet{with} of {} by {by}, the ends of {} there too",
                tank.tag,
                lines.join(", ")
            )
        }
    }
}

/// A change of level, rounded up so that it is enough: to 0.1 in or a millimetre.
pub(crate) fn rounded_up(system: UnitSystem, by: Length) -> Length {
    let step_m = match system {
        UnitSystem::Us => 0.00254,
        UnitSystem::Si => 0.001,
    };
    Length::m((by.to_m() / step_m).ceil() * step_m)
}

fn cost_name(sized: &Sized) -> &'static str {
    match sized.cost {
        CostBasis::Prices { .. } => "cost",
        CostBasis::WallMass => "kg",
    }
}

fn cost(sized: &Sized, cost: f64) -> String {
    match sized.cost {
        CostBasis::Prices { .. } => format!("cost {}", decimal(cost, 2)),
        CostBasis::WallMass => format!("{} kg of wall", decimal(cost, 2)),
    }
}
