//! The table of lines.

use crate::render::show::{Show, head};
use crate::render::table::{Cells, Table, aligned};
use crate::render::wrap::wrap;
use crate::solved::Solved;
use anstyle::Style;
use wetrun_solver::LineState;
use wetrun_units::{Flow, Length, Speed};

/// Flow, speed and losses of every line.
pub(crate) fn table(solved: &Solved, show: Show) -> String {
    let network = &solved.site.network;
    let labels: Vec<[String; 3]> = network
        .lines()
        .iter()
        .map(|line| {
            let ends = format!("{} > {}", network.end_tag(line.from), network.end_tag(line.to));
            let pipe = if show.both { String::new() } else { line.pipe.label.clone() };
            [line.tag.clone(), ends, pipe]
        })
        .collect();
    let mut table = Table::new("LINES", show);
    if !show.both {
        table = table.column("length", |s| s.show_length(Length::ZERO));
    }
    table = table
        .column("flow", |s| s.show_flow(Flow::ZERO))
        .column("speed", |s| s.show_speed(Speed::ZERO))
        .column("friction", |s| head(s, Length::ZERO))
        .column("fittings", |s| head(s, Length::ZERO));
    for (index, label) in aligned(&labels).into_iter().enumerate() {
        let (line, state) = (&network.lines()[index], &solved.steady.lines[index]);
        let mut cells = Cells::new(show);
        if !show.both {
            cells = cells.number(|s| s.show_length(line.length));
        }
        cells = cells
            .number(|s| s.show_flow(state.flow))
            .number(|s| s.show_speed(state.velocity))
            .number(|s| head(s, state.friction_loss))
            .number(|s| head(s, state.fitting_loss));
        table.row(label, cells, Style::new());
    }
    let mut out = table.render();
    let of = |test: fn(&LineState) -> bool| -> Vec<&str> {
        let lines = network.lines().iter().zip(&solved.steady.lines);
        lines.filter(|(_, state)| test(state)).map(|(line, _)| line.tag.as_str()).collect()
    };
    let broken = of(|state| state.broken);
    if !broken.is_empty() {
        out.push_str(&note(&format!(
            "Part full behind a high point: {}. The friction shown is that of the full stretches.",
            broken.join(", ")
        )));
    }
    // A gain too small to be printed is not worth a note.
    let drawn =
        of(|state| state.fitting_loss.to_m() * state.flow.to_m3_per_s().signum() < -0.000_15);
    if !drawn.is_empty() {
        out.push_str(&note(&format!(
            "Drawn along by the faster stream at a wye or tee, so that it gains head there: {}.",
            drawn.join(", ")
        )));
    }
    out
}

fn note(words: &str) -> String {
    format!("  {}\n", wrap(words, 2, 2))
}
