//! Leaf screen: every downspout of a wet system keeps leaves out of the full pipe.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "leaf-screen",
    section: Section::Water,
    checks: "Every downspout has a leaf screen, no coarser than the usual mesh.",
    why: "Leaves rot in a pipe that never empties; the tank smells of it.",
    limit: Some(Amount::Length(Length::m(0.006))),
    threshold: "the widest opening of the screen",
    source: Source { text: "leaf heads of 4 to 6 mm mesh", confidence: Confidence::CommonPractice },
    keys: "downspouts.*.screen, downspouts.*.leaf_mesh",
    mend: "fit a finer leaf screen",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m = rule.limit_si(input);
    let each = input.network.downspouts().iter().enumerate();
    each.map(|(index, downspout)| match input.facts.downspout(index).screen {
        None => rule.not_shown(input, &downspout.tag, "no leaf screen is shown"),
        Some(screen) => match screen.mesh {
            None => {
                rule.at(input, &downspout.tag, Outcome::Pass, "a leaf screen is shown".to_owned())
            }
            Some(mesh) => {
                let message = format!("leaf screen of {}", units.show_size(mesh));
                rule.at(input, &downspout.tag, pass_if(mesh.to_m() <= limit_m), message)
                    .with(Amount::Length(mesh), metres(limit_m))
            }
        },
    })
    .collect()
}
