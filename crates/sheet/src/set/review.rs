//! The review checklist: what fails first, then what a person must look at; what conforms in a line
//! each section.

use super::{Block, Part, RowKind, Table};
use crate::input::{FindingRow, SheetInput};
use wetrun_verdict::Outcome;

/// Outcomes that are told, the gravest first, and the heading of each.
const TOLD: [(Outcome, &str); 4] = [
    (Outcome::Fail, "Fails"),
    (Outcome::NeedsDecision, "A person must decide"),
    (Outcome::Caution, "To look at"),
    (Outcome::NotShown, "Not shown in the site file"),
];

/// Nothing where no rule was run.
pub(super) fn part(input: &SheetInput<'_>) -> Option<Part> {
    if input.findings.is_empty() {
        return None;
    }
    let mut table = Table::new(&[
        ("Rule", "", false),
        ("Where", "", false),
        ("Value", "", true),
        ("Limit", "", true),
        ("In words, and basis", "", false),
        ("Seen by", "", false),
    ]);
    for (outcome, heading) in TOLD {
        let these: Vec<&FindingRow> =
            input.findings.iter().filter(|f| f.outcome == outcome).collect();
        if these.is_empty() {
            continue;
        }
        table.push([format!("{heading}: {}", these.len())], RowKind::Group);
        let rows = merged(&these);
        match outcome {
            Outcome::NotShown => not_shown(&rows, &mut table),
            _ => rows.iter().for_each(|found| tell(found, &mut table)),
        }
    }
    let stated: Vec<&FindingRow> = input.findings.iter().filter(|f| is_stated(f)).collect();
    if !stated.is_empty() {
        table.push([format!("Stated: read what it says: {}", stated.len())], RowKind::Group);
        merged(&stated).iter().for_each(|found| quote(found, &mut table));
    }
    let conforming = conforming(&input.findings);
    if !conforming.is_empty() {
        table.push(["Conforms, or does not apply".to_owned()], RowKind::Group);
        for (group, rules) in conforming {
            let cells = [&group, "", "", "", &rules, ""];
            table.row(cells.map(str::to_owned));
        }
    }
    let mut blocks: Vec<Block> = counts(input).map(Block::Text).into_iter().collect();
    if !table.rows.is_empty() {
        blocks.push(Block::Table(table));
    }
    Some(Part { title: "Review checklist".to_owned(), wide: true, blocks })
}

/// Whether something rests on the drawing's words alone: a person reads them.
fn is_stated(finding: &FindingRow) -> bool {
    finding.outcome == Outcome::Pass && finding.stated.is_some()
}

/// The drawing's own words.
fn quote(found: &[&FindingRow], table: &mut Table) {
    let mut said: Vec<&str> = Vec::new();
    for words in found.iter().filter_map(|f| f.stated.as_deref()) {
        if !said.contains(&words) {
            said.push(words);
        }
    }
    let words = said.iter().map(|words| format!("“{words}”")).collect::<Vec<_>>().join("; ");
    let cells = [&found[0].rule, &places(found), "", "", &words, ""];
    table.row(cells.map(str::to_owned));
}

/// A rule with one outcome, told in full.
fn tell(found: &[&FindingRow], table: &mut Table) {
    let first = found[0];
    let kind = if first.outcome == Outcome::Fail { RowKind::Total } else { RowKind::Plain };
    let single = |text: &String| if found.len() == 1 { text.clone() } else { String::new() };
    table.push(
        [
            first.rule.clone(),
            places(found),
            single(&first.value),
            single(&first.limit),
            words(found),
            String::new(),
        ],
        kind,
    );
}

/// What is not shown: a line for each section, rules with the places where they lack something.
fn not_shown(rows: &[Vec<&FindingRow>], table: &mut Table) {
    let mut sections: Vec<(&str, Vec<String>)> = Vec::new();
    for found in rows {
        let first = found[0];
        let at = places(found);
        let words =
            if at == "site" { first.rule.clone() } else { format!("{} ({at})", first.rule) };
        match sections.iter_mut().find(|(group, _)| *group == first.group) {
            Some((_, rules)) => rules.push(words),
            None => sections.push((&first.group, vec![words])),
        }
    }
    for (group, rules) in sections {
        let cells = [group, "", "", "", &rules.join(", "), ""];
        table.row(cells.map(str::to_owned));
    }
}

/// Rules that conform, and those that do not apply, in a line each section.
fn conforming(findings: &[FindingRow]) -> Vec<(String, String)> {
    let mut sections: Vec<(String, [Vec<&str>; 2])> = Vec::new();
    for finding in findings {
        let column = match finding.outcome {
            Outcome::Pass if is_stated(finding) => continue,
            Outcome::Pass => 0,
            Outcome::NotApplicable => 1,
            _ => continue,
        };
        if sections.iter().all(|(group, _)| *group != finding.group) {
            sections.push((finding.group.clone(), [Vec::new(), Vec::new()]));
        }
        let section = sections.iter_mut().find(|(group, _)| *group == finding.group);
        let Some((_, rules)) = section else { continue };
        if !rules[column].contains(&finding.rule.as_str()) {
            rules[column].push(&finding.rule);
        }
    }
    let line = |(group, [conform, idle]): (String, [Vec<&str>; 2])| {
        let idle = (!idle.is_empty()).then(|| format!("does not apply: {}", idle.join(", ")));
        let conform = (!conform.is_empty()).then(|| conform.join(", "));
        let words: Vec<String> = [conform, idle].into_iter().flatten().collect();
        (group, words.join("; "))
    };
    sections.into_iter().map(line).collect()
}

/// Where, each place once; a long list is cut with its count.
fn places(found: &[&FindingRow]) -> String {
    const MOST: usize = 12;
    let mut all: Vec<&str> = Vec::new();
    for finding in found {
        if !all.contains(&finding.place.as_str()) {
            all.push(&finding.place);
        }
    }
    let more = all.len().saturating_sub(MOST);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("{}{more}", all[..all.len().min(MOST)].join(", "))
}

/// Findings of one rule with one outcome and one basis stand together, where they first came up.
fn merged<'a>(findings: &[&'a FindingRow]) -> Vec<Vec<&'a FindingRow>> {
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

/// What the findings of a row say, each message once with its places, what mends it, and their
/// basis.
fn words(found: &[&FindingRow]) -> String {
    let mut said: Vec<(String, Vec<&FindingRow>)> = Vec::new();
    for finding in found {
        let mend = finding.mend.as_ref().map_or(String::new(), |m| format!("; mend: {}", m.trim()));
        let message = format!("{}{mend}", finding.message.trim());
        match said.iter_mut().find(|(words, _)| *words == message) {
            Some((_, of)) => of.push(finding),
            None => said.push((message, vec![finding])),
        }
    }
    let message = match said.as_slice() {
        [(message, _)] => message.clone(),
        many => {
            let one =
                |(message, of): &(String, Vec<&FindingRow>)| format!("{}: {message}", places(of));
            many.iter().map(one).collect::<Vec<_>>().join("; ")
        }
    };
    let basis = found[0].basis.trim();
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

/// How many items came out how, in the words of every report; nothing where no rule was run.
pub(super) fn counts(input: &SheetInput<'_>) -> Option<String> {
    let order = [
        Outcome::Fail,
        Outcome::NotShown,
        Outcome::NeedsDecision,
        Outcome::Caution,
        Outcome::Pass,
        Outcome::NotApplicable,
    ];
    let said: Vec<String> = order
        .into_iter()
        .filter_map(|outcome| {
            let these = input.findings.iter().filter(|f| f.outcome == outcome && !is_stated(f));
            let count = these.count();
            (count > 0).then(|| format!("{} {count}", outcome.words()))
        })
        .collect();
    let stated = input.findings.iter().filter(|f| is_stated(f)).count();
    let stated = if stated > 0 { format!(", only stated {stated}") } else { String::new() };
    (!said.is_empty()).then(|| format!("Review: {}. {}{stated}.", input.review, said.join(", ")))
}
