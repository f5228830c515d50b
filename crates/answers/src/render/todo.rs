//! The keys that would show what a review finds not shown: a piece of YAML, ready to paste.

use std::collections::BTreeMap;
use wetrun_checks::Finding;

/// What stands where a value is to be filled in; as long as it does, the value is not shown.
const PLACEHOLDER: &str = "TBD";

/// A key with its value, or the keys below it.
#[derive(Debug, Default)]
struct Tree(BTreeMap<String, Tree>);

/// The missing keys as one piece under `shown:`, with the rules that ask for them.
///
/// `tags` are those of the site: one with a dot is one step of a key, not two.
pub(crate) fn keys(findings: &[Finding], tags: &[&str]) -> String {
    let mut tree = Tree::default();
    let mut by_hand: Vec<&str> = Vec::new();
    for key in findings.iter().flat_map(|finding| &finding.missing) {
        match key.contains('[') || key.ends_with(".profile") {
            true => by_hand.push(key),
            false => tree.add(steps(key, tags).into_iter()),
        }
    }
    if tree.0.is_empty() && by_hand.is_empty() {
        return "# nothing is missing\n".to_owned();
    }
    let mut out = String::from(
        "# Paste this at the end of the site file and write over each TBD: what stays TBD\n\
         # stays not shown. A key that has nothing to say is taken out.\n",
    );
    if !tree.0.is_empty() {
        out.push_str("shown:\n");
        tree.write(1, &mut out);
    }
    by_hand.sort_unstable();
    by_hand.dedup();
    for key in by_hand {
        out.push_str(&format!("# and, in its own place: {key}\n"));
    }
    out
}

/// The steps of a key: its section, a tag, and the names below it.
fn steps<'k>(key: &'k str, tags: &[&str]) -> Vec<&'k str> {
    let Some((section, rest)) = key.split_once('.') else { return vec![key] };
    let tag = tags.iter().filter(|tag| tag.contains('.'));
    let tag = tag.filter(|tag| rest.strip_prefix(**tag).is_some_and(|r| r.starts_with('.')));
    match tag.max_by_key(|tag| tag.len()) {
        Some(tag) => {
            let (tag, below) = rest.split_at(tag.len());
            let below = below[1..].split('.');
            [section, tag].into_iter().chain(below).collect()
        }
        None => key.split('.').collect(),
    }
}

impl Tree {
    fn add<'a>(&mut self, mut path: impl Iterator<Item = &'a str>) {
        if let Some(key) = path.next() {
            self.0.entry(key.to_owned()).or_default().add(path);
        }
    }

    fn write(&self, depth: usize, out: &mut String) {
        let indent = "  ".repeat(depth);
        for (key, below) in &self.0 {
            let key = quoted(key);
            if below.0.is_empty() {
                out.push_str(&format!("{indent}{key}: {PLACEHOLDER}\n"));
            } else {
                out.push_str(&format!("{indent}{key}:\n"));
                below.write(depth + 1, out);
            }
        }
    }
}

/// A key as YAML reads it back.
fn quoted(key: &str) -> String {
    let plain = key.starts_with(|c: char| c.is_ascii_alphabetic())
        && key.chars().all(|c| c.is_ascii_alphanumeric() || "_-".contains(c))
        && !["yes", "no", "on", "off", "true", "false", "null", "y", "n"]
            .contains(&&*key.to_lowercase());
    if plain { key.to_owned() } else { format!("'{}'", key.replace('\'', "''")) }
}
