//! The review checklist: each rule, how it came out, and why.

use super::{Block, Part, RowKind, Table};
use crate::input::{Outcome, SheetInput};

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
    for finding in &input.findings {
        if finding.group != group {
            group = &finding.group;
            table.push([group.to_owned()], RowKind::Group);
        }
        let words = match (finding.message.trim(), finding.basis.trim()) {
            (message, "") => message.to_owned(),
            ("", basis) => format!("Basis: {basis}"),
            (message, basis) => {
                let stop = if message.ends_with(['.', '!', '?']) { "" } else { "." };
                format!("{message}{stop} Basis: {basis}")
            }
        };
        let kind = if finding.outcome == Outcome::Fail { RowKind::Total } else { RowKind::Plain };
        table.push(
            [
                finding.outcome.words().to_owned(),
                finding.rule.clone(),
                finding.place.clone(),
                finding.value.clone(),
                finding.limit.clone(),
                words,
                String::new(),
            ],
            kind,
        );
    }
    let blocks = vec![Block::Text(counts(input)), Block::Table(table)];
    Some(Part { title: "Review checklist".to_owned(), wide: true, blocks })
}

fn counts(input: &SheetInput<'_>) -> String {
    let all = [
        Outcome::Fail,
        Outcome::NeedsDecision,
        Outcome::Caution,
        Outcome::NotShown,
        Outcome::Pass,
        Outcome::NotApplicable,
    ];
    let said: Vec<String> = all
        .into_iter()
        .filter_map(|outcome| {
            let count = input.findings.iter().filter(|f| f.outcome == outcome).count();
            (count > 0).then(|| format!("{count} {}", outcome.words().to_lowercase()))
        })
        .collect();
    format!("{} items: {}.", input.findings.len(), said.join(", "))
}
