//! Inlet air gap: water falls into the tank, and the tank cannot drain back into the line.

use super::prelude::*;
use wetrun_network::{End, TankId};

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
    let pipes = input.pipes();
    let bores = rule.limit_si(input);
    let mut found = Vec::new();
    for (index, tank) in input.network.tanks().iter().enumerate() {
        let inlets = pipes.at(End::Tank(TankId::new(index))).iter();
        let largest_m =
            inlets.map(|(l, _)| input.network.line(*l).pipe.inside.to_m()).fold(0.0, f64::max);
        if largest_m == 0.0 {
            continue;
        }
        let Some(overflow) = &tank.overflow else {
            found.push(rule.not_shown(input, &tank.tag, "no overflow is shown"));
            continue;
        };
        let gap_m = tank.inlet.to_m() - overflow.level.to_m();
        let need_m = bores * largest_m;
        let message = format!(
            "the inlet is {} the overflow; {} is asked for",
            say::apart(units, gap_m),
            say::height(units, need_m),
        );
        let holds = gap_m >= need_m - LEVEL_TOLERANCE_M;
        let mut finding = rule.at(input, &tank.tag, pass_if(holds), message);
        if !holds {
            let short = say::height(units, need_m - gap_m);
            finding = finding.mended(format!("lower the overflow, or raise the inlet, by {short}"));
        }
        found.push(finding.with(metres(gap_m), metres(need_m)));
    }
    found
}
