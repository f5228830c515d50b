//! Pipe bore: the calculation uses the inside of the pipe, not its nominal size.

use super::prelude::*;
use wetrun_network::Pipe;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "pipe-bore",
    section: Section::Capacity,
    checks: "Each pipe states its standard or maker and its wall, and its bore is not the \
             nominal size.",
    why: "At a given head a pipe carries about the 2.5th power of its bore: 90 mm taken for \
          100 mm is a quarter less water.",
    limit: None,
    threshold: "outside diameter and source are shown; the bore differs from the nominal size",
    source: Source {
        text: "pipe standards give outside and wall",
        confidence: Confidence::Reasoned,
    },
    keys: "pipe, pipes",
    mend: "take the bore from the pipe's standard: outside less two walls",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let network = input.network;
    let downspouts = network.downspouts().iter().map(|d| (&d.tag, &d.pipe));
    let lines = network.lines().iter().map(|l| (&l.tag, &l.pipe));
    let overflows = network.tanks().iter().filter_map(|t| {
        t.overflow.as_ref().and_then(|o| o.pipe.as_ref()).map(|pipe| (&t.tag, pipe))
    });
    let all: Vec<(&String, &Pipe)> = downspouts.chain(lines).chain(overflows).collect();
    let mut found = Vec::new();
    for (tag, pipe) in &all {
        if pipe.outside.is_none() || crate::shown(&pipe.source).is_none() {
            let message = format!("`{}` has no outside diameter or no source", pipe.label);
            found.push(rule.not_shown(input, tag, &message));
        } else if of_the_catalogue(pipe) {
            // Some standards name a pipe by its bore.
        } else if let Some(nominal) = nominal(input, pipe)
            && (nominal.to_m() - pipe.inside.to_m()).abs() < 1e-5
        {
            let message = format!("the bore of `{}` is taken as its nominal size", pipe.label);
            let outside = pipe.outside.unwrap_or(nominal);
            found.push(
                rule.at(input, tag, Outcome::Fail, message)
                    .with(Amount::Length(pipe.inside), Amount::Length(outside)),
            );
        }
    }
    if found.is_empty() {
        let message = "every pipe states its bore, wall and source".to_owned();
        found.push(rule.at(input, "site", Outcome::Pass, message));
    }
    found
}

/// Whether it is a size of the catalogue, bore and all.
fn of_the_catalogue(pipe: &Pipe) -> bool {
    let known = wetrun_catalogue::pipe(&pipe.kind, &pipe.size);
    known.is_ok_and(|known| (known.inside.to_m() - pipe.inside.to_m()).abs() < 1e-6)
}

/// The nominal size as a length, where it is one.
fn nominal(input: &Judged<'_>, pipe: &Pipe) -> Option<Length> {
    input.facts.units.read_size(&pipe.size).ok()
}
