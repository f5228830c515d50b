//! The table of tanks.

use crate::render::show::Show;
use crate::render::table::{Cells, Table, aligned};
use crate::solved::{Settled, Solved};
use anstyle::{AnsiColor, Style};
use wetrun_units::{Flow, Length};

/// What every tank receives and overflows, and where its water stands.
pub(crate) fn table(solved: &Solved, show: Show) -> String {
    build(solved, show).render()
}

/// The same before it is written.
pub(crate) fn build(solved: &Settled, show: Show) -> Table {
    let network = &solved.site.network;
    let labels: Vec<[String; 2]> = network
        .tanks()
        .iter()
        .map(|tank| {
            let to = tank.overflow.as_ref().map(|overflow| match overflow.to {
                Some(to) => format!("overflows to {}", network.tank(to).tag),
                None => "overflows to the ground".to_owned(),
            });
            [tank.tag.clone(), to.unwrap_or_else(|| "no overflow shown".to_owned())]
        })
        .collect();
    let any_over = solved.verdict.tanks.iter().any(|room| room.leaves);
    let mut table = Table::new("TANKS", show)
        .column("receives", |s| s.show_flow(Flow::ZERO))
        .column("overflows", |s| s.show_flow(Flow::ZERO));
    if any_over {
        table = table.column("over rim", |s| s.show_flow(Flow::ZERO));
    }
    table = table.column("water", |s| s.show_level(Length::ZERO));
    if !show.both {
        table = table.column("inlet", |s| s.show_level(Length::ZERO));
    }
    for (index, label) in aligned(&labels).into_iter().enumerate() {
        let (tank, state) = (&network.tanks()[index], &solved.steady.tanks[index]);
        let mut cells = Cells::new(show)
            .number(|s| s.show_flow(state.inflow))
            .number(|s| s.show_flow(state.overflow));
        if any_over {
            cells = cells.number(|s| s.show_flow(state.over_rim));
        }
        cells = cells.maybe(state.water_level, |s, level| s.show_level(level));
        if !show.both {
            cells = cells.number(|s| s.show_level(tank.inlet));
        }
        let over = solved.verdict.tanks.get(index).is_some_and(|room| room.leaves);
        let red = Style::new().fg_color(Some(AnsiColor::Red.into()));
        table.row(label, cells, if over { red } else { Style::new() });
    }
    table
}
