//! Flush daylight: a first-flush device in the ground is emptied by a cap above the ground.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "flush-daylight",
    section: Section::Water,
    checks: "The cap that empties a first-flush device in the ground comes out above the ground.",
    why: "A buried cap is never opened; on a flat lot an in-ground device does not work at all.",
    limit: Some(Amount::Length(Length::ZERO)),
    threshold: "the least height of the cap above the ground",
    source: Source {
        text: "makers' pages: the end cap must daylight",
        confidence: Confidence::Read,
    },
    keys: "downspouts.*.first_flush: { cap, ground }, points.*.first_flush",
    mend: "bring the cap out further down the slope, or hang the device above the ground",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m = rule.limit_si(input);
    let mut found = Vec::new();
    for (tag, device) in super::first_flush_devices(input) {
        let (Some(cap), Some(ground)) = (device.cap, device.ground) else {
            let message = "the levels of its cap and of the ground there are not shown";
            let downspout = input.network.downspouts().iter().any(|d| d.tag == tag);
            let section = if downspout { "downspouts" } else { "points" };
            let keys = ["cap", "ground"].map(|key| format!("{section}.{tag}.first_flush.{key}"));
            let finding = rule.not_shown(input, tag, message);
            found.push(Finding { missing: keys.to_vec(), ..finding });
            continue;
        };
        let above_m = cap.to_m() - ground.to_m();
        let message = format!("the cap comes out {} the ground", say::apart(units, above_m));
        found.push(
            rule.at(input, tag, pass_if(above_m >= limit_m), message)
                .with(metres(above_m), metres(limit_m)),
        );
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no first-flush device is drawn");
    }
    found
}
