//! The findings: what fails first, then what somebody should look at, then how much passes.

use super::entry;
use crate::render::table::TITLE;
use anstyle::{AnsiColor, Style};
use wetrun_checks::{Finding, Outcome};

/// So many failures of one rule are told in full; the rest are named.
const FAILURES_IN_FULL: usize = 4;
/// So many findings of one rule that do not fail are told in full.
const OTHERS_IN_FULL: usize = 2;
/// The column where a finding's words start.
const COLUMN: usize = 13;

/// All findings but those that pass, which are counted.
pub(crate) fn list(findings: &[Finding]) -> String {
    if findings.is_empty() {
        return String::new();
    }
    let mut out = format!("{TITLE}FINDINGS{TITLE:#}\n");
    let order = [Outcome::Fail, Outcome::Caution, Outcome::NeedsDecision, Outcome::NotShown];
    for outcome in order {
        let these = || findings.iter().filter(|f| f.outcome == outcome);
        let mut rules: Vec<&str> = Vec::new();
        for finding in these() {
            if !rules.contains(&finding.rule) {
                rules.push(finding.rule);
            }
        }
        for rule in rules {
            let of_rule: Vec<&Finding> = these().filter(|f| f.rule == rule).collect();
            out.push_str(&told(&of_rule, outcome));
        }
    }
    let passed: Vec<&Finding> = findings.iter().filter(|f| f.outcome == Outcome::Pass).collect();
    if !passed.is_empty() {
        out.push_str(&entry("pass", COLUMN, &counted(&passed)));
    }
    out
}

fn told(findings: &[&Finding], outcome: Outcome) -> String {
    let style = match outcome {
        Outcome::Fail => Style::new().fg_color(Some(AnsiColor::Red.into())),
        Outcome::Caution | Outcome::NeedsDecision => {
            Style::new().fg_color(Some(AnsiColor::Yellow.into()))
        }
        _ => Style::new(),
    };
    let mut out = String::new();
    let most = if outcome == Outcome::Fail { FAILURES_IN_FULL } else { OTHERS_IN_FULL };
    let full = if findings.len() > most { most - 1 } else { findings.len() };
    for finding in &findings[..full] {
        let words = format!("{} at {}: {}", finding.rule, finding.at, finding.message);
        let line = entry(outcome.word(), COLUMN, &words);
        let line = line.replacen(outcome.word(), &format!("{style}{}{style:#}", outcome.word()), 1);
        out.push_str(&line);
        if let Some(mend) = &finding.mend {
            out.push_str(&entry("", COLUMN, &format!("mend: {mend}")));
        }
    }
    if full < findings.len() {
        let tags: Vec<&str> = findings[full..].iter().map(|f| f.at.as_str()).collect();
        out.push_str(&entry("", COLUMN, &format!("the same at {}", tags.join(", "))));
    }
    if let Some(first) = findings.first().filter(|f| !f.basis.is_empty()) {
        out.push_str(&entry("", COLUMN, &format!("basis: {}", first.basis)));
    }
    out
}

/// `freeboard 6, no-spill 6`.
fn counted(findings: &[&Finding]) -> String {
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for finding in findings {
        match counts.iter_mut().find(|(rule, _)| *rule == finding.rule) {
            Some((_, count)) => *count += 1,
            None => counts.push((finding.rule, 1)),
        }
    }
    let words: Vec<String> = counts.iter().map(|(rule, count)| format!("{rule} {count}")).collect();
    words.join(", ")
}
