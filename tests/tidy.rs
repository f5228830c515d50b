//! Rules of the repository that no compiler holds.

use crate::support::{files, root};
use std::fs::read_to_string;

/// Which crate may lean on which: the arrows of `docs/architecture.md`.
const ARROWS: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("network", &["units"]),
    ("catalogue", &["units", "network"]),
    ("solver", &["units", "network"]),
    ("facts", &["units", "network"]),
    ("site", &["units", "network", "catalogue", "facts", "rain"]),
    ("verdict", &["units", "network", "solver"]),
    ("checks", &["units", "network", "catalogue", "solver", "verdict", "facts"]),
    ("design", &["units", "network", "catalogue", "solver", "verdict"]),
    ("rain", &["units"]),
    ("sheet", &["units", "network", "solver", "verdict", "facts"]),
    ("year", &["units", "network", "solver", "rain"]),
    ("motion", &["units", "network", "solver", "rain"]),
    ("doubt", &["units", "network", "solver", "verdict", "facts"]),
    (
        "answers",
        &[
            "units",
            "network",
            "catalogue",
            "solver",
            "verdict",
            "facts",
            "site",
            "checks",
            "design",
            "sheet",
            "year",
            "rain",
            "doubt",
            "motion",
        ],
    ),
    ("desk", &["units", "network", "catalogue", "site", "checks", "answers"]),
    ("cli", &["site", "answers", "desk"]),
    ("python", &["site", "answers"]),
];

#[test]
fn crates_lean_only_along_the_arrows() {
    let mut seen = 0;
    for manifest in files("crates", "Cargo.toml") {
        let text = read_to_string(&manifest).unwrap();
        let name = manifest.parent().unwrap().file_name().unwrap().to_str().unwrap().to_owned();
        let (_, allowed) = ARROWS
            .iter()
            .find(|(crate_name, _)| *crate_name == name)
            .unwrap_or_else(|| panic!("crate `{name}` is not in the picture"));
        seen += 1;
        let mut section = "";
        for line in text.lines().map(str::trim) {
            if line.starts_with('[') {
                section = line;
            }
            // Tests may look anywhere.
            let ours = line.strip_prefix("wetrun-").filter(|_| section == "[dependencies]");
            let Some(rest) = ours else { continue };
            let other = rest.split([' ', '.', '=']).next().unwrap();
            assert!(allowed.contains(&other), "{name} must not lean on {other}");
        }
    }
    assert_eq!(seen, ARROWS.len(), "a crate of the picture is missing");
}

/// A package needs more than a build does.
#[test]
fn every_crate_says_what_it_is() {
    for manifest in files("crates", "Cargo.toml") {
        let text = read_to_string(&manifest).unwrap();
        for key in ["description", "license.", "rust-version.", "keywords.", "categories"] {
            let given = text.lines().any(|line| line.starts_with(key));
            assert!(given, "{} lacks {key}", manifest.display());
        }
        let readme = manifest.with_file_name("README.md");
        let name =
            format!("# wetrun-{}\n", manifest.parent().unwrap().file_name().unwrap().display());
        assert!(read_to_string(readme).unwrap().starts_with(&name), "{name}");
    }
}

#[test]
fn every_source_file_opens_with_a_sentence() {
    for folder in ["crates", "tests"] {
        for path in files(folder, ".rs") {
            let text = read_to_string(&path).unwrap();
            let first = text.lines().next().unwrap_or_default();
            assert!(first.starts_with("//! "), "{} opens with `{first}`", path.display());
        }
    }
}

#[test]
fn libraries_neither_read_files_nor_print() {
    let words = ["std::fs", "std::env", "SystemTime", "Instant::now", "println!", "eprintln!"];
    for (name, _) in ARROWS.iter().filter(|(name, _)| *name != "cli") {
        for path in files(&format!("crates/{name}/src"), ".rs") {
            if path.to_string_lossy().contains("tests") {
                continue;
            }
            let text = read_to_string(&path).unwrap();
            let program = text.split("#[cfg(test)]").next().unwrap();
            let code = program.lines().filter(|line| !line.trim_start().starts_with("//"));
            for line in code {
                for word in words {
                    assert!(!line.contains(word), "{}: {line}", path.display());
                }
            }
        }
    }
}

/// The same bytes on any machine: what `clippy.toml` refuses stands nowhere in what is shipped.
#[test]
fn powers_and_logarithms_are_those_of_libm() {
    let refused = read_to_string(root().join("clippy.toml")).unwrap();
    let refused = refused.split("\"f64::").skip(1).map(|rest| rest.split('"').next().unwrap());
    let refused: Vec<String> = refused.map(|name| format!(".{name}(")).collect();
    assert!(refused.len() > 20);
    for path in files("crates", ".rs") {
        let place = path.strip_prefix(root()).unwrap().to_string_lossy().into_owned();
        if !place.contains("/src/") || place.ends_with("tests.rs") {
            continue;
        }
        let text = read_to_string(&path).unwrap();
        let program = text.split("#[cfg(test)]").next().unwrap();
        for name in &refused {
            assert!(!program.contains(name.as_str()), "{place} calls {name})");
        }
    }
}

/// Files are read on machines that have other folders and other registries.
#[test]
fn no_machine_paths() {
    // Written in two pieces so that this file does not name them itself.
    let places = [("/wo", "rk/"), ("/ho", "me/"), ("/ro", "ot/"), ("/tm", "p/t-")];
    let kinds = [".rs", ".toml", ".md", ".yaml", ".txt", ".json"];
    for folder in ["crates", "tests", "fixtures", "docs"] {
        for kind in kinds {
            for path in files(folder, kind) {
                // Some fixtures are not text on purpose.
                let Ok(text) = read_to_string(&path) else { continue };
                for (start, end) in places {
                    let place = format!("{start}{end}");
                    assert!(!text.contains(&place), "{} names {place}", path.display());
                }
            }
        }
    }
}

/// A public law says its equation, its arguments, what it returns, where it holds and who says
/// so. A law is a public function with an equation or a source.
#[test]
fn laws_have_their_headings() {
    let mut laws = 0;
    for path in files("crates/solver/src/laws", ".rs") {
        let text = read_to_string(&path).unwrap();
        let mut doc: Vec<&str> = Vec::new();
        for line in text.lines() {
            if let Some(words) = line.trim_start().strip_prefix("///") {
                doc.push(words.trim());
                continue;
            }
            if line.starts_with("pub fn ") && doc.contains(&"# Equation") {
                laws += 1;
                for heading in ["# Arguments", "# Returns", "# Valid for", "# Source", "# Example"]
                {
                    assert!(doc.contains(&heading), "{}: {line} lacks {heading}", path.display());
                }
            }
            if !line.trim_start().starts_with("#[") {
                doc.clear();
            }
        }
    }
    assert!(laws >= 5, "only {laws} laws found");
}

#[test]
fn licences_are_there() {
    for file in ["LICENSE-MIT", "LICENSE-APACHE", "README.md", "DEVELOPERS.md", ".ci/run"] {
        assert!(root().join(file).is_file(), "{file} is missing");
    }
}
