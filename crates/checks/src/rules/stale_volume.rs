//! Stale volume: how much old water the full line holds, and what is done about it.

use super::prelude::*;
use crate::groups;
use wetrun_facts::Stated;
use crate::volume;
use std::collections::BTreeMap;
use wetrun_network::{DownspoutId, End, PlaceId};
use wetrun_units::Volume;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "stale-volume",
    section: Section::Capacity,
    checks: "The volume that stands in the full line is stated with what becomes of it.",
    why: "A full line delivers its stale contents to the tank before any new water: bigger pipes \
          hold more of it.",
    limit: None,
    threshold: "a policy: drained between storms, flushed, or accepted",
    source: Source {
        text: "the volume of the pipes below the rest level",
        confidence: Confidence::Reasoned,
    },
    keys: "documents.stale_water",
    mend: "say whether the line is drained, flushed, or its stale water accepted",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let total = volume::stale(input).iter().fold(Volume::ZERO, |sum, v| sum + *v);
    let holds = format!(
        "{} stand in the lines and go to the tanks first in the next storm{}{}",
        units.show_volume(total),
        by_tank(input),
        let_out(input),
    );
    let (outcome, message) = match &input.facts.documents.stale_water {
        None => (Outcome::NotShown, format!("{holds}; what becomes of it is not shown")),
        Some(Stated::No) => (Outcome::Fail, format!("{holds}; the drawing has no policy for it")),
        Some(Stated::Yes(policy)) => (Outcome::Pass, format!("{holds}; stated \"{policy}\"")),
    };
    let finding = rule.at(input, "site", outcome, message);
    let (mut stated, mut missing) = (None, Vec::new());
    match &input.facts.documents.stale_water {
        Some(Stated::Yes(policy)) => stated = Some(policy.clone()),
        Some(Stated::No) => {}
        None => missing.push("documents.stale_water".to_owned()),
    }
    vec![Finding { value: Some(Amount::Volume(total)), stated, missing, ..finding }]
}

/// What opening each drain by itself lets out of it.
fn let_out(input: &Judged<'_>) -> String {
    let units = input.facts.units;
    let opened = input.drains.unwrap_or_default().iter().map(|opened| {
        format!(
            "opening {} lets out {}, most of it in {}",
            input.network.point(opened.at).tag,
            units.show_volume(opened.drained),
            Amount::Time(opened.most_drained).show(units),
        )
    });
    opened.map(|words| format!("; {words}")).collect()
}

/// The same for each group of lines, by the tanks it runs into, where there are several.
fn by_tank(input: &Judged<'_>) -> String {
    let groups = input.network.groups();
    let network = input.network;
    let mut volumes: BTreeMap<PlaceId, Volume> = BTreeMap::new();
    let lines = network.lines().iter().map(|line| match line.from {
        End::Tank(_) => line.to,
        end => end,
    });
    let downspouts = (0..network.downspouts().len()).map(|i| End::Downspout(DownspoutId::new(i)));
    for (end, stale) in lines.chain(downspouts).zip(volume::stale(input)) {
        let sum = volumes.entry(groups.of(input.network, end)).or_insert(Volume::ZERO);
        *sum = *sum + stale;
    }
    if volumes.len() < 2 {
        return String::new();
    }
    let tanks = groups::tanks(network, &groups);
    let each: Vec<String> = volumes
        .iter()
        .filter_map(|(group, stale)| {
            let tags = tanks.get(group)?.iter().map(|tank| network.tank(*tank).tag.as_str());
            Some(format!("{} to {}", input.facts.units.show_volume(*stale), say::list(tags)))
        })
        .collect();
    format!(" ({})", each.join("; "))
}
