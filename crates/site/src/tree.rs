//! The site file as a tree of texts, each with its bytes in the file.
//!
//! Values stay texts here: the unit parser reads them, so that `.nan` and `0x10` never become
//! numbers behind its back, and the tree keeps duplicate keys so that each can be reported.

use crate::clean_text;
use crate::source::{Source, Span};
use serde::de::{Deserialize, Deserializer, Error as _, MapAccess, SeqAccess, Visitor};
use serde_saphyr::Spanned;
use serde_saphyr::options::{DuplicateKeyPolicy, MergeKeyPolicy, NonFiniteFloatPolicy};
use std::collections::HashSet;
use std::fmt;

/// A node and its bytes. A block mapping or list has a start only.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Node {
    pub(crate) at: Span,
    pub(crate) value: Value,
}

/// What a node holds.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Value {
    Nothing,
    Text(Box<str>),
    List(Vec<Node>),
    Map(Vec<Entry>),
    /// A plain scalar whose text is its bytes; becomes `Text` before the tree is handed out.
    Plain,
}

/// A key with its value.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Entry {
    pub(crate) key: Box<str>,
    pub(crate) key_at: Span,
    pub(crate) node: Node,
}

impl Node {
    /// The value under a key of a mapping.
    pub(crate) fn get(&self, key: &str) -> Option<&Entry> {
        match &self.value {
            Value::Map(entries) => entries.iter().find(|entry| &*entry.key == key),
            _ => None,
        }
    }

    fn settle(&mut self, source: &Source) {
        match &mut self.value {
            Value::Plain => {
                self.value = Value::Text(clean_text(source.slice(self.at).trim()).into());
            }
            Value::List(items) => items.iter_mut().for_each(|item| item.settle(source)),
            Value::Map(entries) => {
                entries.iter_mut().for_each(|entry| entry.node.settle(source));
                join_texts(entries, source);
                merge(entries);
            }
            Value::Nothing | Value::Text(_) => {}
        }
    }
}

/// The key that takes in the entries of another mapping, or of several.
const MERGE: &str = "<<";

/// Takes in what the merge key names: keys of the mapping itself go before those taken in, and an
/// earlier mapping before a later one. Keys that stand twice in one mapping stay, to be reported; so
/// does a merge key that stands twice or names no mapping.
fn merge(entries: &mut Vec<Entry>) {
    let mut places = (0..entries.len()).filter(|&i| &*entries[i].key == MERGE);
    let (Some(place), None) = (places.next(), places.next()) else { return };
    let is_map = |node: &Node| matches!(node.value, Value::Map(_));
    let sources = match &entries[place].node.value {
        Value::Map(_) => std::slice::from_ref(&entries[place].node),
        Value::List(items) if items.iter().all(is_map) => items,
        _ => return,
    };
    let mut taken: HashSet<&str> = entries.iter().map(|entry| &*entry.key).collect();
    let mut merged = Vec::new();
    for source in sources {
        let Value::Map(source) = &source.value else { continue };
        merged.extend(source.iter().filter(|entry| !taken.contains(&*entry.key)).cloned());
        taken.extend(source.iter().map(|entry| &*entry.key));
    }
    entries.splice(place..=place, merged);
}

/// Joins what a comma in a plain text has parted: in braces, `at: brass pin, porch slab` is YAML
/// for a key `at` and a key `porch slab` without colon or value, which no site file has.
fn join_texts(entries: &mut Vec<Entry>, source: &Source) {
    let follows = |entry: &Entry| {
        let rest = source.text.get(entry.key_at.range().end..).unwrap_or_default().trim_start();
        entry.node.value == Value::Nothing
            && rest.starts_with([',', '}'])
            && source.slice(entry.key_at) == &*entry.key
    };
    if !entries.iter().skip(1).any(follows) {
        return;
    }
    let mut joined: Vec<Entry> = Vec::with_capacity(entries.len());
    for entry in entries.drain(..) {
        match joined.last_mut() {
            Some(Entry { node: Node { at, value: Value::Text(text) }, .. })
                if follows(&entry) && source.slice(*at) == &**text =>
            {
                let start = at.range().start;
                *at = Span::new(start, entry.key_at.range().end - start);
                *text = clean_text(source.slice(*at)).into();
            }
            _ => joined.push(entry),
        }
    }
    *entries = joined;
}

/// Levels of nesting: a site file needs seven.
pub(crate) const DEEPEST: usize = 32;
/// Scalars, lists and mappings: a site of 100,000 lines has fewer.
pub(crate) const MOST_NODES: usize = 2_000_000;

/// Reads a source into a tree.
///
/// Depth, nodes, anchors and their replay are bounded, so that no file can cost more than a
/// second or two hundred megabytes; a site of 100,000 lines stays well inside.
pub(crate) fn parse(source: &Source) -> Result<Node, serde_saphyr::Error> {
    let options = serde_saphyr::options! {
        budget: serde_saphyr::budget! {
            max_depth: DEEPEST,
            flow_nesting_limit: DEEPEST,
            max_nodes: MOST_NODES,
            max_events: 4 * MOST_NODES,
            max_aliases: 1_000,
            max_anchors: 1_000,
            max_recorded_anchor_events: 100_000,
        },
        alias_limits: serde_saphyr::alias_limits! { max_total_replayed_events: 100_000 },
        duplicate_keys: DuplicateKeyPolicy::PassThrough,
        merge_keys: MergeKeyPolicy::AsOrdinary,
        non_finite_float_policy: NonFiniteFloatPolicy::PassThrough,
        null_as_string: true,
        ignore_binary_tag_for_string: true,
        with_snippet: false,
    };
    let root: Spanned<Value> = serde_saphyr::from_str_with_options(&source.text, options)?;
    let mut root = node(root);
    root.settle(source);
    Ok(root)
}

fn node(spanned: Spanned<Value>) -> Node {
    Node { at: span(&spanned.defined), value: spanned.value }
}

pub(crate) fn span(location: &serde_saphyr::Location) -> Span {
    let bytes = location.span();
    let number = |n: Option<u64>| n.and_then(|n| usize::try_from(n).ok()).unwrap_or(0);
    Span::new(number(bytes.byte_offset()), number(bytes.byte_len()))
}

impl<'de> Deserialize<'de> for Value {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(AnyValue)
    }
}

struct AnyValue;

impl<'de> Visitor<'de> for AnyValue {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value, a list or a mapping")
    }

    fn visit_str<E>(self, text: &str) -> Result<Value, E> {
        Ok(Value::Text(clean_text(text).into()))
    }

    fn visit_bool<E>(self, _: bool) -> Result<Value, E> {
        Ok(Value::Plain)
    }

    fn visit_i64<E>(self, _: i64) -> Result<Value, E> {
        Ok(Value::Plain)
    }

    fn visit_u64<E>(self, _: u64) -> Result<Value, E> {
        Ok(Value::Plain)
    }

    fn visit_i128<E>(self, _: i128) -> Result<Value, E> {
        Ok(Value::Plain)
    }

    fn visit_u128<E>(self, _: u128) -> Result<Value, E> {
        Ok(Value::Plain)
    }

    fn visit_f64<E>(self, _: f64) -> Result<Value, E> {
        Ok(Value::Plain)
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Nothing)
    }

    fn visit_none<E>(self) -> Result<Value, E> {
        Ok(Value::Nothing)
    }

    fn visit_some<D: Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        Value::deserialize(deserializer)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Value, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = list.next_element::<Spanned<Value>>()? {
            items.push(node(item));
        }
        // Most lists and mappings hold one or two: what a vector keeps ahead would be most of the tree.
        items.shrink_to_fit();
        Ok(Value::List(items))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Value, A::Error> {
        let mut entries = Vec::new();
        while let Some(key) = map.next_key::<Spanned<String>>()? {
            if key.value.len() > LONGEST_KEY {
                return Err(A::Error::custom("this key is too long"));
            }
            let key_at = span(&key.defined);
            let value = node(map.next_value::<Spanned<Value>>()?);
            entries.push(Entry { key: clean_text(&key.value).into(), key_at, node: value });
        }
        entries.shrink_to_fit();
        Ok(Value::Map(entries))
    }
}

/// In bytes; YAML itself allows an unmarked key 1024 characters.
const LONGEST_KEY: usize = 1024;

#[cfg(test)]
mod tests {
    use super::*;

    /// The other reader's tree as ours; it has no place and no duplicate keys.
    fn agrees(node: &Node, other: &serde_yaml::Value) -> bool {
        use serde_yaml::Value as Other;
        match (&node.value, other) {
            (Value::Nothing, Other::Null) => true,
            (Value::Text(text), Other::String(other)) => **text == *clean_text(other).trim_end(),
            (Value::Text(text), Other::Bool(other)) => **text == other.to_string(),
            (Value::Text(text), Other::Number(other)) => text.parse::<f64>().ok() == other.as_f64(),
            (Value::List(items), Other::Sequence(others)) => {
                items.len() == others.len() && items.iter().zip(others).all(|(a, b)| agrees(a, b))
            }
            (Value::Map(entries), Other::Mapping(others)) => {
                let key = |other: &Other| match other {
                    Other::String(text) => text.clone(),
                    Other::Number(number) => number.to_string(),
                    _ => String::new(),
                };
                entries.len() == others.len()
                    && entries.iter().zip(others).all(|(entry, (name, other))| {
                        *entry.key == *key(name) && agrees(&entry.node, other)
                    })
            }
            _ => false,
        }
    }

    /// The client's own YAML library, in its maintained form, is the second reader.
    #[test]
    fn a_second_reader_sees_the_same_tree_in_every_good_file() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/ok");
        let mut read = 0;
        for case in std::fs::read_dir(root).unwrap() {
            let path = case.unwrap().path().join("site.yaml");
            let Ok(text) = std::fs::read_to_string(&path) else { continue };
            let tree = parse(&Source::new("", text.clone())).unwrap();
            let other: serde_yaml::Value = serde_yaml::from_str(&text).unwrap();
            assert!(agrees(&tree, &other), "{}", path.display());
            read += 1;
        }
        assert!(read >= 4);
    }

    #[test]
    fn a_comma_in_a_plain_text_does_not_part_it() {
        let text = "{ BM1: { level: 1 m, at: brass pin, porch slab , north, k: 2 }, b: 'q', c }\n";
        let source = Source::new("", text.to_owned());
        let tree = parse(&source).unwrap();
        let benchmark = &tree.get("BM1").unwrap().node;
        let at = &benchmark.get("at").unwrap().node;
        assert_eq!(at.value, Value::Text("brass pin, porch slab , north".into()));
        assert!(matches!(&benchmark.value, Value::Map(entries) if entries.len() == 3));
        assert_eq!(tree.get("c").unwrap().node.value, Value::Nothing);
    }

    #[test]
    fn scalars_keep_their_text_and_their_bytes() {
        let text = "a: { b: 1.50, c: no, d: 0x10, e: \"q\\\"\", 2: 'it''s' }\nf: .nan\ng:\n";
        let source = Source::new("", text.to_owned());
        let tree = parse(&source).unwrap();
        let step = |keys: &[&str]| {
            keys.iter().fold(&tree, |node, key| &node.get(key).unwrap().node).clone()
        };
        for (keys, value, bytes) in [
            (&["a", "b"][..], "1.50", "1.50"),
            (&["a", "c"], "no", "no"),
            (&["a", "d"], "0x10", "0x10"),
            (&["a", "e"], "q\"", "\"q\\\"\""),
            (&["a", "2"], "it's", "'it''s'"),
            (&["f"], ".nan", ".nan"),
        ] {
            let node = step(keys);
            assert_eq!(node.value, Value::Text(value.into()));
            assert_eq!(source.slice(node.at), bytes);
        }
        assert_eq!(step(&["g"]).value, Value::Nothing);
    }
}
