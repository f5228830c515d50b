//! Insect mesh: every opening keeps mosquitoes out.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "insect-mesh",
    section: Section::Water,
    checks: "Tank inlets, overflows, vents and the tops of downspouts carry insect mesh.",
    why: "Standing water breeds mosquitoes; in surveys inlet and overflow were the ways in, at \
          screens people forget.",
    limit: Some(Amount::Length(Length::m(0.0016))),
    threshold: "the widest opening of the mesh",
    source: Source {
        text: "1/16 in (1.6 mm) at overflows, an extension service's guide; a council asks for \
               1 mm",
        confidence: Confidence::Read,
    },
    keys: "tanks.*.inlet_mesh, tanks.*.overflow_mesh, points.*.vent.mesh, downspouts.*.insect_mesh",
    mend: "fit a finer mesh",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let facts = input.facts;
    let mut openings: Vec<(&str, &str, &str, Option<Length>)> = Vec::new();
    for (index, downspout) in input.network.downspouts().iter().enumerate() {
        let mesh = facts.downspout(index).insect_mesh;
        openings.push((&downspout.tag, "top", "downspouts.{}.insect_mesh", mesh));
    }
    for (index, point) in input.network.points().iter().enumerate() {
        if let Some(vent) = facts.point(index).vent {
            openings.push((&point.tag, "vent", "points.{}.vent.mesh", vent.mesh));
        }
    }
    for (index, tank) in input.network.tanks().iter().enumerate() {
        openings.push((&tank.tag, "inlet", "tanks.{}.inlet_mesh", facts.tank(index).inlet_mesh));
        if tank.overflow.as_ref().is_some_and(|o| o.to.is_none()) {
            let mesh = facts.tank(index).overflow_mesh;
            openings.push((&tank.tag, "overflow", "tanks.{}.overflow_mesh", mesh));
        }
    }
    let limit_m = rule.limit_si(input);
    let mut found: Vec<Finding> = openings
        .iter()
        .filter_map(|&(tag, what, key, mesh)| match mesh {
            None => {
                let message = format!("no insect mesh is shown at its {what}");
                Some(rule.asks(input, tag, &message, &[key]))
            }
            Some(mesh) if mesh.to_m() > limit_m + LEVEL_TOLERANCE_M => {
                let message = format!("mesh of {} at its {what}", facts.units.show_size(mesh));
                let finding = rule.at(input, tag, Outcome::Fail, message);
                Some(finding.with(Amount::Length(mesh), metres(limit_m)))
            }
            Some(_) => None,
        })
        .collect();
    if found.is_empty() {
        let widest_m = openings.iter().filter_map(|o| o.3).map(Length::to_m).fold(0.0, f64::max);
        let message = format!(
            "mesh at every opening, the widest {}",
            facts.units.show_size(Length::m(widest_m))
        );
        let finding = rule.at(input, "site", Outcome::Pass, message);
        found.push(finding.with(metres(widest_m), metres(limit_m)));
    }
    found
}
