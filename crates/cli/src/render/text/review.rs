//! The review for people: what it comes to, then the checklist by section, then the cautions.

use super::{entry, verdict};
use crate::outcome::Status;
use crate::render::show::Show;
use crate::render::table::TITLE;
use crate::render::wrap::{width, wrap};
use crate::solved::Solved;
use anstyle::{AnsiColor, Style};
use std::collections::BTreeMap;
use wetrun_checks::{CAUTIONS, Finding, Outcome, Section};

/// The column where the words of an item start.
const COLUMN: usize = 14;
/// The column where what is said of one place starts.
const PLACE: usize = 16;

/// Outcomes that are told in full, the gravest first, and the words for them.
const TOLD: [(Outcome, &str); 4] = [
    (Outcome::Fail, "FAILS"),
    (Outcome::NotShown, "not shown"),
    (Outcome::NeedsDecision, "decide"),
    (Outcome::Caution, "caution"),
];

/// The whole report.
pub(crate) fn review(solved: &Solved, findings: &[Finding], status: Status) -> String {
    let mut out = summary(solved, findings, status);
    for section in Section::ALL {
        let of_section: Vec<&Finding> = findings
            .iter()
            .filter(|f| wetrun_checks::rule(f.rule).is_some_and(|r| r.section == section))
            .collect();
        out.push('\n');
        out.push_str(&format!("{TITLE}{}{TITLE:#}\n", section.heading()));
        out.push_str(&checklist(&of_section));
    }
    out.push_str(&format!("\n{TITLE}Cautions{TITLE:#}\n"));
    for caution in CAUTIONS {
        out.push_str(&format!("  - {}\n", wrap(caution, 4, 4)));
    }
    let more = "`wetrun explain RULE` says what a rule checks, why, and where its threshold \
                comes from.";
    out.push_str(&format!("\n{}\n", wrap(more, 0, 0)));
    out
}

/// The verdict with its counts, and where the water stands.
fn summary(solved: &Solved, findings: &[Finding], status: Status) -> String {
    let count = |outcome| findings.iter().filter(|f| f.outcome == outcome).count();
    let (word, color) = match status {
        Status::Fail => ("DOES NOT CONFORM", AnsiColor::Red),
        Status::Pass | Status::Refused => ("CONFORMS", AnsiColor::Green),
    };
    let style = Style::new().bold().fg_color(Some(color.into()));
    let items = |n: usize, one: &str, many: &str| match n {
        0 => None,
        1 => Some(format!("1 {one}")),
        n => Some(format!("{n} {many}")),
    };
    let words: Vec<String> = [
        items(count(Outcome::Fail), "item fails", "items fail"),
        items(count(Outcome::NotShown), "not shown", "not shown"),
        items(count(Outcome::NeedsDecision), "to decide", "to decide"),
        items(count(Outcome::Caution), "to look at", "to look at"),
        items(count(Outcome::Pass), "conforms", "conform"),
    ]
    .into_iter()
    .flatten()
    .collect();
    let words = words.join(", ");
    let revision = solved.facts.revision.as_deref();
    let revision = revision.map_or(String::new(), |r| format!(", revision {r}"));
    let job = format!("{}{revision}", solved.site.name);
    let show = Show { main: solved.site.units, both: false };
    let mut out = format!("{style}{word}{style:#}  {}\n", wrap(&words, width(word) + 2, 2));
    out.push_str(&format!("  {}\n", wrap(&job, 2, 2)));
    out.push_str(&format!("  {}\n", wrap(&verdict::cause(solved, show), 2, 2)));
    out
}

/// A section: each outcome with its rules, then the rules that conform or do not apply.
fn checklist(findings: &[&Finding]) -> String {
    let mut out = String::new();
    for (outcome, word) in TOLD {
        for rule in rules_of(findings, outcome) {
            let these: Vec<&Finding> = findings
                .iter()
                .filter(|f| f.outcome == outcome && f.rule == rule)
                .copied()
                .collect();
            out.push_str(&told(rule, word, outcome, &these));
        }
    }
    let failing: Vec<&str> =
        TOLD.iter().flat_map(|(outcome, _)| rules_of(findings, *outcome)).collect();
    for (outcome, word) in [(Outcome::Pass, "conforms"), (Outcome::NotApplicable, "n/a")] {
        let rules: Vec<String> = rules_of(findings, outcome)
            .into_iter()
            .map(|rule| {
                let count =
                    findings.iter().filter(|f| f.rule == rule && f.outcome == outcome).count();
                if failing.contains(&rule) { format!("{rule} ({count})") } else { rule.to_owned() }
            })
            .collect();
        if !rules.is_empty() {
            out.push_str(&entry(word, COLUMN, &rules.join(", ")));
        }
    }
    out
}

/// Rules with a finding of an outcome, in their order.
fn rules_of<'a>(findings: &[&'a Finding], outcome: Outcome) -> Vec<&'a str> {
    let mut rules: Vec<&str> = Vec::new();
    for finding in findings.iter().filter(|f| f.outcome == outcome) {
        if !rules.contains(&finding.rule) {
            rules.push(finding.rule);
        }
    }
    rules
}

/// One rule's findings of one outcome: places that say the same stand together.
fn told(rule: &str, word: &str, outcome: Outcome, findings: &[&Finding]) -> String {
    let style = match outcome {
        Outcome::Fail => Style::new().bold().fg_color(Some(AnsiColor::Red.into())),
        _ => Style::new().fg_color(Some(AnsiColor::Yellow.into())),
    };
    let mut out = entry(word, COLUMN, rule);
    out = out.replacen(word, &format!("{style}{word}{style:#}"), 1);
    let mut said: Vec<(&str, Option<&str>, Vec<&str>)> = Vec::new();
    let mut known: BTreeMap<(&str, Option<&str>), usize> = BTreeMap::new();
    for finding in findings {
        let mend = finding.mend.as_deref();
        match known.get(&(finding.message.as_str(), mend)) {
            Some(&index) => said[index].2.push(&finding.at),
            None => {
                known.insert((&finding.message, mend), said.len());
                said.push((&finding.message, mend, vec![&finding.at]));
            }
        }
    }
    for (message, mend, places) in &said {
        let words = match places.as_slice() {
            ["site"] => (*message).to_owned(),
            places => format!("{}: {message}", places.join(", ")),
        };
        out.push_str(&indented(&words));
        if let Some(mend) = mend {
            out.push_str(&indented(&format!("mend: {mend}")));
        }
    }
    if let Some(first) = findings.first()
        && outcome != Outcome::NotShown
    {
        out.push_str(&indented(&format!("basis: {}", first.basis)));
    }
    out
}

fn indented(words: &str) -> String {
    format!("{}{}\n", " ".repeat(COLUMN), wrap(words, COLUMN, PLACE))
}
