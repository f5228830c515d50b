//! A larger bore as a mend: with it, what stands below it that would be smaller than it.

use super::prelude::*;
use crate::pipes::Pipes;
use wetrun_network::{End, LineId};

/// `L5`, or `L5, L6 and L7 below it too`: the lines that a bore must be given to so that none is
/// smaller than one that feeds it.
pub(super) fn with_those_below(
    input: &Judged<'_>,
    pipes: &Pipes<'_>,
    line: LineId,
    bore_m: f64,
) -> String {
    let mut lines = vec![line];
    let mut next = 0;
    while let Some(&line) = lines.get(next) {
        next += 1;
        below(input, pipes, line, bore_m, &mut lines);
    }
    list(input, &lines)
}

/// The lines below a downspout that are smaller than a bore: they must have it too.
pub(super) fn below_a_downspout(
    input: &Judged<'_>,
    pipes: &Pipes<'_>,
    foot: End,
    bore_m: f64,
) -> Option<String> {
    let mut lines = Vec::new();
    leaving(input, pipes, foot, bore_m, &mut lines);
    let mut next = 0;
    while let Some(&line) = lines.get(next) {
        next += 1;
        below(input, pipes, line, bore_m, &mut lines);
    }
    (!lines.is_empty()).then(|| list(input, &lines))
}

fn below(
    input: &Judged<'_>,
    pipes: &Pipes<'_>,
    line: LineId,
    bore_m: f64,
    found: &mut Vec<LineId>,
) {
    let forth = input.steady.lines[line.index()].flow.to_m3_per_s() >= 0.0;
    let line = input.network.line(line);
    leaving(input, pipes, if forth { line.to } else { line.from }, bore_m, found);
}

/// Adds the lines that carry water away from `end` and are smaller.
fn leaving(input: &Judged<'_>, pipes: &Pipes<'_>, end: End, bore_m: f64, found: &mut Vec<LineId>) {
    if matches!(end, End::Tank(_)) {
        return;
    }
    for &(id, _) in pipes.at(end) {
        let line = input.network.line(id);
        let flow = input.steady.lines[id.index()].flow.to_m3_per_s();
        let away = if line.from == end { flow > 0.0 } else { flow < 0.0 };
        if away && line.pipe.inside.to_m() < bore_m - 1e-6 && !found.contains(&id) {
            found.push(id);
        }
    }
}

fn list(input: &Judged<'_>, lines: &[LineId]) -> String {
    say::list(lines.iter().map(|id| input.network.line(*id).tag.as_str()))
}
