//! The drawings of `fixtures/review` as files: whole ones, and edits of the clean one in the notes.
//!
//! A notes file may hold a YAML block: for each case, values by key path that replace, add or (`~`)
//! take away what the clean drawing says.

use serde_yaml::Value;
use std::collections::BTreeMap;
use std::fs::{self, read_to_string};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

/// Every drawing, by its name such as `freeboard/fail`.
pub(crate) fn all() -> &'static BTreeMap<String, PathBuf> {
    static ALL: OnceLock<BTreeMap<String, PathBuf>> = OnceLock::new();
    ALL.get_or_init(|| {
        let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/review");
        let fixtures = fixtures.canonicalize().unwrap();
        let clean: Value =
            serde_yaml::from_str(&read_to_string(fixtures.join("clean/site.yaml")).unwrap())
                .unwrap();
        let mut found = BTreeMap::new();
        for folder in fs::read_dir(&fixtures).unwrap().map(|entry| entry.unwrap()) {
            let rule = folder.file_name().into_string().unwrap();
            for file in fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().path()) {
                if file.extension().is_some_and(|end| end == "yaml") {
                    let case = file.file_stem().unwrap().to_str().unwrap();
                    found.insert(format!("{rule}/{case}"), file);
                }
            }
            let notes = read_to_string(folder.path().join("notes.md")).unwrap_or_default();
            for (case, edits) in edits(&notes) {
                let name = format!("{rule}/{case}");
                let file = written(&name, &edited(&clean, &rule, &case, &edits));
                assert!(found.insert(name, file).is_none(), "{rule} has {case} twice");
            }
        }
        found
    })
}

/// The file of a drawing.
pub(crate) fn path(name: &str) -> &'static str {
    all().get(name).unwrap_or_else(|| panic!("there is no drawing {name}")).to_str().unwrap()
}

type Edits = BTreeMap<String, serde_yaml::Mapping>;

fn edits(notes: &str) -> Edits {
    let block = notes.split_once("```yaml\n").and_then(|(_, rest)| rest.split_once("```"));
    block.map(|(block, _)| serde_yaml::from_str(block).unwrap()).unwrap_or_default()
}

fn edited(clean: &Value, rule: &str, case: &str, edits: &serde_yaml::Mapping) -> String {
    let mut drawing = clean.clone();
    drawing["name"] = format!("{rule}, {case}").into();
    for (way, value) in edits {
        let way: Vec<&str> = way.as_str().unwrap().split('.').collect();
        put(&mut drawing, &way, value, &format!("{rule} {case}: {way:?}"));
    }
    serde_yaml::to_string(&drawing).unwrap()
}

fn put(at: &mut Value, way: &[&str], value: &Value, told: &str) {
    match (at, way) {
        (Value::Mapping(entries), [last]) if value.is_null() => {
            assert!(entries.remove(*last).is_some(), "{told} takes away what is not there");
        }
        (Value::Mapping(entries), [last]) => {
            entries.insert((*last).into(), value.clone());
        }
        (Value::Mapping(entries), [first, rest @ ..]) => {
            let below = entries.get_mut(*first).unwrap_or_else(|| panic!("{told} leads nowhere"));
            put(below, rest, value, told);
        }
        (Value::Sequence(items), [first, rest @ ..]) if !rest.is_empty() => {
            put(&mut items[first.parse::<usize>().unwrap()], rest, value, told);
        }
        _ => panic!("{told} leads nowhere"),
    }
}

/// Written whole before it has its name: another process of tests may be reading it.
fn written(name: &str, text: &str) -> PathBuf {
    let file = Path::new(env!("CARGO_TARGET_TMPDIR")).join("review").join(format!("{name}.yaml"));
    let beside = file.with_extension(std::process::id().to_string());
    fs::create_dir_all(file.parent().unwrap()).unwrap();
    fs::write(&beside, text).unwrap();
    fs::rename(&beside, &file).unwrap();
    file
}
