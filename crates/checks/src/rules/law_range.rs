//! Law range: the laws of friction and of combining streams are used where they were fitted.

use super::prelude::*;
use wetrun_network::{End, Junction, Line, PointId};
use wetrun_solver::laws::{Caution, head_loss, junction};
use wetrun_solver::{FrictionLaw, LineState};
use wetrun_units::{Fraction, Speed};

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "law-range",
    section: Section::Capacity,
    checks: "Friction and combining losses are used at the speeds, bores, roughnesses, Reynolds \
             numbers and flow ratios that they were fitted to.",
    why: "At the low speeds of wet lines Hazen-Williams with C = 150 understates the loss by 10 \
          to 20 %; the other law does not.",
    limit: None,
    threshold: "0.9 to 3 m/s in bores above 50 mm for Hazen-Williams; roughness up to 0.05 of the \
                bore and Reynolds numbers outside 2000 to 4000 for Colebrook; two streams that \
                combine for a wye or tee",
    source: Source {
        text: "range in which the coefficient is usually quoted",
        confidence: Confidence::CommonPractice,
    },
    keys: "losses, lines.*.pipe, points.*.fitting",
    mend: "compare with losses: darcy-weisbach",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let mut found: Vec<Finding> = (input.network.lines().iter().zip(&input.steady.lines))
        .filter_map(|(line, state)| friction(rule, input, line, state))
        .collect();
    found.extend((input.network.points().iter().enumerate()).filter_map(|(index, point)| {
        let share = branch_share(input, PointId::new(index), point.fitting?)?;
        let caution = junction::range(Fraction::ratio(share))?;
        Some(rule.at(input, &point.tag, Outcome::Caution, caution.to_string()))
    }));
    if found.is_empty() {
        let message = "every law is used where it was fitted".to_owned();
        found.push(rule.at(input, "site", Outcome::Pass, message));
    }
    found
}

/// What the friction law says of a line that carries water.
fn friction(rule: &Rule, input: &Judged<'_>, line: &Line, state: &LineState) -> Option<Finding> {
    let bore = line.pipe.inside;
    let caution = match input.scenario.law {
        FrictionLaw::HazenWilliams => head_loss::hazen_williams_range(state.velocity, bore),
        FrictionLaw::DarcyWeisbach => {
            let roughness = line.pipe.roughness?.to_m() / bore.to_m();
            head_loss::darcy_weisbach_range(state.reynolds, roughness)
        }
    }?;
    let units = input.facts.units;
    let say = |message: String| rule.at(input, &line.tag, Outcome::Caution, message);
    Some(match caution {
        Caution::HazenWilliamsSpeed { speed_m_per_s, least_m_per_s, most_m_per_s } => {
            let slow = speed_m_per_s < least_m_per_s;
            let (side, limit) =
                if slow { ("above", least_m_per_s) } else { ("below", most_m_per_s) };
            let (speed, limit) = (Speed::m_per_s(speed_m_per_s), Speed::m_per_s(limit));
            say(format!(
                "Hazen-Williams is usually quoted {side} {}; water runs at {} here",
                units.show_speed(limit),
                units.show_speed(speed),
            ))
            .mended(rule.mend.to_owned())
            .with(Amount::Speed(speed), Amount::Speed(limit))
        }
        Caution::HazenWilliamsBore { bore_m, least_m } => say(format!(
            "Hazen-Williams is usually quoted for bores above {}; this one is {}",
            units.show_size(Length::m(least_m)),
            units.show_size(Length::m(bore_m)),
        ))
        .mended(rule.mend.to_owned())
        .with(metres(bore_m), metres(least_m)),
        Caution::RelativeRoughness { ratio, most } => {
            say(format!("the wall's roughness is {ratio:.3} of the bore"))
                .with(Amount::Number(ratio), Amount::Number(most))
        }
        Caution::Transition { reynolds, turbulent_from } => say(caution.to_string())
            .with(Amount::Number(reynolds), Amount::Number(turbulent_from)),
        other => say(other.to_string()),
    })
}

/// The branch's part of what leaves a wye or tee along its run, outside 0 to 1 where the streams
/// do not combine; `None` where the branch stands still.
fn branch_share(input: &Judged<'_>, at: PointId, fitting: Junction) -> Option<f64> {
    let inward = |(line, state): (&Line, &LineState)| {
        let flow_m3_per_s = state.flow.to_m3_per_s();
        if line.to == End::Point(at) { flow_m3_per_s } else { -flow_m3_per_s }
    };
    let lines = input.network.lines().iter().zip(&input.steady.lines);
    let branch = lines.clone().nth(fitting.branch.index()).map(inward)?;
    let out = (lines.enumerate())
        .filter(|(index, (line, _))| {
            *index != fitting.branch.index() && [line.from, line.to].contains(&End::Point(at))
        })
        .map(|(_, line)| -inward(line))
        .fold(f64::NEG_INFINITY, f64::max);
    (branch != 0.0).then(|| if out > 0.0 { branch / out } else { f64::NEG_INFINITY })
}
