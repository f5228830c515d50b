//! Inlet air gap: water falls into the tank, and the tank cannot drain back into the line.

use super::prelude::*;
use wetrun_network::TankId;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "inlet-air-gap",
    section: Section::Tank,
    checks: "The inlet stands above the overflow by an inlet's bore.",
    why: "Below that the tank's own level drives the line: a submerged inlet lets a full tank \
          drain back through a broken pipe, and backs the line up.",
    limit: Some(Amount::Number(1.0)),
    threshold: "the least height of the inlet above the overflow, in bores of the inlet",
    source: Source {
        text: "one inlet diameter, or the project's value",
        confidence: Confidence::CommonPractice,
    },
    keys: "tanks.*.inlet, tanks.*.overflow.level",
    mend: "raise the inlet, where the head allows, or lower the overflow",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let bores = rule.limit_si(input);
    let mut found = Vec::new();
    for (index, tank) in input.network.tanks().iter().enumerate() {
        let id = TankId::new(index);
        if !super::fed(input, id) {
            continue;
        }
        let Some(overflow) = &tank.overflow else {
            let key = "tanks.{}.overflow.level";
            found.push(rule.asks(input, &tank.tag, "no overflow is shown", &[key]));
            continue;
        };
        let (Some(largest_m), false) = super::largest_inlet_m(input, id) else {
            found.push(super::overflow_pipes_not_shown(rule, input, id));
            continue;
        };
        let gap_m = tank.inlet.to_m() - overflow.level.to_m();
        let need_m = bores * largest_m;
        let holds = gap_m >= need_m - LEVEL_TOLERANCE_M;
        let (has, asked) = if holds {
            (say::height(units, gap_m.abs()), say::height_up(units, need_m))
        } else {
            say::heights(units, gap_m.abs(), need_m)
        };
        let side = if gap_m < 0.0 { "below" } else { "above" };
        let message = format!("the inlet is {has} {side} the overflow; {asked} is asked for");
        let mut finding = rule.at(input, &tank.tag, pass_if(holds), message);
        if !holds {
            finding.mend = super::lower_overflow(input, id, tank.inlet.to_m() - need_m, |_| true);
        }
        found.push(finding.with(metres(gap_m), metres(need_m)));
    }
    found
}
