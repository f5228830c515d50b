//! Leaf screen: every downspout of a wet system keeps leaves out of the full pipe.

use super::prelude::*;
use wetrun_facts::Screen;

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
        None => {
            let keys = ["downspouts.{}.screen.open", "downspouts.{}.leaf_mesh"];
            rule.asks(input, &downspout.tag, "no leaf screen is shown", &keys)
        }
        Some(Screen { mesh: None, open: Some(open) }) if open.to_ratio() >= 1.0 => {
            let message = "its screen leaves all open: nothing holds leaves back".to_owned();
            let finding = rule.at(input, &downspout.tag, Outcome::Fail, message);
            Finding { limit: Some(metres(limit_m)), ..finding }
        }
        Some(screen) => match screen.mesh {
            None => {
                let message = "a leaf screen is shown, its mesh is not";
                rule.asks(input, &downspout.tag, message, &["downspouts.{}.leaf_mesh"])
            }
            Some(mesh) => {
                let mut message = format!("leaf screen of {}", units.show_size(mesh));
                let mut outcome = pass_if(mesh.to_m() <= limit_m);
                // A mesh that takes nothing of the opening: the drawing contradicts itself.
                if screen.open.is_some_and(|open| open.to_ratio() >= 1.0) {
                    message.push_str(", which leaves all of the opening free: one of the two is wrong");
                    outcome = if outcome == Outcome::Pass { Outcome::Caution } else { outcome };
                }
                rule.at(input, &downspout.tag, outcome, message)
                    .with(Amount::Length(mesh), metres(limit_m))
            }
        },
    })
    .collect()
}
