//! What makes a set of parts a network: each requirement, checked once.

use crate::limits;
use crate::parts::{End, Parts};
use crate::problem::Problem;
use wetrun_units::Length;

/// Every reason why `parts` is not a network; empty where it is one.
pub(crate) fn problems(parts: &Parts) -> Vec<Problem> {
    let mut found = Vec::new();
    ids(parts, &mut found);
    if !found.is_empty() {
        return found; // the rest follows references
    }
    sizes(parts, &mut found);
    junctions(parts, &mut found);
    overflows(parts, &mut found);
    ways_to_tanks(parts, &mut found);
    found
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
    let mut within = |value: Length, tag: &str, what: &'static str| {
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
    };
    for line in &parts.lines {
        within(line.length, &line.tag, "the length");
        within(line.pipe.inside, &line.tag, "the bore");
    }
    for downspout in &parts.downspouts {
        within(downspout.pipe.inside, &downspout.tag, "the bore");
    }
    for tank in &parts.tanks {
        if let Some(pipe) = tank.overflow.as_ref().and_then(|o| o.pipe.as_ref()) {
            within(pipe.inside, &tank.tag, "the overflow's bore");
        }
    }
    for d in &parts.downspouts {
        let wrong = |what| Problem::Level { tag: d.tag.clone(), what };
        let levels = [d.outlet, d.lip, d.foot, d.opening()];
        if !levels.iter().all(|level| limits::LEVEL.contains(level)) {
            found.push(wrong(FAR_OFF));
        } else if d.foot > d.opening() {
            found.push(wrong("the foot stands above the opening"));
        } else if d.lip < d.outlet {
            found.push(wrong("the lip stands below the outlet"));
        } else if d.leaf_head.is_some_and(|rim| rim > d.outlet) {
            found.push(wrong("the leaf head stands above the outlet"));
        }
    }
    for point in &parts.points {
        let wrong = |what| Problem::Level { tag: point.tag.clone(), what };
        let Some(opening) = point.opening else { continue };
        if !limits::LEVEL.contains(&opening.level) {
            found.push(wrong(FAR_OFF));
        } else if opening.level < point.level {
            found.push(wrong("the opening stands below the invert"));
        }
    }
    for line in &parts.lines {
        if line.profile.len() < 2 || !line.profile.iter().all(|s| limits::LEVEL.contains(&s.level))
        {
            found.push(Problem::Level {
                tag: line.tag.clone(),
                what: "the profile needs two levels at least, each within 20 km of the datum",
            });
        }
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
    let reached = crate::topology::reach_a_tank(parts);
    for (downspout, reached) in parts.downspouts.iter().zip(reached) {
        if !reached {
            found.push(Problem::NoWayToTank { tag: downspout.tag.clone() });
        }
    }
}
