//! The opened drains on paper: what runs out, how fast each line runs, what stays.

use crate::flush::{Flush, FlushRun};
use crate::render::clock;
use wetrun_checks::Outcome;
use wetrun_sheet::paper::{Block, Part, Table};
use wetrun_units::{Length, Speed, Time, Volume};

/// What opening the drains does, as a part of a printed set.
pub(crate) fn part(flush: &Flush) -> Part {
    let told = flush.findings.iter().filter(|told| told.outcome != Outcome::Pass);
    let told: Vec<String> = told.map(|told| format!("{}: {}", told.at, told.message)).collect();
    let mut blocks = Vec::new();
    if !told.is_empty() {
        blocks.push(Block::Cautions(told));
    }
    if flush.order.len() > 1 {
        let tag = |at| flush.site.network.point(at).tag.as_str();
        let order: Vec<&str> = flush.order.iter().map(|alone| tag(alone.at)).collect();
        blocks.push(Block::Text(format!("Open them in this order: {}.", order.join(", "))));
    }
    for run in &flush.runs {
        let open: Vec<&str> =
            run.open.iter().map(|at| flush.site.network.point(*at).tag.as_str()).collect();
        blocks.push(Block::Heading(format!("{} open", open.join(", "))));
        blocks.push(Block::Facts(facts(flush, run)));
        blocks.push(Block::Table(lines(flush, run)));
    }
    if !flush.runs.is_empty() {
        blocks.push(Block::Text(
            "Each drain opens at once over lines at rest, in dry weather. Open drains by hand where \
             local rules let the water go; nobody stands in a trench or reaches into a tank for it."
                .to_owned(),
        ));
    }
    Part { title: "Opening the drains".to_owned(), wide: true, blocks }
}

fn facts(flush: &Flush, run: &FlushRun) -> Vec<(String, String)> {
    let amount = |volume: Volume| clock::volume(flush.site.units, volume);
    let mut facts = vec![
        ("runs out".to_owned(), amount(run.flushed.drained)),
        ("95 % of it in".to_owned(), clock::length(run.flushed.most_drained)),
    ];
    for at in &run.open {
        if let Some(to) = flush.runs_to(*at) {
            let tag = &flush.site.network.point(*at).tag;
            facts.push((format!("{tag} runs out to"), to.to_owned()));
        }
    }
    let left = flush.left(run).into_iter();
    let left: Vec<String> =
        left.map(|(tag, volume)| format!("{} in {tag}", amount(volume))).collect();
    let stays = if left.is_empty() { "nothing".to_owned() } else { left.join(", ") };
    facts.push(("stays".to_owned(), stays));
    facts
}

fn lines(flush: &Flush, run: &FlushRun) -> Table {
    let units = flush.site.units;
    let (speed, length) =
        (units.show_speed(Speed::ZERO).unit, units.show_length(Length::ZERO).unit);
    let mut table = Table::new(&[
        ("line", "", false),
        ("fastest", speed, true),
        ("at", "", true),
        ("carries silt for", "", true),
        ("as far as", length, true),
    ]);
    for (line, swept) in flush.site.network.lines().iter().zip(&run.flushed.lines) {
        let carries = swept.carried_for > Time::ZERO;
        let said = |words: String| if carries { words } else { "-".to_owned() };
        table.row([
            line.tag.clone(),
            units.show_speed(swept.peak_velocity).number,
            clock::moment(swept.peak_at),
            said(clock::length(swept.carried_for)),
            said(units.show_length(swept.carried).number),
        ]);
    }
    table
}
