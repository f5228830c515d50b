//! Lowest opening: vents and cleanout caps count too, not only gutters.

use super::prelude::*;
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
            found.push(rule.asks(input, &point.tag, message, &["points.{}.cap"]));
            continue;
        };
        let limit_m = rule.limit_si(input);
        let above_m = cap.to_m() - input.steady.points[index].head.to_m();
        let id = PointId::new(index);
        let holds = above_m >= limit_m && !input.verdict.escapes_at(id);
        let message = if input.verdict.escapes_at(id) {
            "the storm grade line reaches the open cap, and water comes out".to_owned()
        } else {
            format!("the open cap is {} the storm grade line", say::apart(units, above_m))
        };
        let mut finding = rule.at(input, &point.tag, pass_if(holds), message);
        if !holds {
            finding.mend = super::unsealed::mend(input, id, limit_m);
        }
        found.push(finding.with(metres(above_m), metres(limit_m)));
    }
    found.extend(lowest_of_each_line(rule, input));
    found
}

/// Names the lowest opening of each group of pipes, where that is a downspout; caps and vents are
/// judged for themselves.
fn lowest_of_each_line(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let groups = input.network.groups();
    let tests = input.network.test_levels();
    let lowest = tests.iter().filter_map(|group| {
        let End::Downspout(of_group) = group.mouth.end() else { return None };
        let same = |index: &usize| {
            let end = End::Downspout(DownspoutId::new(*index));
            groups.of(input.network, end) == groups.of(input.network, End::Downspout(of_group))
        };
        let opening_m = |index: &usize| input.network.downspouts()[*index].opening().to_m();
        let all = (0..input.network.downspouts().len()).filter(same);
        all.min_by(|a, b| opening_m(a).total_cmp(&opening_m(b)))
    });
    lowest
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
            // What mends a downspout stands at its freeboard.
            let finding = rule.at(input, &downspout.tag, pass_if(above_m >= limit_m), message);
            Finding { mend: None, ..finding }.with(metres(above_m), metres(limit_m))
        })
        .collect()
}
