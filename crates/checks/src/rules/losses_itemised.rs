//! Losses itemised: bends, junctions, entries and exits are in the calculation.

use super::prelude::*;
use wetrun_network::{End, PointId};

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "losses-itemised",
    section: Section::Capacity,
    checks: "Every downspout and line lists its fittings or a loss coefficient, and every point \
             where three lines meet says how they do.",
    why: "On short lines bends and tees cost as much head as the pipe; left out, they are the \
          margin.",
    limit: None,
    threshold: "fittings or k on each downspout and line, a wye or tee where lines meet",
    source: Source {
        text: "highway hydraulics practice for inverted siphons: bends, junctions and \
               transitions are counted",
        confidence: Confidence::Read,
    },
    keys: "downspouts.*.fittings and k, lines.*.fittings and k, points.*.fitting",
    mend: "write `fitting: wye` or `fitting: tee` at the point",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    let network = input.network;
    for (index, downspout) in network.downspouts().iter().enumerate() {
        if !input.facts.downspout(index).losses_shown {
            let message = "its fittings are not shown (a k of 0 says that there are none)";
            found.push(rule.asks(input, &downspout.tag, message, &["downspouts.{}.fittings"]));
        }
    }
    for (index, line) in network.lines().iter().enumerate() {
        if !input.facts.line(index).losses_shown {
            let message = "its fittings are not shown (a k of 0 says that there are none)";
            found.push(rule.asks(input, &line.tag, message, &["lines.{}.fittings"]));
        }
    }
    for (index, point) in network.points().iter().enumerate() {
        let lines = network.meets(End::Point(PointId::new(index))).len();
        if lines >= 3 && point.fitting.is_none() {
            let message =
                format!("{lines} lines meet without a wye or tee: the junction costs nothing");
            found.push(rule.at(input, &point.tag, Outcome::Fail, message));
        }
    }
    if found.is_empty() {
        let message = "every downspout, line and junction shows its losses".to_owned();
        found.push(rule.at(input, "site", Outcome::Pass, message));
    }
    found
}
