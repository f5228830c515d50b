//! A Hazen-Williams run beside the other law, where speeds are outside the range it was fitted in.

use crate::render::show::{Show, head};
use crate::render::table::{Cells, Table};
use crate::render::wrap::wrap;
use crate::solved::Solved;
use anstyle::Style;
use std::collections::BTreeSet;
use wetrun_checks::Outcome;
use wetrun_solver::{FrictionLaw, Steady};
use wetrun_units::{Length, Speed, decimal};

/// What Darcy-Weisbach gives on the lines where the law in use is outside its range.
pub(crate) fn other_law(solved: &Solved, show: Show) -> String {
    if solved.scenario.law != FrictionLaw::HazenWilliams {
        return String::new();
    }
    let outside =
        |f: &&wetrun_checks::Finding| f.rule == "law-range" && f.outcome == Outcome::Caution;
    let outside: BTreeSet<&str> =
        solved.findings.iter().filter(outside).map(|f| f.at.as_str()).collect();
    if outside.is_empty() {
        return String::new();
    }
    match solved.by_the_other_law() {
        Ok(Some(other)) => compared(solved, show, &outside, &other),
        Ok(None) => note("No comparison with Darcy-Weisbach: a pipe gives no roughness."),
        Err(failed) => note(&format!("No comparison with Darcy-Weisbach: {failed}.")),
    }
}

fn compared(solved: &Solved, show: Show, outside: &BTreeSet<&str>, other: &Steady) -> String {
    let network = &solved.site.network;
    let mut table = Table::new("HAZEN-WILLIAMS OUTSIDE ITS RANGE", show)
        .column("speed", |s| s.show_speed(Speed::ZERO))
        .column("friction", |s| head(s, Length::ZERO))
        .column("Darcy-Weisbach", |s| head(s, Length::ZERO))
        .plain_column("ratio");
    let lines = network.lines().iter().zip(&solved.steady.lines).zip(&other.lines);
    for ((line, mine), theirs) in lines.filter(|((line, _), _)| outside.contains(line.tag.as_str()))
    {
        let ratio = mine.friction_loss.to_m() / theirs.friction_loss.to_m();
        let ratio = if ratio.is_finite() { decimal(ratio, 2) } else { "-".to_owned() };
        let cells = Cells::new(show)
            .number(|s| s.show_speed(mine.velocity))
            .number(|s| head(s, mine.friction_loss))
            .number(|s| head(s, theirs.friction_loss))
            .plain(ratio);
        table.row(line.tag.as_str(), cells, Style::new());
    }
    let mut out = table.render();
    if let Some(worst) = solved.worst() {
        let tag = &network.downspout(worst).tag;
        let headroom = other.downspouts[worst.index()].headroom;
        let words = format!(
            "By Darcy-Weisbach the headroom of {tag} is {}; by Hazen-Williams it is {}.",
            show.prose(|s| s.show_height(headroom)),
            show.prose(|s| s.show_height(solved.steady.downspouts[worst.index()].headroom)),
        );
        out.push_str(&note(&words));
    }
    out
}

fn note(words: &str) -> String {
    format!("  {}\n", wrap(words, 2, 2))
}
