//! Cleanouts: every place of a line is within reach of an opening to clean it from.

use super::prelude::*;
use crate::pipes::Queue;
use wetrun_network::{DownspoutId, End, LineId, PointId, TankId};

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "cleanouts",
    section: Section::Air,
    checks: "Every place of a line is within reach of a cleanout, a tank, or a downspout that \
             opens at its foot.",
    why: "A line that cannot be reached with a hose or a rod cannot be cleaned, and a wet line \
          does not clean itself.",
    limit: Some(Amount::Length(Length::m(30.48))),
    threshold: "the longest way along the pipes to an opening",
    source: Source {
        text: "plumbing codes: cleanouts not more than 100 ft apart (a city code, 708.3.1)",
        confidence: Confidence::Read,
    },
    keys: "points.*.cleanout, downspouts.*.cleanout",
    mend: "put a cleanout in between",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m = rule.limit_si(input);
    let openings = openings(input);
    if !openings.iter().any(|end| !matches!(end, End::Tank(_))) {
        return vec![rule.not_shown(input, "site", "no cleanouts are shown")];
    }
    let reach = Reach::from(input, &openings);
    let each = input.network.lines().iter();
    each.map(|line| {
        let (a_m, b_m) = (reach.to(line.from), reach.to(line.to));
        // The farthest place of the line, reached from either end.
        let farthest_m =
            ((a_m + b_m + line.length.to_m()) / 2.0).min(a_m.min(b_m) + line.length.to_m());
        let message = format!(
            "its farthest place is {} from an opening",
            units.show_length(Length::m(farthest_m))
        );
        rule.at(input, &line.tag, pass_if(farthest_m <= limit_m), message)
            .with(metres(farthest_m), metres(limit_m))
    })
    .collect()
}

fn openings(input: &Judged<'_>) -> Vec<End> {
    let points = input.network.points().iter().enumerate();
    let points = points.filter(|(_, p)| p.cleanout).map(|(i, _)| End::Point(PointId::new(i)));
    let downspouts = (0..input.network.downspouts().len())
        .filter(|&i| input.facts.downspout(i).cleanout)
        .map(|i| End::Downspout(DownspoutId::new(i)));
    let tanks = (0..input.network.tanks().len()).map(|i| End::Tank(TankId::new(i)));
    points.chain(downspouts).chain(tanks).collect()
}

/// The shortest way along the pipes from any opening to each node.
struct Reach<'a> {
    pipes: crate::pipes::Pipes<'a>,
    metres: Vec<f64>,
}

impl<'a> Reach<'a> {
    fn from(input: &Judged<'a>, openings: &[End]) -> Self {
        let pipes = input.pipes();
        let network = input.network;
        let nodes = network.downspouts().len() + network.points().len() + network.tanks().len();
        let mut reach = Self { pipes, metres: vec![f64::INFINITY; nodes] };
        let mut queue = Queue::default();
        for &end in openings {
            reach.metres[reach.pipes.place(end)] = 0.0;
            queue.add(0.0, reach.pipes.place(end));
        }
        while let Some((here_m, node)) = queue.least() {
            if here_m > reach.metres[node] {
                continue;
            }
            let lines: Vec<(LineId, usize)> = reach.pipes.at(reach.pipes.end(node)).to_vec();
            for (line, other) in lines {
                let far_m = here_m + network.line(line).length.to_m();
                if far_m < reach.metres[other] {
                    reach.metres[other] = far_m;
                    queue.add(far_m, other);
                }
            }
        }
        reach
    }

    fn to(&self, end: End) -> f64 {
        self.metres[self.pipes.place(end)]
    }
}
