//! The review for people: what it comes to, what fails, what is not shown, then the rest folded.

use super::{entry, verdict};
use crate::render::show::Show;
use crate::render::table::TITLE;
use crate::render::wrap::{width, wrap};
use crate::review::Review;
use crate::solved::Solved;
use anstyle::{AnsiColor, Style};
use std::collections::BTreeMap;
use wetrun_checks::{CAUTIONS, Finding, Outcome, Section, Standing};

/// The column where the words of an item start.
const COLUMN: usize = 14;
/// The column where what a drawing states starts.
const NAMES: usize = 26;
/// The column where what is said of one place starts.
const PLACE: usize = 16;

/// Outcomes that are told in full, the gravest first.
const TOLD: [Outcome; 4] =
    [Outcome::Fail, Outcome::NotShown, Outcome::NeedsDecision, Outcome::Caution];

/// The whole report: what fails before all else, what conforms folded by section.
pub fn review(solved: &Solved, review: &Review) -> String {
    let Review { findings, standing } = review;
    let mut out = summary(solved, findings, *standing);
    let all: Vec<&Finding> = findings.iter().collect();
    for outcome in TOLD {
        let rules = rules_of(&all, outcome);
        if !rules.is_empty() {
            out.push('\n');
        }
        for rule in rules {
            let these: Vec<&Finding> =
                all.iter().filter(|f| f.outcome == outcome && f.rule == rule).copied().collect();
            out.push_str(&told(rule, outcome, &these));
        }
    }
    out.push_str(&stated(findings));
    out.push_str(&folded(&all));
    out.push_str(&format!("\n{TITLE}Cautions{TITLE:#}\n"));
    for caution in CAUTIONS {
        out.push_str(&format!("  - {}\n", wrap(caution, 4, 4)));
    }
    let todo = match findings.iter().any(|f| !f.missing.is_empty()) {
        true => "`wetrun review --todo SITE` prints the keys that would show what is not shown. ",
        false => "",
    };
    let more = format!(
        "{todo}`wetrun explain RULE` says what a rule checks, why, and where its threshold comes from."
    );
    out.push_str(&format!("\n{}\n", wrap(&more, 0, 0)));
    out
}

/// What the review comes to with its counts, and where the water stands.
fn summary(solved: &Solved, findings: &[Finding], standing: Standing) -> String {
    let count = |outcome| findings.iter().filter(|f| f.outcome == outcome).count();
    let color = match standing {
        Standing::Fails => AnsiColor::Red,
        Standing::Incomplete => AnsiColor::Yellow,
        Standing::Conforms => AnsiColor::Green,
    };
    let word = standing.words();
    let style = Style::new().bold().fg_color(Some(color.into()));
    let items = |n: usize, one: &str, many: &str| match n {
        0 => None,
        1 => Some(format!("1 {one}")),
        n => Some(format!("{n} {many}")),
    };
    let said = findings.iter().filter(|f| f.stated.is_some()).count();
    let words: Vec<String> = [
        items(count(Outcome::Fail), "item fails", "items fail"),
        items(count(Outcome::NotShown), "not shown", "not shown"),
        items(count(Outcome::NeedsDecision), "to decide", "to decide"),
        items(count(Outcome::Caution), "to look at", "to look at"),
        items(count(Outcome::Pass) - said, "conforms", "conform"),
        items(said, "only stated", "only stated"),
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

/// The drawing's own words, for the person who reads them.
fn stated(findings: &[Finding]) -> String {
    let said = findings.iter().filter(|f| f.outcome == Outcome::Pass);
    let said: Vec<(&Finding, &str)> =
        said.filter_map(|f| Some((f, f.stated.as_deref()?))).collect();
    if said.is_empty() {
        return String::new();
    }
    let mut out = format!("\n{TITLE}Stated: read what it says{TITLE:#}\n");
    let mut told: Vec<(&str, &str, Vec<&str>)> = Vec::new();
    for (finding, words) in said {
        match told.iter_mut().find(|(rule, same, _)| *rule == finding.rule && *same == words) {
            Some((_, _, places)) => places.push(&finding.at),
            None => told.push((finding.rule, words, vec![&finding.at])),
        }
    }
    for (rule, words, places) in told {
        let words = match places.as_slice() {
            ["site"] => format!("\"{words}\""),
            places => format!("{}: \"{words}\"", places.join(", ")),
        };
        out.push_str(&entry(rule, NAMES, &words));
    }
    out
}

/// What conforms, and what there is nothing to judge of: a line for each section.
fn folded(findings: &[&Finding]) -> String {
    let mut out = String::new();
    let shown = |f: &&&Finding| f.stated.is_none();
    for outcome in [Outcome::Pass, Outcome::NotApplicable] {
        let mut lines = String::new();
        for section in Section::ALL {
            let of_section = |f: &&&Finding| {
                wetrun_checks::rule(f.rule).is_some_and(|rule| rule.section == section)
            };
            let these: Vec<&Finding> =
                findings.iter().filter(of_section).filter(shown).copied().collect();
            let rules = rules_of(&these, outcome);
            if !rules.is_empty() {
                lines.push_str(&entry(section.letter(), 5, &rules.join(", ")));
            }
        }
        if !lines.is_empty() {
            out.push_str(&format!("\n{TITLE}{}{TITLE:#}\n{lines}", heading(outcome)));
        }
    }
    out
}

fn heading(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Pass => "Conforms",
        _ => "Not applicable",
    }
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
fn told(rule: &str, outcome: Outcome, findings: &[&Finding]) -> String {
    let word = outcome.words();
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
