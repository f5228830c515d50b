//! The table of downspouts.

use crate::render::show::Show;
use crate::render::table::{Cells, Table};
use crate::render::text::verdict::Told;
use crate::solved::Solved;
use anstyle::{AnsiColor, Style};
use wetrun_network::DownspoutId;
use wetrun_solver::SpillRains;
use wetrun_units::{Flow, Intensity, Length};

/// Demand, standing level, headroom and the rain at which it spills, for every downspout.
pub(crate) fn table(solved: &Solved, show: Show) -> String {
    if solved.site.network.downspouts().is_empty() {
        return String::new();
    }
    build(solved.into(), show).render()
}

/// The same before it is written; an ellipsis stands where rains are not known yet.
pub(crate) fn build(solved: Told<'_>, show: Show) -> Table {
    let network = &solved.site.network;
    let any_spills = (0..network.downspouts().len()).any(|d| solved.spills(d));
    let mut table = Table::new("DOWNSPOUTS", show).column("demand", |s| s.show_flow(Flow::ZERO));
    if any_spills {
        table = table.column("spilled", |s| s.show_flow(Flow::ZERO));
    }
    table = table.column("standing", |s| s.show_level(Length::ZERO));
    if !show.both {
        table = table.column("opening", |s| s.show_level(Length::ZERO));
    }
    table = table.column("headroom", |s| s.show_height(Length::ZERO));
    let rains_shown = solved.rains.is_none_or(SpillRains::looked_for);
    if rains_shown {
        table = table.column("spills at", |s| s.show_intensity(Intensity::ZERO));
    }
    table = table.plain_column("");
    for (index, downspout) in network.downspouts().iter().enumerate() {
        let state = &solved.steady.downspouts[index];
        let mut cells = Cells::new(show).number(|s| s.show_flow(state.demand));
        if any_spills {
            cells = cells.number(|s| s.show_flow(state.spilled));
        }
        cells = cells.number(|s| s.show_level(state.standing_level));
        if !show.both {
            cells = cells.number(|s| s.show_level(downspout.opening()));
        }
        cells = cells.number(|s| s.show_height(state.headroom));
        if rains_shown {
            cells = solved.rain(cells, |rains| &rains.downspouts, index);
        }
        let (word, style) = if solved.spills(index) {
            ("spills", Style::new().fg_color(Some(AnsiColor::Red.into())))
        } else if solved.verdict.at_downspout(DownspoutId::new(index)).next().is_some() {
            ("fails", Style::new().fg_color(Some(AnsiColor::Red.into())))
        } else {
            ("", Style::new())
        };
        table.row(downspout.tag.as_str(), cells.plain(word), style);
    }
    table
}
