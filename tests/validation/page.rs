//! `docs/validation.md`: every value beside its source, and the largest difference of each group.

use std::fmt::Write;

use super::Compared;
use super::case::{Case, Mark, Value};
use crate::support::root;

const HEAD: &str = "\
# The hydraulics, value by value

<!-- Written by `UPDATE_EXPECT=1 cargo test --test main validation`; the same test compares it. -->

Every value below is what a source says beside what this program says for the same inputs. The inputs,
the values with their tolerances and the sources stand in `fixtures/validation`, one folder a case.

How a value came here:

* *read*: in the document named.
* *second-hand*: in a copy, a transcription or a quotation of it.
* *recomputed*: worked anew for this test, with the library and version named, or by hand.
* *recalled*: from memory; to be read at its source before anything rests on it.
* *common practice*: what the trade does, without a source.

A value agrees when ours rounds to it as it is printed, unless its note says how near it need be. A value
marked **wrong** is known to be misprinted, unconverged or rounded on the way; it is shown and not met, and
the exact one stands beside it and is.
";

/// The whole page.
pub(super) fn page(all: &[(Case, Vec<Compared>)]) -> String {
    let mut groups: Vec<&str> = Vec::new();
    for (case, _) in all {
        if !groups.contains(&case.group.as_str()) {
            groups.push(&case.group);
        }
    }
    groups.sort_unstable();
    let mut page = HEAD.to_owned();
    page += "\n## Largest difference of each group\n\n";
    page += "Of the values that are neither marked wrong nor given only for comparison within a wider tolerance\n";
    page += "(over 0.1 %); a value that is 0 counts with nothing.\n\n";
    page += "| group | values | largest difference | at | at the most explained by its printed digits |\n";
    page += "| --- | ---: | ---: | --- | ---: |\n";
    for group in &groups {
        let (mut count, mut worst) = (0, None::<(f64, f64, String)>);
        for (case, compared) in all.iter().filter(|(case, _)| case.group == *group) {
            for one in compared {
                count += 1;
                let near = one.value.within <= 1e-3 * one.value.number.abs();
                if one.value.flaw.is_some() || !near {
                    continue;
                }
                let share = one.share().abs();
                if worst.as_ref().is_none_or(|(most, ..)| share > *most) {
                    let digits = one.value.within / one.value.number.abs();
                    let at = format!("{} {} {}", case.name, one.value.row, one.value.quantity);
                    worst = Some((share, digits, at.replace("  ", " ")));
                }
            }
        }
        let (share, digits, at) = worst.unwrap_or((0.0, 0.0, String::from("bounds only")));
        let _ = writeln!(
            page,
            "| {group} | {count} | {} | {at} | {} |",
            percent(share),
            percent(digits)
        );
    }
    for group in &groups {
        let _ = writeln!(page, "\n## {group}");
        for (case, compared) in all.iter().filter(|(case, _)| case.group == *group) {
            let title = title(&case.name);
            let _ = writeln!(page, "\n### {title}\n\n`{}`: {}\n", case.name, case.source);
            page += "| quantity | published | ours | difference | how | remarks |\n";
            page += "| --- | ---: | ---: | ---: | --- | --- |\n";
            for one in compared {
                row(&mut page, one);
            }
        }
    }
    page += "\n## Other checks\n\n";
    page += include_str!("elsewhere.md");
    page
}

fn row(page: &mut String, one: &Compared) {
    let Value { row, quantity, printed, unit, mark, by, flaw, note, within, .. } = &one.value;
    let what = [row.as_str(), quantity.as_str()].into_iter().filter(|w| !w.is_empty());
    let what = what.collect::<Vec<_>>().join(", ");
    let how = match (mark, by) {
        (Mark::Recomputed, Some(by)) => format!("recomputed: {by}"),
        (mark, Some(by)) => format!("{}: {by}", mark.words()),
        (mark, None) => mark.words().to_owned(),
    };
    let difference = if one.value.number == 0.0 {
        format!("{} {unit}", short(one.off()))
    } else {
        percent(one.share())
    };
    let default = 0.5 * digit(printed);
    let tolerance = (flaw.is_none() && *within > default * 1.001)
        .then(|| format!("within {} {unit}", short(*within)));
    let wrong = flaw.as_ref().map(|flaw| format!("**wrong**: {flaw}"));
    let remarks = [wrong, tolerance, note.clone()].into_iter().flatten().collect::<Vec<_>>();
    let _ = writeln!(
        page,
        "| {what} | {printed} {unit} | {} | {} | {how} | {} |",
        like(one.ours, printed),
        difference.trim(),
        remarks.join("; ").replace(" ;", ";"),
    );
}

/// Ours with two digits more than the source prints.
fn like(ours: f64, printed: &str) -> String {
    let decimals = printed.split_once('.').map_or(0, |(_, digits)| digits.len());
    let text = format!("{ours:.*}", decimals + 2);
    if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        return String::from("0");
    }
    text
}

fn digit(printed: &str) -> f64 {
    let decimals = printed.split_once('.').map_or(0, |(_, digits)| digits.len());
    10f64.powi(-i32::try_from(decimals).unwrap())
}

/// A share in per cent with two digits; below 1e-9 it is none.
fn percent(share: f64) -> String {
    if share.abs() < 1e-9 { String::from("0") } else { format!("{} %", short(share * 100.0)) }
}

/// Two significant digits, plain where that is short.
fn short(value: f64) -> String {
    if value == 0.0 {
        return String::from("0");
    }
    let rounded: f64 = format!("{value:.1e}").parse().unwrap();
    if rounded.abs() >= 1e-4 { format!("{rounded}") } else { format!("{rounded:e}") }
}

fn title(name: &str) -> String {
    let path = root().join("fixtures/validation").join(name).join("SOURCE.md");
    let text = std::fs::read_to_string(path).unwrap();
    text.lines().next().unwrap().trim_start_matches("# ").to_owned()
}
