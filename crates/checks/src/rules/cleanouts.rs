//! Cleanouts: every place of a line is within reach of an opening to clean it from.

use super::prelude::*;
use crate::queue::Queue;
use wetrun_network::{DownspoutId, End, Line, Network, PlaceId, PointId, TankId};

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
    let reach = Reach::from(input, &openings(input, Some(true)));
    // Where the drawing does not say whether a place can be opened, it might be.
    let at_best = Reach::from(input, &openings(input, None));
    let each = input.network.lines().iter();
    each.map(|line| {
        let farthest_m = reach.farthest_m(line);
        let outcome = if farthest_m <= limit_m {
            Outcome::Pass
        } else if at_best.farthest_m(line) <= limit_m {
            Outcome::NotShown
        } else {
            Outcome::Fail
        };
        let message = if farthest_m.is_finite() {
            let away = units.show_length(Length::m(farthest_m));
            format!("its farthest place is {away} from an opening")
        } else {
            "no opening reaches it".to_owned()
        };
        let mut finding = rule.at(input, &line.tag, outcome, message);
        if outcome == Outcome::NotShown {
            finding.message.push_str("; which other places open is not shown");
            finding.missing = keys(input, [line.from, line.to]);
        }
        let finding = Finding { limit: Some(metres(limit_m)), ..finding };
        if !farthest_m.is_finite() {
            return finding;
        }
        finding.with(metres(farthest_m), metres(limit_m))
    })
    .collect()
}

/// The keys that say whether the ends of a line open.
fn keys(input: &Judged<'_>, ends: [End; 2]) -> Vec<String> {
    let key = |end: End| match end {
        End::Point(id) => {
            let silent = input.facts.point(id.index()).cleanout.is_none();
            silent.then(|| format!("points.{}.cleanout", input.network.end_tag(end)))
        }
        End::Downspout(id) => {
            let silent = input.facts.downspout(id.index()).cleanout.is_none();
            silent.then(|| format!("downspouts.{}.cleanout", input.network.end_tag(end)))
        }
        End::Tank(_) => None,
    };
    ends.into_iter().filter_map(key).collect()
}

/// Places that open: tanks, and those that say what `says` says; with `None` also those that say
/// nothing.
fn openings(input: &Judged<'_>, says: Option<bool>) -> Vec<End> {
    let opens = |shown: Option<bool>| shown == Some(true) || shown == says;
    let points = (0..input.network.points().len())
        .filter(|&i| opens(input.facts.point(i).cleanout))
        .map(|i| End::Point(PointId::new(i)));
    let downspouts = (0..input.network.downspouts().len())
        .filter(|&i| opens(input.facts.downspout(i).cleanout))
        .map(|i| End::Downspout(DownspoutId::new(i)));
    let tanks = (0..input.network.tanks().len()).map(|i| End::Tank(TankId::new(i)));
    points.chain(downspouts).chain(tanks).collect()
}

/// The shortest way along the pipes from any opening to each place.
struct Reach<'a> {
    network: &'a Network,
    metres: Vec<f64>,
}

impl<'a> Reach<'a> {
    fn from(input: &Judged<'a>, openings: &[End]) -> Self {
        let network = input.network;
        let mut metres = vec![f64::INFINITY; network.places()];
        let mut queue = Queue::default();
        for &end in openings {
            let place = network.place(end).index();
            metres[place] = 0.0;
            queue.add(0.0, place);
        }
        while let Some((here_m, place)) = queue.least() {
            if here_m > metres[place] {
                continue;
            }
            for (line, end) in network.meets(network.end_at(PlaceId::new(place))) {
                let line = network.line(line);
                let far_m = here_m + line.length.to_m();
                let other = network.place(line.end(end.other())).index();
                if far_m < metres[other] {
                    metres[other] = far_m;
                    queue.add(far_m, other);
                }
            }
        }
        Self { network, metres }
    }

    fn to(&self, end: End) -> f64 {
        self.metres[self.network.place(end).index()]
    }

    /// How far the farthest place of a line is, reached from either end.
    fn farthest_m(&self, line: &Line) -> f64 {
        let (a_m, b_m, long_m) = (self.to(line.from), self.to(line.to), line.length.to_m());
        ((a_m + b_m + long_m) / 2.0).min(a_m.min(b_m) + long_m)
    }
}
