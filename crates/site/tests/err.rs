//! Files with faults: each fault reported once, on its line, in words that stay as they are.
//!
//! A line that has a fault is marked with `#!` in the file, so that places are checked against
//! the hand that wrote the fault. A folder is named after the code of its fault, except those
//! of many faults. `UPDATE_EXPECT=1` writes the wording anew.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use wetrun_site::{Diagnostics, Severity};

fn cases() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/err");
    let mut cases: Vec<_> = fs::read_dir(root).unwrap().map(|e| e.unwrap().path()).collect();
    cases.retain(|case| case.join("site.yaml").exists());
    cases.sort();
    cases
}

fn faults(case: &Path) -> (String, Diagnostics) {
    let text = fs::read_to_string(case.join("site.yaml")).unwrap();
    let faults = wetrun_site::read(&text, "site.yaml").expect_err(&case.display().to_string());
    (text, faults)
}

#[test]
fn the_cases_are_there() {
    assert!(cases().len() >= 70);
}

#[test]
fn every_fault_is_reported_on_its_line() {
    for case in cases() {
        let (text, faults) = faults(&case);
        let marked: BTreeSet<usize> = text
            .lines()
            .enumerate()
            .filter(|(_, line)| line.ends_with("#!"))
            .map(|(index, _)| index + 1)
            .collect();
        let errors = faults.list().iter().filter(|fault| fault.severity == Severity::Error);
        let found: BTreeSet<usize> = errors.map(|fault| fault.line).collect();
        if !marked.is_empty() {
            assert_eq!(found, marked, "{}: lines found and marked", case.display());
        }
    }
}

#[test]
fn every_fault_is_of_the_sort_its_folder_names() {
    for case in cases() {
        let name = case.file_name().unwrap().to_string_lossy().into_owned();
        let (_, faults) = faults(&case);
        for fault in faults.list() {
            assert!(fault.line >= 1 && fault.column >= 1 && !fault.message.is_empty(), "{name}");
            if !name.starts_with("many") && fault.severity == Severity::Error {
                assert!(name.starts_with(fault.code.name()), "{name}: {fault:?}");
            }
        }
    }
}

#[test]
fn the_wording_is_as_agreed() {
    let mut differing = Vec::new();
    for case in cases() {
        let rendered = faults(&case).1.render(false);
        let expected = case.join("stderr.txt");
        if std::env::var_os("UPDATE_EXPECT").is_some() {
            fs::write(expected, &rendered).unwrap();
        } else if fs::read_to_string(expected).unwrap_or_default() != rendered {
            differing.push(format!("{}\n{rendered}", case.display()));
        }
    }
    assert!(differing.is_empty(), "{}", differing.join("\n"));
}
