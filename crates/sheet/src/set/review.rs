//! The review checklist: each rule, how it came out, and why.

use super::{Block, Part, RowKind, Table};
use crate::input::{FindingRow, Outcome, SheetInput};

/// Nothing where no rule was run.
pub(super) fn part(input: &SheetInput<'_>) -> Option<Part> {
    if input.findings.is_empty() {
        return None;
    }
    let mut table = Table::new(&[
        ("Result", "", false),
        ("Rule", "", false),
        ("Where", "", false),
        ("Value", "", true),
        ("Limit", "", true),
        ("In words, and basis", "", false),
        ("Seen by", "", false),
    ]);
    let mut group = "";
    for found in merged(&input.findings) {
        let first = found[0];
        if first.group != group {
            group = &first.group;
            table.push([group.to_owned()], RowKind::Group);
        }
        let kind = if first.outcome == Outcome::Fail { RowKind::Total } else { RowKind::Plain };
        let places: Vec<&str> = found.iter().map(|f| f.place.as_str()).collect();
        let single = |text: &String| if found.len() == 1 { text.clone() } else { String::new() };
        table.push(
            [
                first.outcome.words().to_owned(),
                first.rule.clone(),
                places.join(", "),
                single(&first.value),
                single(&first.limit),
                words(&found),
                String::new(),
            ],
            kind,
        );
    }
    let blocks = vec![Block::Text(counts(input)), Block::Table(table)];
    Some(Part { title: "Review checklist".to_owned(), wide: true, blocks })
}

/// Findings of one rule with one outcome and one basis stand together, where they first came up.
fn merged(findings: &[FindingRow]) -> Vec<Vec<&FindingRow>> {
    let mut rows: Vec<Vec<&FindingRow>> = Vec::new();
    for finding in findings {
        let same = |row: &&mut Vec<&FindingRow>| {
            let first = row[0];
            first.group == finding.group
                && first.rule == finding.rule
                && first.outcome == finding.outcome
                && first.basis == finding.basis
        };
        // Rules come in order, so a match is among the last few rows.
        match rows.iter_mut().rev().take(8).find(same) {
            Some(row) => row.push(finding),
            None => rows.push(vec![finding]),
        }
    }
    rows
}

/// What the findings of a row say, each message once, and their basis.
fn words(found: &[&FindingRow]) -> String {
    let first = found[0];
    let alike = found.iter().all(|f| f.message == first.message);
    let message = if alike {
        first.message.trim().to_owned()
    } else {
        let each: Vec<String> =
            found.iter().map(|f| format!("{}: {}", f.place, f.message.trim())).collect();
        each.join("; ")
    };
    let basis = first.basis.trim();
    let stop = if message.is_empty() || message.ends_with(['.', '!', '?']) { "" } else { "." };
    let basis = if basis.is_empty() { String::new() } else { format!(" Basis: {basis}") };
    capital(format!("{message}{stop}{basis}").trim())
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        // A tag keeps its letters as they are.
        Some(first) if !text.starts_with(|c: char| c.is_uppercase()) => {
            first.to_uppercase().collect::<String>() + chars.as_str()
        }
        _ => text.to_owned(),
    }
}

fn counts(input: &SheetInput<'_>) -> String {
    let all = [
        (Outcome::Fail, "not conforming"),
        (Outcome::NeedsDecision, "waiting for a decision"),
        (Outcome::Caution, "with a caution"),
        (Outcome::NotShown, "not shown"),
        (Outcome::Pass, "conforming"),
        (Outcome::NotApplicable, "that do not apply"),
    ];
    let said: Vec<String> = all
        .into_iter()
        .filter_map(|(outcome, words)| {
            let count = input.findings.iter().filter(|f| f.outcome == outcome).count();
            (count > 0).then(|| format!("{count} {words}"))
        })
        .collect();
    format!("{} items: {}.", input.findings.len(), said.join(", "))
}
