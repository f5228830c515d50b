//! The table of downspouts.

use crate::render::rain;
use crate::render::show::Show;
use crate::render::table::{Cells, Table};
use crate::solved::Solved;
use anstyle::{AnsiColor, Style};
use wetrun_network::DownspoutId;
use wetrun_units::{Flow, Intensity, Length};

/// Demand, standing level, headroom and the rain at which it spills, for every downspout.
pub(crate) fn table(solved: &Solved, show: Show) -> String {
    let network = &solved.site.network;
    if network.downspouts().is_empty() {
        return String::new();
    }
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
    let rains_known = solved.spill_rains.looked_for();
    if rains_known {
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
        let rain = solved.spill_rains.downspouts.get(index).copied().flatten();
        cells = cells.number(|s| s.show_height(state.headroom));
        if rains_known {
            cells = cells.number(|s| rain::cell(s, rain, solved.scenario.intensity));
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
    table.render()
}
