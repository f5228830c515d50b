//! Measures written anew in place of measures: what the new text reads as, without reading it.
//!
//! A hand that moves a level asks for this many times a second. Where a plain measure stands in place
//! of another one, nothing else in a file can change but where things stand.

use super::{Edit, Patch};
use crate::source::{Source, Span};
use crate::tree::{Entry, Node, Value};

/// The tree of `wanted` where its things stand after the patches, in the order of the text. `None` where
/// that is not plain to see, so that the text has to be read.
pub(super) fn respelled(
    root: &Node,
    wanted: &Node,
    source: &Source,
    edits: &[Edit],
    patches: &[Patch],
) -> Option<Node> {
    let plain = edits.iter().all(|edit| {
        let at = alone(root, source, &edit.keys).map(Span::range);
        let patch = patches.iter().find(|patch| Some(&patch.bytes) == at.as_ref());
        patch.is_some_and(|patch| patch.text == edit.value && is_measure(&edit.value))
    });
    if !plain || edits.len() != patches.len() {
        return None;
    }
    let mut met = 0;
    let mut moved = wanted.clone();
    shift(&mut moved, patches, &mut met);
    // One that stands in the tree twice is an alias somewhere.
    (met == patches.len()).then_some(moved)
}

/// Where a plain measure stands alone behind its key: without an anchor, a tag or quotes.
fn alone(root: &Node, source: &Source, keys: &[String]) -> Option<Span> {
    let (last, parents) = keys.split_last()?;
    let parent = parents.iter().try_fold(root, |node, key| crate::document::step(node, key))?;
    let Entry { key_at, node, .. } = parent.get(last)?;
    let between = source.text.get(key_at.range().end..node.at.range().start)?;
    let written = source.slice(node.at);
    let text = matches!(&node.value, Value::Text(text) if **text == *written);
    (text && between.trim_matches(' ') == ":" && is_measure(written)).then_some(node.at)
}

/// Whether a text is a number with at most a unit, as levels are written: `98.20`, `-0.5 m`,
/// `98'-7 1/4"`. Wherever one may stand in a file, another may.
fn is_measure(text: &str) -> bool {
    let body = text.strip_prefix('-').unwrap_or(text);
    let inside = body.as_bytes().windows(2).all(|pair| match pair {
        [b' ', next] => next.is_ascii_alphanumeric(),
        [b'-', next] => next.is_ascii_digit(),
        [before, b'-'] => *before == b'\'',
        _ => true,
    });
    inside
        && body.starts_with(|c: char| c.is_ascii_digit())
        && body.ends_with(|c: char| c.is_ascii_alphanumeric() || "'\"".contains(c))
        && body.chars().all(|c| c.is_ascii_alphanumeric() || ".'\"/- ".contains(c))
}

fn shift(node: &mut Node, patches: &[Patch], met: &mut usize) {
    let at = node.at.range();
    *met += usize::from(patches.iter().any(|patch| patch.bytes == at));
    node.at = shifted(node.at, patches);
    match &mut node.value {
        Value::List(items) => items.iter_mut().for_each(|item| shift(item, patches, met)),
        Value::Map(entries) => {
            for entry in entries {
                entry.key_at = shifted(entry.key_at, patches);
                shift(&mut entry.node, patches, met);
            }
        }
        Value::Nothing | Value::Text(_) | Value::Plain => {}
    }
}

/// Where something stands after the patches: moved by those before it, as long as those inside make it.
fn shifted(span: Span, patches: &[Patch]) -> Span {
    let at = span.range();
    let (mut start, mut end) = (at.start, at.end);
    for patch in patches {
        let (old, new) = (patch.bytes.len(), patch.text.len());
        if patch.bytes.end <= at.start && patch.bytes.start < at.start {
            start = start + new - old;
        }
        if patch.bytes.end <= at.end && patch.bytes.start < at.end {
            end = end + new - old;
        }
    }
    Span::new(start, end - start)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::edit::set_in;
    use crate::outline::Outline;
    use crate::tree::parse;

    #[test]
    fn what_is_a_measure() {
        for text in ["98.20", "0", "-0.5 m", "98.6 ft", "98'-7 1/4\"", "1183.5 in", "9e2"] {
            assert!(is_measure(text), "{text}");
        }
        for text in [
            "", "-", "- 1", "~", "null", ".nan", "yes", "'98'", "\"98\"", "98 #1", "98: 1", "a",
            "1,2", "{ 1 }", "98 ", "1  2", "1 - 2", "98-", "*a", "&a 1", "!t 1", "1\n2", "½",
            "x: 98",
        ] {
            assert!(!is_measure(text), "{text}");
        }
    }

    /// Sets values, and gives whether the new text did not have to be read. What is given then is what
    /// reading gives, to the last byte.
    fn sets(text: &str, edits: &[(&[&str], &str)]) -> bool {
        let written = Outline::read(text).unwrap();
        let edits: Vec<Edit> = edits.iter().map(|(keys, value)| Edit::new(keys, *value)).collect();
        let Ok((new, read)) = set_in(text, &written, &edits) else { return false };
        let (root, source) = (&written.document.root, &*written.document.source);
        assert_eq!(read.document.source.text, new.trim_start_matches('\u{feff}'));
        assert_eq!(read.document.root, parse(&read.document.source).unwrap());
        let mut patches: Vec<Patch> = edits
            .iter()
            .map(|edit| super::super::put(root, source, &edit.keys, &edit.value, None).unwrap())
            .collect();
        patches.sort_by_key(|patch| patch.bytes.start);
        let mut wanted = root.clone();
        for edit in &edits {
            let value = Value::Text(edit.value.as_str().into());
            super::super::set(&mut wanted, &edit.keys, &value);
        }
        let seen = respelled(root, &wanted, source, &edits, &patches);
        assert!(seen.as_ref().is_none_or(|seen| *seen == read.document.root));
        seen.is_some()
    }

    #[test]
    fn measures_take_the_place_of_measures_unread() {
        let text = "# ünter\r\na: { level: 98.20, at: x }  # c\r\nb:\r\n  - { level: 9 ft }\r\n  \
                    - level: 98'-7 1/4\"\r\nc: 1\r\n";
        for value in ["98.2", "98.205", "100", "1 m", "98'-7\"", "-0.3"] {
            assert!(sets(text, &[(&["a", "level"], value)]), "{value}");
            assert!(sets(text, &[(&["b", "1", "level"], value)]), "{value}");
            let both: [(&[&str], &str); 2] =
                [(&["b", "0", "level"], value), (&["a", "level"], "7")];
            assert!(sets(text, &both), "{value}");
        }
        assert!(sets("\u{feff}a: 1\nb: 2\n", &[(&["a"], "10")]));
    }

    #[test]
    fn what_is_not_plain_is_read() {
        for (text, keys, value) in [
            ("a: 1\n", &["a"][..], "one"),
            ("a: one\n", &["a"], "1"),
            ("a: '1'\n", &["a"], "2"),
            ("a: !!float 1\n", &["a"], "2"),
            ("a: # c\n  1\n", &["a"], "2"),
            ("a:\n", &["a"], "2"),
            ("a: 1\n", &["b"], "2"),
        ] {
            assert!(!sets(text, &[(keys, value)]), "{text}");
        }
    }

    /// Of a value that stands elsewhere too, nothing is set alone.
    #[test]
    fn an_alias_is_noticed() {
        for text in [
            "a: &x { level: 1 }\nb: *x\n",
            "a: &x { level: 1 }\nb:\n  <<: *x\n  c: 2\n",
            "a: { level: &x 1 }\nb: *x\n",
        ] {
            let written = Outline::read(text).unwrap();
            let edit = Edit::new(&["a", "level"], "22");
            assert!(set_in(text, &written, &[edit]).is_err(), "{text}");
        }
    }

    /// Every measure of every demo, longer and shorter.
    #[test]
    fn in_the_demos_it_is_as_if_read() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/ok");
        let mut unread = 0;
        for case in std::fs::read_dir(root).unwrap() {
            let Ok(text) = std::fs::read_to_string(case.unwrap().path().join("site.yaml")) else {
                continue;
            };
            let written = Outline::read(&text).unwrap();
            for keys in levels(&written.document.root) {
                let keys: Vec<&str> = keys.iter().map(String::as_str).collect();
                for value in ["7", "1234.5678 ft"] {
                    unread += usize::from(sets(&text, &[(&keys, value)]));
                }
            }
        }
        assert!(unread > 100, "{unread}");
    }

    fn levels(root: &Node) -> Vec<Vec<String>> {
        let mut all = Vec::new();
        let mut open = vec![(Vec::new(), root)];
        while let Some((keys, node)) = open.pop() {
            let below = |key: &str| keys.iter().cloned().chain([key.to_owned()]).collect();
            match &node.value {
                Value::Map(entries) => {
                    open.extend(entries.iter().map(|entry| (below(&entry.key), &entry.node)));
                }
                Value::List(items) => {
                    let items = items.iter().enumerate();
                    open.extend(items.map(|(index, item)| (below(&index.to_string()), item)));
                }
                Value::Text(text) if is_measure(text) => all.push(keys),
                _ => {}
            }
        }
        all
    }
}
