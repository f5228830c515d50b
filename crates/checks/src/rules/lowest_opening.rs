//! Lowest opening: vents and cleanout caps count too, not only gutters.

use super::prelude::*;
use std::collections::BTreeMap;
use wetrun_network::{DownspoutId, End, PointId};

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "lowest-opening",
    section: Section::Levels,
    checks: "The lowest opening of each line is named, and every cleanout that is not sealed has \
             its cap above the storm grade line.",
    why: "Head is measured to the lowest place where water can leave. A loose cap below the \
          storm grade line is the lowest opening of the line, and the storm leaves there.",
    limit: Some(Amount::Length(Length::ZERO)),
    threshold: "the least height of an opening above the head in the storm",
    source: Source { text: "water leaves at the lowest opening", confidence: Confidence::Reasoned },
    keys: "points.*.cap (a level, or sealed), points.*.vent, downspouts.*.outlet and leaf_head",
    mend: "seal the cap, or raise it above the storm grade line",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let mut found = Vec::new();
    for (index, point) in input.network.points().iter().enumerate() {
        if !point.cleanout {
            continue;
        }
        let facts = input.facts.point(index);
        if facts.cap_sealed {
            let message = "the cap is sealed against the water below".to_owned();
            found.push(rule.at(input, &point.tag, Outcome::Pass, message));
            continue;
        }
        let Some(cap) = facts.cap else {
            let message = "whether the cleanout is sealed, or at what level, is not shown";
            found.push(rule.not_shown(input, &point.tag, message));
            continue;
        };
        let limit_m = rule.limit_si(input);
        let above_m = cap.to_m() - input.steady.points[index].head.to_m();
        let message =
            format!("the open cap is {} the storm grade line", say::apart(units, above_m));
        let mut finding = rule.at(input, &point.tag, pass_if(above_m >= limit_m), message);
        if above_m < limit_m {
            let short = say::height(units, limit_m - above_m);
            finding = finding.mended(format!("seal the cap, or raise it by {short}"));
        }
        found.push(finding.with(metres(above_m), metres(limit_m)));
    }
    found.extend(lowest_of_each_line(rule, input));
    found
}

/// Names the lowest opening of each group of lines, where that is a downspout; caps and vents
/// are judged for themselves.
fn lowest_of_each_line(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let pipes = input.pipes();
    // The lowest opening of each group, and the downspout it is, if it is one.
    let mut lowest: BTreeMap<usize, (f64, Option<usize>)> = BTreeMap::new();
    let mut offer = |end: End, level: Length, downspout: Option<usize>| {
        let lowest = lowest.entry(pipes.group(end)).or_insert((f64::INFINITY, None));
        if level.to_m() < lowest.0 {
            *lowest = (level.to_m(), downspout);
        }
    };
    for (index, downspout) in input.network.downspouts().iter().enumerate() {
        offer(End::Downspout(DownspoutId::new(index)), downspout.opening(), Some(index));
    }
    for index in 0..input.network.points().len() {
        let facts = input.facts.point(index);
        let cap = facts.cap.filter(|_| !facts.cap_sealed);
        for level in [cap, facts.vent.and_then(|vent| vent.level)].into_iter().flatten() {
            offer(End::Point(PointId::new(index)), level, None);
        }
    }
    let downspouts = lowest.into_values().filter_map(|(_, downspout)| downspout);
    downspouts
        .map(|index| {
            let downspout = &input.network.downspouts()[index];
            let above_m = input.steady.downspouts[index].headroom.to_m();
            let message = format!(
                "the lowest opening of its line, {} at {}, {} the water in the storm",
                if downspout.leaf_head.is_some() { "a leaf head" } else { "a gutter outlet" },
                say::level(units, downspout.opening().to_m()),
                say::apart(units, above_m),
            );
            let limit_m = rule.limit_si(input);
            rule.at(input, &downspout.tag, pass_if(above_m >= limit_m), message)
                .with(metres(above_m), metres(limit_m))
        })
        .collect()
}
