//! What the numbers rest on: the storm, the law, the water, the datum, and how well the
//! equations hold.

use super::entry;
use crate::render::show::Show;
use crate::render::table::TITLE;
use crate::solved::Solved;
use wetrun_solver::FrictionLaw;

const COLUMN: usize = 13;

/// The basis of the numbers.
pub(crate) fn list(solved: &Solved, show: Show) -> String {
    let site = &solved.site;
    let mut out = format!("{TITLE}BASIS{TITLE:#}\n");
    let rain = show.prose(|s| s.show_intensity(site.storm.intensity));
    let storm = match &site.storm.basis {
        Some(basis) => format!("{rain}; {basis}"),
        None => format!("{rain}; the site file does not say where this comes from"),
    };
    out.push_str(&entry("storm", COLUMN, &storm));
    let freeboard = show.prose(|s| s.show_height(solved.verdict.asked));
    out.push_str(&entry("target", COLUMN, &format!("{freeboard} below every opening")));
    let law = match solved.scenario.law {
        FrictionLaw::DarcyWeisbach => "Darcy-Weisbach with Colebrook-White",
        FrictionLaw::HazenWilliams => "Hazen-Williams",
    };
    out.push_str(&entry("losses", COLUMN, &format!("{law}; fittings by K V²/2g")));
    let water = show.prose(|s| s.show_temperature(solved.scenario.temperature));
    out.push_str(&entry("water", COLUMN, &water));
    if let Some(datum) = &site.datum {
        out.push_str(&entry("datum", COLUMN, datum));
    }
    let residuals = &solved.steady.residuals;
    let steps = match residuals.iterations {
        0 => "worked out along the tree".to_owned(),
        1 => "1 step".to_owned(),
        steps => format!("{steps} steps"),
    };
    let solve = format!(
        "{steps}; flows balance to {} of the demand, heads to {} m",
        tiny(residuals.continuity),
        tiny(residuals.head.to_m()),
    );
    out.push_str(&entry("solution", COLUMN, &solve));
    out
}

fn tiny(number: f64) -> String {
    if number == 0.0 { "0".to_owned() } else { format!("{number:.0e}") }
}
