//! The table of vents and open caps.

use crate::render::show::Show;
use crate::render::table::{Cells, Table, aligned};
use crate::render::text::verdict::Told;
use crate::solved::Solved;
use anstyle::{AnsiColor, Style};
use wetrun_network::OpeningKind;
use wetrun_solver::SpillRains;
use wetrun_units::{Flow, Intensity, Length};

/// Where water stands below every opening of a point, what comes out there, and from which rain on.
pub(crate) fn table(solved: &Solved, show: Show) -> String {
    if solved.site.network.openings().next().is_none() {
        return String::new();
    }
    build(solved.into(), show).render()
}

/// The same before it is written; an ellipsis stands where rains are not known yet.
pub(crate) fn build(solved: Told<'_>, show: Show) -> Table {
    let network = &solved.site.network;
    let labels: Vec<[String; 2]> = network
        .openings()
        .map(|(id, opening)| [network.point(id).tag.clone(), word(opening.kind).to_owned()])
        .collect();
    let any_leaves = solved.verdict.openings.iter().any(|room| room.leaves);
    let mut table = Table::new("OPENINGS", show);
    if any_leaves {
        table = table.column("lets out", |s| s.show_flow(Flow::ZERO));
    }
    table = table.column("level", |s| s.show_level(Length::ZERO));
    table = table.column("headroom", |s| s.show_height(Length::ZERO));
    let rains_shown = solved.rains.is_none_or(SpillRains::looked_for);
    if rains_shown {
        table = table.column("lets out at", |s| s.show_intensity(Intensity::ZERO));
    }
    table = table.plain_column("");
    let openings = network.openings().zip(&solved.steady.openings).enumerate();
    for ((index, ((_, opening), state)), label) in openings.zip(aligned(&labels)) {
        let leaves = solved.verdict.openings.get(index).is_some_and(|room| room.leaves);
        let mut cells = Cells::new(show);
        if any_leaves {
            cells = cells.number(|s| s.show_flow(state.escapes));
        }
        cells =
            cells.number(|s| s.show_level(opening.level)).number(|s| s.show_height(state.headroom));
        if rains_shown {
            cells = solved.rain(cells, |rains| &rains.openings, index);
        }
        let (word, style) = if leaves {
            ("leaks", Style::new().fg_color(Some(AnsiColor::Red.into())))
        } else {
            ("", Style::new())
        };
        table.row(label, cells.plain(word), style);
    }
    table
}

/// What a person calls it.
pub(crate) fn word(kind: OpeningKind) -> &'static str {
    match kind {
        OpeningKind::Vent => "vent",
        OpeningKind::Cap => "open cap",
    }
}
