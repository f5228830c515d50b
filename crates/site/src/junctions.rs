//! Wyes and tees: three lines at a point, one of them the branch.

use crate::context::Context;
use crate::diagnostic::Code;
use crate::fields::Field;
use crate::site::{OpenPipe, PipeOwner};
use crate::tags::{self, Tags};
use wetrun_network::{End, Junction, JunctionKind, LineId, Parts, PointId};

/// A point with a fitting as the file tells it: kind, the key `fitting`, the key `branch`.
pub(crate) type Told<'p> = (PointId, (JunctionKind, Field<'p>, Option<Field<'p>>));

/// Puts the junctions into the parts; reports those that do not join three lines, name a line
/// that is not there, or leave open which line is the branch.
pub(crate) fn resolve(
    cx: &mut Context<'_>,
    parts: &mut Parts,
    told: &[Told<'_>],
    tags: &Tags<'_>,
    open: &[OpenPipe],
) {
    if told.is_empty() {
        return;
    }
    let mut joined: Vec<Vec<LineId>> = vec![Vec::new(); parts.points.len()];
    for (index, line) in parts.lines.iter().enumerate() {
        for end in [line.from, line.to] {
            if let End::Point(id) = end
                && let Some(lines) = joined.get_mut(id.index())
            {
                lines.push(LineId::new(index));
            }
        }
    }
    for (id, (kind, fitting, branch)) in told {
        let lines = &joined[id.index()];
        if lines.len() != 3 {
            let message =
                format!("a {} joins three lines, but {} meet here", word(*kind), lines.len());
            cx.fault(Code::Junction, fitting, message, "three lines at this point");
            continue;
        }
        let listed: Vec<&str> =
            lines.iter().map(|line| parts.lines[line.index()].tag.as_str()).collect();
        let listed = listed.join(", ");
        let found = match branch {
            Some(field) => {
                let expected = format!("one of the lines that meet here: {listed}");
                let here = |tagged| tags::line(tagged).filter(|line| lines.contains(line));
                tags.refer(cx, field, &expected, here)
            }
            None => {
                let found = smallest(parts, lines, open);
                if found.is_none() {
                    let message = format!("the branch of this {} is not told", word(*kind));
                    let expected = format!("`branch:` with one of {listed}");
                    cx.fault(Code::Junction, fitting, message, expected);
                }
                found
            }
        };
        if let Some(branch) = found {
            parts.points[id.index()].fitting = Some(Junction { kind: *kind, branch, added_k: 0.0 });
        }
    }
}

/// The line whose bore is smaller than that of both others, if all three are fixed.
fn smallest(parts: &Parts, lines: &[LineId], open: &[OpenPipe]) -> Option<LineId> {
    let bore = |line: &LineId| parts.lines[line.index()].pipe.inside.to_m();
    let is_open = |line: &LineId| open.iter().any(|pipe| pipe.owner == PipeOwner::Line(*line));
    if lines.iter().any(is_open) {
        return None;
    }
    let least = lines.iter().min_by(|a, b| bore(a).total_cmp(&bore(b)))?;
    let alone = lines.iter().filter(|line| bore(line) <= bore(least)).count() == 1;
    alone.then_some(*least)
}

fn word(kind: JunctionKind) -> &'static str {
    match kind {
        JunctionKind::Wye => "wye",
        JunctionKind::Tee => "tee",
    }
}
