//! The hydraulics against published pages, other libraries and numbers worked by hand: every
//! folder of `fixtures/validation`, and `docs/validation.md` made from the same data.
//!
//! A folder holds what goes in (`inputs.yaml` for a law or a network, `site.yaml` for the
//! program), what should come out (`expected.yaml`) and where that stands (`SOURCE.md`).
//! `UPDATE_EXPECT=1 cargo test --test main validation` writes the page anew.

mod case;
mod laws;
mod network;
mod page;
mod site;

use crate::support::{cases, expect, root};
use case::{Case, Mark, Value};

/// An expected value and ours.
struct Compared {
    value: Value,
    ours: f64,
}

impl Compared {
    /// Ours less the source's, in the source's unit.
    fn off(&self) -> f64 {
        self.ours - self.value.number
    }

    /// The difference as a share of the value.
    fn share(&self) -> f64 {
        self.off() / self.value.number
    }

    fn agrees(&self) -> bool {
        self.off().abs() <= self.value.within * (1.0 + 1e-6)
    }
}

fn compared(case: &Case) -> Vec<Compared> {
    let results = case.results();
    let ours = |value: &Value| {
        let found = results
            .get(&value.row)
            .and_then(|row| row.get(&value.quantity))
            .unwrap_or_else(|| panic!("{}: no `{}` in `{}`", case.name, value.quantity, value.row));
        found / case::unit(&value.unit)
    };
    case.values.iter().map(|value| Compared { value: value.clone(), ours: ours(value) }).collect()
}

/// Every expected value is met, to the last printed digit unless the file says why not. A value
/// with a known flaw is shown but not met; then an exact one for the same thing stands beside it.
#[test]
fn every_value_is_met() {
    let mut values = 0;
    let mut missed = Vec::new();
    for name in cases("validation") {
        let case = Case::read(&name);
        let compared = compared(&case);
        for one in &compared {
            values += 1;
            let Value { row, quantity, number, within, .. } = &one.value;
            if let Some(flaw) = &one.value.flaw {
                let same = |other: &&Compared| {
                    (&other.value.row, &other.value.quantity) == (row, quantity)
                        && other.value.flaw.is_none()
                };
                if !compared.iter().any(|other| same(&other)) {
                    missed.push(format!("{name} {row} {quantity}: {flaw}, but no exact value"));
                }
            } else if !one.agrees() {
                let ours = one.ours;
                missed.push(format!("{name} {row} {quantity}: {ours} for {number} ± {within:e}"));
            }
        }
    }
    assert!(missed.is_empty(), "{} of {values} values:\n{}", missed.len(), missed.join("\n"));
    assert!(values >= 300, "only {values} values");
}

/// Every source says its title.
#[test]
fn every_case_names_its_source() {
    for name in cases("validation") {
        let folder = root().join("fixtures/validation").join(&name);
        let source = std::fs::read_to_string(folder.join("SOURCE.md"))
            .unwrap_or_else(|_| panic!("{name} has no SOURCE.md"));
        assert!(source.starts_with("# ") && source.lines().count() >= 3, "{name}: {source}");
        let case = Case::read(&name);
        assert!(!case.source.is_empty(), "{name}");
        for value in &case.values {
            let named = value.by.is_some() || value.mark != Mark::Recomputed;
            assert!(named, "{name}: recomputed with what?");
        }
    }
}

#[test]
fn the_page_is_up_to_date() {
    let all: Vec<(Case, Vec<Compared>)> = cases("validation")
        .into_iter()
        .map(|name| {
            let case = Case::read(&name);
            let compared = compared(&case);
            (case, compared)
        })
        .collect();
    expect(&root().join("docs/validation.md"), &page::page(&all));
}
