//! Law range: the friction law is used where it was fitted.

use crate::finding::{Amount, Finding, Outcome};
use crate::{Judged, say};
use wetrun_solver::FrictionLaw;
use wetrun_units::Speed;

/// Speeds between which Hazen-Williams coefficients are usually quoted (common practice).
const FITTED_M_PER_S: (f64, f64) = (0.9, 3.0);

pub(crate) fn judge(input: &Judged<'_>) -> Vec<Finding> {
    if input.scenario.law != FrictionLaw::HazenWilliams {
        return Vec::new();
    }
    let units = input.facts.units;
    let mut found = Vec::new();
    for (line, state) in input.network.lines().iter().zip(&input.steady.lines) {
        let speed_m_per_s = state.velocity.to_m_per_s().abs();
        let slow = speed_m_per_s > 0.0 && speed_m_per_s < FITTED_M_PER_S.0;
        if !slow && speed_m_per_s <= FITTED_M_PER_S.1 {
            continue;
        }
        let limit = Speed::m_per_s(if slow { FITTED_M_PER_S.0 } else { FITTED_M_PER_S.1 });
        let speed = Speed::m_per_s(speed_m_per_s);
        found.push(Finding {
            rule: "law-range",
            outcome: Outcome::Caution,
            at: line.tag.clone(),
            value: Some(Amount::Speed(speed)),
            limit: Some(Amount::Speed(limit)),
            message: format!(
                "Hazen-Williams was fitted {} {}; water runs at {} here",
                if slow { "above" } else { "below" },
                say::speed(units, limit),
                say::speed(units, speed),
            ),
            basis: "range in which the coefficient is usually quoted (common practice)".to_owned(),
            mend: Some("compare with losses: darcy-weisbach".to_owned()),
        });
    }
    found
}
