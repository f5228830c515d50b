//! Overflow size: the overflow is not smaller than the pipes that fill the tank.

use super::prelude::*;
use wetrun_network::TankId;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "overflow-size",
    section: Section::Tank,
    checks: "The bore of the overflow is not smaller than that of the largest pipe into the tank.",
    why: "A smaller overflow blocks with what the larger inlet lets in.",
    limit: None,
    threshold: "the bore of the largest pipe into the tank",
    source: Source {
        text: "extension services and installers' sheets: overflow not smaller than the inlet",
        confidence: Confidence::Read,
    },
    keys: "tanks.*.overflow.pipe, lines.*.pipe",
    mend: "give the overflow the inlet's bore at least",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let mut found = Vec::new();
    for (index, tank) in input.network.tanks().iter().enumerate() {
        let id = TankId::new(index);
        if !super::fed(input, id) {
            continue;
        }
        let Some(pipe) = tank.overflow.as_ref().and_then(|o| o.pipe.as_ref()) else {
            let message = "the pipe of the overflow is not shown";
            found.push(rule.asks(input, &tank.tag, message, &["tanks.{}.overflow.pipe"]));
            continue;
        };
        let (Some(largest_m), false) = super::largest_inlet_m(input, id) else {
            found.push(super::overflow_pipes_not_shown(rule, input, id));
            continue;
        };
        let message = format!(
            "overflow {}, largest pipe into it {}",
            units.show_size(pipe.inside),
            units.show_size(Length::m(largest_m)),
        );
        let holds = pipe.inside.to_m() >= largest_m - 1e-6;
        let mut finding = rule.at(input, &tank.tag, pass_if(holds), message);
        if !holds {
            finding.mend = super::bores::Larger::new(input, largest_m).overflow(id).words(None);
        }
        found.push(finding.with(Amount::Length(pipe.inside), metres(largest_m)));
    }
    found
}
