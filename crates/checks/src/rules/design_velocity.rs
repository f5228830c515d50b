//! Design velocity: in the storm water does not run so fast that the pipe suffers.

use super::prelude::*;
use wetrun_network::LineId;
use wetrun_units::Speed;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "design-velocity",
    section: Section::Capacity,
    checks: "In the design storm no line runs faster than plastic pipe is usually allowed to.",
    why: "Losses grow with the square of the speed, so a fast line has no reserve; and a fast \
          column surges when something stops it.",
    limit: Some(Amount::Speed(Speed::m_per_s(3.0))),
    threshold: "the highest speed in the design storm",
    source: Source {
        text: "waterworks practice for plastic pipe, 2.4 to 3.0 m/s",
        confidence: Confidence::Recalled,
    },
    keys: "lines.*.pipe, storm",
    mend: "enlarge the line",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m_per_s = rule.limit_si(input);
    let loops = input.network.on_a_loop();
    let each = input.network.lines().iter().zip(&input.steady.lines).enumerate();
    each.map(|(index, (line, state))| {
        let speed_m_per_s = state.velocity.to_m_per_s().abs();
        let holds = speed_m_per_s <= limit_m_per_s;
        let message = format!("runs at {}", units.show_speed(Speed::m_per_s(speed_m_per_s)));
        let mut finding = rule.at(input, &line.tag, pass_if(holds), message);
        // On a loop a larger line also carries more: there the bore is not known from the speed.
        if !holds && !loops[index] {
            let bore_m = line.pipe.inside.to_m() * (speed_m_per_s / limit_m_per_s).sqrt();
            let larger = super::bores::Larger::new(input, bore_m);
            finding.mend = larger.line(LineId::new(index)).words(None);
        }
        finding.with(
            Amount::Speed(Speed::m_per_s(speed_m_per_s)),
            Amount::Speed(Speed::m_per_s(limit_m_per_s)),
        )
    })
    .collect()
}
