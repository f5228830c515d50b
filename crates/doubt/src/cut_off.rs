//! What is left of a network when some of it has no way to a tank any more.

use wetrun_network::{DownspoutId, End, LineId, Parts, PointId};

/// The pieces that a fault leaves.
pub(crate) struct Pieces {
    /// What still has a way to a tank, renumbered.
    pub(crate) parts: Parts,
    /// The downspouts that do, as they were numbered, in order.
    pub(crate) kept: Vec<DownspoutId>,
    /// Those that do not.
    pub(crate) gone: Vec<DownspoutId>,
}

/// Takes out of a network what no line joins to a tank.
pub(crate) fn cut_off(mut parts: Parts) -> Pieces {
    let (downspouts, points) = reached(&parts);
    let reaches = |end: End| match end {
        End::Downspout(id) => downspouts[id.index()],
        End::Point(id) => points[id.index()],
        End::Tank(_) => true,
    };
    let lines: Vec<bool> =
        parts.lines.iter().map(|line| reaches(line.from) && reaches(line.to)).collect();
    let (new_downspout, new_point, new_line) =
        (places(&downspouts), places(&points), places(&lines));
    let moved = |end: End| match end {
        End::Downspout(id) => End::Downspout(DownspoutId::new(new_downspout[id.index()])),
        End::Point(id) => End::Point(PointId::new(new_point[id.index()])),
        End::Tank(id) => End::Tank(id),
    };
    let ids = |kept: bool| {
        let of = move |(index, reached): (usize, &bool)| {
            (*reached == kept).then_some(DownspoutId::new(index))
        };
        downspouts.iter().enumerate().filter_map(of).collect()
    };
    let (kept, gone) = (ids(true), ids(false));
    keep(&mut parts.downspouts, &downspouts);
    keep(&mut parts.points, &points);
    keep(&mut parts.lines, &lines);
    for line in &mut parts.lines {
        (line.from, line.to) = (moved(line.from), moved(line.to));
    }
    for fitting in parts.points.iter_mut().filter_map(|point| point.fitting.as_mut()) {
        fitting.branch = LineId::new(new_line[fitting.branch.index()]);
    }
    Pieces { parts, kept, gone }
}

/// Which downspouts and points lines join to a tank, by whatever way.
fn reached(parts: &Parts) -> (Vec<bool>, Vec<bool>) {
    let mut downspouts = vec![false; parts.downspouts.len()];
    let mut points = vec![false; parts.points.len()];
    let node = |end: End| match end {
        End::Downspout(id) => Some(id.index()),
        End::Point(id) => Some(parts.downspouts.len() + id.index()),
        End::Tank(_) => None,
    };
    let mut beside = vec![Vec::new(); downspouts.len() + points.len()];
    let mut next = Vec::new();
    for line in &parts.lines {
        match (node(line.from), node(line.to)) {
            (Some(from), Some(to)) => {
                beside[from].push(to);
                beside[to].push(from);
            }
            (from, to) => next.extend(from.or(to)),
        }
    }
    while let Some(here) = next.pop() {
        let seen = match here.checked_sub(downspouts.len()) {
            None => &mut downspouts[here],
            Some(point) => &mut points[point],
        };
        if !std::mem::replace(seen, true) {
            next.extend(&beside[here]);
        }
    }
    (downspouts, points)
}

/// The new place of each item where those that are not kept are taken out.
fn places(kept: &[bool]) -> Vec<usize> {
    let mut next = 0;
    let place = |kept: &bool| {
        let here = next;
        next += usize::from(*kept);
        here
    };
    kept.iter().map(place).collect()
}

fn keep<T>(items: &mut Vec<T>, kept: &[bool]) {
    let mut each = kept.iter();
    items.retain(|_| each.next().is_some_and(|kept| *kept));
}
