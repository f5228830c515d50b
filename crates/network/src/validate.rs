//! What makes a set of parts a network: each requirement, checked once.

use crate::limits;
use crate::parts::{End, Parts, Pipe};
use crate::problem::Problem;
use wetrun_units::Length;

/// Every reason why `parts` is not a network; empty where it is one.
pub(crate) fn problems(parts: &Parts) -> Vec<Problem> {
    let mut found = Vec::new();
    ids(parts, &mut found);
    if !found.is_empty() {
        return found; // the rest follows references
    }
    tags(parts, &mut found);
    each(parts, &mut found);
    junctions(parts, &mut found);
    overflows(parts, &mut found);
    ways_to_tanks(parts, &mut found);
    found
}

/// What is wrong with each part, whatever it is joined to.
pub(crate) fn each(parts: &Parts, found: &mut Vec<Problem>) {
    sizes(parts, found);
    coefficients(parts, found);
    levels(parts, found);
}

fn exists(parts: &Parts, end: End) -> bool {
    match end {
        End::Downspout(id) => id.index() < parts.downspouts.len(),
        End::Point(id) => id.index() < parts.points.len(),
        End::Tank(id) => id.index() < parts.tanks.len(),
    }
}

fn ids(parts: &Parts, found: &mut Vec<Problem>) {
    for line in &parts.lines {
        if !exists(parts, line.from) || !exists(parts, line.to) {
            found.push(Problem::Dangling { tag: line.tag.clone() });
        }
    }
    for point in &parts.points {
        if point.fitting.is_some_and(|j| j.branch.index() >= parts.lines.len()) {
            found.push(Problem::Dangling { tag: point.tag.clone() });
        }
    }
    for tank in &parts.tanks {
        let to = tank.overflow.as_ref().and_then(|o| o.to);
        if to.is_some_and(|to| to.index() >= parts.tanks.len()) {
            found.push(Problem::Dangling { tag: tank.tag.clone() });
        }
    }
}

const FAR_OFF: &str = "a level is no number within 20 km of the datum";

fn sizes(parts: &Parts, found: &mut Vec<Problem>) {
    for line in &parts.lines {
        within(line.length, &line.tag, "the length", found);
    }
    for (pipe, tag, what) in pipes(parts) {
        within(pipe.inside, tag, what, found);
    }
}

fn within(value: Length, tag: &str, what: &'static str, found: &mut Vec<Problem>) {
    let tag = || tag.to_owned();
    let (limits, range) = match what {
        "the length" => (&limits::LENGTH, "from 1 mm to 100 km"),
        _ => (&limits::BORE, "from 1 mm to 10 m"),
    };
    if !(value.to_m().is_finite() && value.to_m() > 0.0) {
        found.push(Problem::NotPositive { tag: tag(), what });
    } else if !limits.contains(&value) {
        found.push(Problem::OutOfRange { tag: tag(), what, range });
    }
}

/// Every pipe, with the tag of what it belongs to and the name of its bore.
fn pipes(parts: &Parts) -> impl Iterator<Item = (&Pipe, &str, &'static str)> {
    let lines = parts.lines.iter().map(|line| (&line.pipe, line.tag.as_str(), "the bore"));
    let downspouts = parts.downspouts.iter().map(|d| (&d.pipe, d.tag.as_str(), "the bore"));
    let overflows = parts.tanks.iter().filter_map(|tank| {
        let pipe = tank.overflow.as_ref()?.pipe.as_ref()?;
        Some((pipe, tank.tag.as_str(), "the overflow's bore"))
    });
    lines.chain(downspouts).chain(overflows)
}

/// Coefficients and roof areas: no number of the laws is negative or none.
fn coefficients(parts: &Parts, found: &mut Vec<Problem>) {
    let mut asked = |holds: bool, tag: &str, what: &'static str| {
        if !holds {
            found.push(Problem::Coefficient { tag: tag.to_owned(), what });
        }
    };
    let not_negative = |value: f64| value.is_finite() && value >= 0.0;
    for (pipe, tag, _) in pipes(parts) {
        let smooth = pipe.roughness.is_none_or(|roughness| not_negative(roughness.to_m()));
        asked(smooth, tag, "the roughness is negative or no number");
        let c = pipe.c.is_none_or(|c| c.is_finite() && c > 0.0);
        asked(c, tag, "the Hazen-Williams coefficient is not positive");
    }
    let no_loss = "a loss coefficient is negative or no number";
    for d in &parts.downspouts {
        asked(not_negative(d.total_k()), &d.tag, no_loss);
        asked(not_negative(d.catchment.to_m2()), &d.tag, "the roof area is negative or no number");
    }
    for line in &parts.lines {
        // At a tank a widening end may win back part of the velocity head that is lost there.
        let at_a_tank = [line.from, line.to].iter().any(|end| matches!(end, End::Tank(_)));
        let least = if at_a_tank { -1.0 } else { 0.0 };
        let k = line.total_k();
        asked(k.is_finite() && k >= least, &line.tag, no_loss);
    }
    for point in &parts.points {
        let added = point.fitting.is_none_or(|junction| junction.added_k.is_finite());
        asked(added, &point.tag, "what is added to a loss coefficient is no number");
    }
    for tank in &parts.tanks {
        asked(tank.overflow.as_ref().is_none_or(|o| not_negative(o.k)), &tank.tag, no_loss);
    }
}

fn levels(parts: &Parts, found: &mut Vec<Problem>) {
    let mut wrong = |tag: &str, what: &'static str| {
        found.push(Problem::Level { tag: tag.to_owned(), what });
    };
    let near = |level: &Length| limits::LEVEL.contains(level);
    for d in &parts.downspouts {
        if ![d.outlet, d.lip, d.foot, d.opening()].iter().all(near) {
            wrong(&d.tag, FAR_OFF);
        } else if d.foot > d.opening() {
            wrong(&d.tag, "the foot stands above the opening");
        } else if d.lip < d.outlet {
            wrong(&d.tag, "the lip stands below the outlet");
        } else if d.leaf_head.is_some_and(|rim| rim > d.outlet) {
            wrong(&d.tag, "the leaf head stands above the outlet");
        }
    }
    for point in &parts.points {
        let opening = point.opening.map(|opening| opening.level);
        if !near(&point.level) || !opening.iter().all(near) {
            wrong(&point.tag, FAR_OFF);
        } else if opening.is_some_and(|level| level < point.level) {
            wrong(&point.tag, "the opening stands below the invert");
        }
    }
    for tank in &parts.tanks {
        let overflow = tank.overflow.as_ref().map(|overflow| overflow.level);
        let all = [Some(tank.inlet), overflow, tank.floor, tank.rim];
        if !all.iter().flatten().all(near) {
            wrong(&tank.tag, FAR_OFF);
        }
    }
    for line in &parts.lines {
        let stations = &line.profile;
        let rising = stations.windows(2).all(|pair| pair[0].at < pair[1].at);
        let ends = [stations.first(), stations.last()].map(|s| s.map(|s| s.at));
        if stations.len() < 2 || !stations.iter().all(|s| near(&s.level)) {
            wrong(
                &line.tag,
                "the profile needs two levels at least, each within 20 km of the datum",
            );
        } else if !rising || ends != [Some(Length::ZERO), Some(line.length)] {
            wrong(&line.tag, "the profile does not go on from the line's start to its length");
        }
    }
}

/// One tag names one thing.
fn tags(parts: &Parts, found: &mut Vec<Problem>) {
    let downspouts = parts.downspouts.iter().map(|d| &d.tag);
    let points = parts.points.iter().map(|p| &p.tag);
    let tanks = parts.tanks.iter().map(|t| &t.tag);
    let lines = parts.lines.iter().map(|l| &l.tag);
    let mut all: Vec<&String> = downspouts.chain(points).chain(tanks).chain(lines).collect();
    all.sort_unstable();
    for pair in all.windows(2).filter(|pair| pair[0] == pair[1]) {
        found.push(Problem::TagTwice { tag: pair[0].clone() });
    }
}

fn junctions(parts: &Parts, found: &mut Vec<Problem>) {
    for (index, point) in parts.points.iter().enumerate() {
        let Some(junction) = point.fitting else { continue };
        let here = End::Point(crate::PointId::new(index));
        let joined = parts.lines.iter().filter(|l| l.from == here || l.to == here).count();
        let branch = &parts.lines[junction.branch.index()];
        if joined != 3 || (branch.from != here && branch.to != here) {
            let kind = match junction.kind {
                crate::JunctionKind::Wye => "wye",
                crate::JunctionKind::Tee => "tee",
            };
            found.push(Problem::Junction { tag: point.tag.clone(), kind });
        }
    }
}

fn overflows(parts: &Parts, found: &mut Vec<Problem>) {
    // Each tank overflows into one other at the most: follow the pointers, colouring as we go.
    let next = |t: usize| parts.tanks[t].overflow.as_ref().and_then(|o| o.to).map(|t| t.index());
    let mut seen_in = vec![usize::MAX; parts.tanks.len()];
    for start in 0..parts.tanks.len() {
        let mut at = start;
        while seen_in[at] == usize::MAX {
            seen_in[at] = start;
            match next(at) {
                Some(to) => at = to,
                None => break,
            }
        }
        if seen_in[at] == start && next(at).is_some() {
            let mut circle = vec![at];
            let mut to = next(at);
            while let Some(tank) = to.filter(|&t| t != at) {
                circle.push(tank);
                to = next(tank);
            }
            if to.is_some() {
                circle.push(at);
                let tags = circle.iter().map(|&t| parts.tanks[t].tag.clone()).collect();
                found.push(Problem::OverflowCircle { tags });
            }
        }
    }
}

fn ways_to_tanks(parts: &Parts, found: &mut Vec<Problem>) {
    for line in parts.lines.iter().filter(|l| l.from == l.to) {
        let end = match line.from {
            End::Downspout(id) => &parts.downspouts[id.index()].tag,
            End::Point(id) => &parts.points[id.index()].tag,
            End::Tank(id) => &parts.tanks[id.index()].tag,
        };
        found.push(Problem::SelfLoop { tag: line.tag.clone(), end: end.clone() });
    }
    let reached = crate::graph::reach_a_tank(parts);
    for (downspout, reached) in parts.downspouts.iter().zip(reached) {
        if !reached {
            found.push(Problem::NoWayToTank { tag: downspout.tag.clone() });
        }
    }
}
