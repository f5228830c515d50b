//! Law range: the friction law is used where it was fitted.

use super::prelude::*;
use wetrun_solver::FrictionLaw;
use wetrun_units::Speed;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "law-range",
    section: Section::Capacity,
    checks: "Hazen-Williams is used at speeds, and Colebrook at roughnesses, that it was fitted to.",
    why: "At the low speeds of wet lines Hazen-Williams with C = 150 understates the loss by 10 \
          to 20 %; the other law does not.",
    limit: None,
    threshold: "0.9 to 3 m/s for Hazen-Williams; roughness up to 0.05 of the bore for Colebrook",
    source: Source {
        text: "range in which the coefficient is usually quoted",
        confidence: Confidence::CommonPractice,
    },
    keys: "losses, lines.*.pipe",
    mend: "compare with losses: darcy-weisbach",
    judge,
};

/// Speeds between which Hazen-Williams coefficients are usually quoted.
const FITTED_M_PER_S: (f64, f64) = (0.9, 3.0);

/// Largest roughness, as a part of the bore, that Colebrook was fitted to.
const ROUGHEST: f64 = 0.05;

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let lines = input.network.lines().iter().zip(&input.steady.lines);
    let mut found: Vec<Finding> = match input.scenario.law {
        FrictionLaw::HazenWilliams => lines
            .filter_map(|(line, state)| {
                speed(rule, input, &line.tag, state.velocity.to_m_per_s().abs())
            })
            .collect(),
        FrictionLaw::DarcyWeisbach => lines
            .filter_map(|(line, _)| {
                let part = line.pipe.roughness?.to_m() / line.pipe.inside.to_m();
                let message = format!("the wall's roughness is {part:.3} of the bore");
                (part > ROUGHEST).then(|| {
                    rule.at(input, &line.tag, Outcome::Caution, message)
                        .with(Amount::Number(part), Amount::Number(ROUGHEST))
                })
            })
            .collect(),
    };
    if found.is_empty() {
        let message = "the friction law is used where it was fitted".to_owned();
        found.push(rule.at(input, "site", Outcome::Pass, message));
    }
    found
}

fn speed(rule: &Rule, input: &Judged<'_>, tag: &str, speed_m_per_s: f64) -> Option<Finding> {
    let (low, high) = FITTED_M_PER_S;
    let slow = speed_m_per_s > 0.0 && speed_m_per_s < low;
    if !slow && speed_m_per_s <= high {
        return None;
    }
    let units = input.facts.units;
    let limit = Speed::m_per_s(if slow { low } else { high });
    let speed = Speed::m_per_s(speed_m_per_s);
    let message = format!(
        "Hazen-Williams is usually quoted {} {}; water runs at {} here",
        if slow { "above" } else { "below" },
        units.show_speed(limit),
        units.show_speed(speed),
    );
    Some(
        rule.at(input, tag, Outcome::Caution, message)
            .mended(rule.mend.to_owned())
            .with(Amount::Speed(speed), Amount::Speed(limit)),
    )
}
