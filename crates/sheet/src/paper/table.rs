//! A table on paper: columns as wide as their words, rows that wrap, heads that repeat.

use super::page::Flow;
use super::wrap::wrap;
use super::{Column, RowKind, Table};
use crate::draw::font::Weight;
use crate::draw::{Anchor, Ink, Layer, Pt, Stroke, Text, text_width_pt};

/// Between columns; more where the paper has room.
const GAP_PT: f64 = 8.0;
const WIDE_GAP_PT: f64 = 22.0;
const LARGEST_PT: f64 = 7.8;
const SMALLEST_PT: f64 = 5.6;
/// No column of words is squeezed below this many times the text size.
const LEAST_WORDS_EM: f64 = 9.0;

/// This many rows at the end go to a new page together, where they are no taller than this.
const LAST_ROWS: usize = 3;
const MOST_KEPT_PT: f64 = 200.0;

/// Widths of the columns and the text size at which they fit.
struct Fit {
    widths_pt: Vec<f64>,
    gap_pt: f64,
    size_pt: f64,
}

impl Fit {
    /// Width of the whole table.
    fn width_pt(&self) -> f64 {
        let gaps = self.widths_pt.len().saturating_sub(1) as f64;
        self.widths_pt.iter().sum::<f64>() + self.gap_pt * gaps
    }
}

/// Draws the table, on as many pages as it needs.
pub(super) fn draw(flow: &mut Flow, table: &Table) {
    let fit = fit(table, flow.room_pt());
    let head = head_height(table, &fit);
    flow.need(head + 3.0 * fit.size_pt * 1.5);
    draw_head(flow, table, &fit);
    let all_lines: Vec<_> =
        table.rows.iter().map(|row| cell_lines(row, &fit, row_weight(row.kind))).collect();
    let heights: Vec<f64> = all_lines.iter().map(|lines| row_height(lines, &fit)).collect();
    for (index, (row, lines)) in table.rows.iter().zip(&all_lines).enumerate() {
        let height = heights[index];
        // A heading stays with the row after it; the last rows of a table stay together.
        let left = heights.len() - index;
        let with_next = match row.kind {
            RowKind::Group => fit.size_pt * 3.0,
            _ if left == LAST_ROWS => heights[index + 1..].iter().sum(),
            _ => 0.0,
        };
        let with_next = if height + with_next < MOST_KEPT_PT { with_next } else { 0.0 };
        if flow.need(height + with_next) && index > 0 {
            draw_head(flow, table, &fit);
        }
        draw_row(flow, table, &fit, row.kind, lines, height);
    }
    flow.skip(6.0);
}

/// Height of the table on one page.
pub(super) fn height_pt(table: &Table, room_pt: f64) -> f64 {
    let fit = fit(table, room_pt);
    let rows =
        table.rows.iter().map(|row| row_height(&cell_lines(row, &fit, row_weight(row.kind)), &fit));
    head_height(table, &fit) + rows.sum::<f64>()
}

fn row_weight(kind: RowKind) -> Weight {
    if kind == RowKind::Plain { Weight::Book } else { Weight::Bold }
}

fn fit(table: &Table, room_pt: f64) -> Fit {
    let gaps = GAP_PT * table.columns.len().saturating_sub(1) as f64;
    let mut size_pt = LARGEST_PT;
    loop {
        let natural: Vec<f64> =
            (0..table.columns.len()).map(|c| natural_pt(table, c, size_pt)).collect();
        let total: f64 = natural.iter().sum::<f64>() + gaps;
        if total <= room_pt {
            // Spare room goes between the columns, within reason.
            let between = table.columns.len().saturating_sub(1).max(1) as f64;
            let gap_pt = (GAP_PT + (room_pt - total) / between).min(WIDE_GAP_PT);
            return Fit { widths_pt: natural, gap_pt, size_pt };
        }
        // Columns of words give way, the widest most.
        let least = LEAST_WORDS_EM * size_pt;
        let over = total - room_pt;
        let give: Vec<f64> = natural
            .iter()
            .zip(&table.columns)
            .map(|(&w, column)| if column.numbers { 0.0 } else { (w - least).max(0.0) })
            .collect();
        let can: f64 = give.iter().sum();
        if can >= over || size_pt <= SMALLEST_PT {
            let part = if can > 0.0 { (over / can).min(1.0) } else { 0.0 };
            let widths_pt: Vec<f64> =
                natural.iter().zip(&give).map(|(w, g)| w - g * part).collect();
            let total: f64 = widths_pt.iter().sum::<f64>() + gaps;
            let squeeze = if total > room_pt { (room_pt - gaps) / (total - gaps) } else { 1.0 };
            let widths_pt = widths_pt.iter().map(|w| w * squeeze).collect();
            return Fit { widths_pt, gap_pt: GAP_PT, size_pt };
        }
        size_pt -= 0.2;
    }
}

/// The width that the column's longest cell asks for; its head may wrap at spaces.
fn natural_pt(table: &Table, column: usize, size_pt: f64) -> f64 {
    let cells = table
        .rows
        .iter()
        .filter(|r| r.kind != RowKind::Group)
        .map(|r| text_width_pt(&r.cells[column], size_pt, row_weight(r.kind)));
    let Column { name, unit, .. } = &table.columns[column];
    let head = |text: &str| text_width_pt(text, size_pt, Weight::Bold);
    let heads = name.split_whitespace().chain([unit.as_str()]).map(head);
    // A long name stands in two lines rather than in many.
    let least = head(name) * 0.62;
    let empty = table.rows.iter().all(|r| r.cells[column].is_empty());
    let least = if empty { (6.5 * size_pt).max(least) } else { least };
    cells.chain(heads).fold(least, f64::max) + 0.5
}

fn cell_lines(row: &super::Row, fit: &Fit, weight: Weight) -> Vec<Vec<String>> {
    if row.kind == RowKind::Group {
        let all = fit.width_pt();
        return vec![wrap(&row.cells[0], fit.size_pt, weight, all)];
    }
    let cells = row.cells.iter().zip(&fit.widths_pt);
    cells.map(|(cell, &w)| wrap(cell, fit.size_pt, weight, w)).collect()
}

fn row_height(lines: &[Vec<String>], fit: &Fit) -> f64 {
    let most = lines.iter().map(Vec::len).max().unwrap_or(1) as f64;
    most * fit.size_pt * 1.25 + fit.size_pt * 0.5
}

fn head_lines(table: &Table, fit: &Fit) -> Vec<Vec<String>> {
    let columns = table.columns.iter().zip(&fit.widths_pt);
    columns.map(|(c, &w)| wrap(&c.name, fit.size_pt, Weight::Bold, w)).collect()
}

fn head_height(table: &Table, fit: &Fit) -> f64 {
    let names = head_lines(table, fit).iter().map(Vec::len).max().unwrap_or(1) as f64;
    let units = table.columns.iter().any(|c| !c.unit.is_empty());
    (names + if units { 1.0 } else { 0.0 }) * fit.size_pt * 1.2 + 6.0
}

fn draw_head(flow: &mut Flow, table: &Table, fit: &Fit) {
    let height = head_height(table, fit);
    let names = head_lines(table, fit);
    let most = names.iter().map(Vec::len).max().unwrap_or(1);
    let Pt(left, top) = flow.here();
    let width = fit.width_pt();
    let Some(page) = flow.page() else { return };
    let mut x = left;
    for ((column, lines), &w) in table.columns.iter().zip(&names).zip(&fit.widths_pt) {
        let at_x = if column.numbers { x + w } else { x };
        let anchor = if column.numbers { Anchor::End } else { Anchor::Start };
        let step = fit.size_pt * 1.2;
        let lead = most - lines.len();
        for (row, line) in lines.iter().enumerate() {
            let y = top + step * (lead + row) as f64 + fit.size_pt;
            page.text(
                Layer::Table,
                Text::new(Pt(at_x, y), fit.size_pt, line.clone()).bold().anchored(anchor),
            );
        }
        if !column.unit.is_empty() {
            let y = top + step * most as f64 + fit.size_pt;
            let unit = Text::new(Pt(at_x, y), fit.size_pt, column.unit.clone());
            page.text(Layer::Table, unit.ink(Ink::Grey).anchored(anchor));
        }
        x += w + fit.gap_pt;
    }
    let y = top + height - 2.0;
    page.line(Layer::Table, Stroke::solid(Ink::Black, 0.7), &[Pt(left, y), Pt(left + width, y)]);
    flow.skip(height);
}

fn draw_row(
    flow: &mut Flow,
    table: &Table,
    fit: &Fit,
    kind: RowKind,
    lines: &[Vec<String>],
    height: f64,
) {
    let Pt(left, top) = flow.here();
    let width = fit.width_pt();
    let Some(page) = flow.page() else { return };
    if kind == RowKind::Total {
        page.line(
            Layer::Table,
            Stroke::solid(Ink::Black, 0.5),
            &[Pt(left, top - 1.0), Pt(left + width, top - 1.0)],
        );
    }
    let mut x = left;
    for (index, cell) in lines.iter().enumerate() {
        let w = fit.widths_pt[index];
        let numbers = table.columns[index].numbers && kind != RowKind::Group;
        let (at_x, anchor) = if numbers { (x + w, Anchor::End) } else { (x, Anchor::Start) };
        for (row, line) in cell.iter().enumerate() {
            let y = top + fit.size_pt * (1.08 + 1.25 * row as f64);
            let text = Text {
                weight: row_weight(kind),
                ..Text::new(Pt(at_x, y), fit.size_pt, line.clone())
            };
            page.text(Layer::Table, text.anchored(anchor));
        }
        x += w + fit.gap_pt;
    }
    let y = top + height - 1.0;
    page.line(Layer::Table, Stroke::solid(Ink::Rule, 0.3), &[Pt(left, y), Pt(left + width, y)]);
    flow.skip(height);
}
