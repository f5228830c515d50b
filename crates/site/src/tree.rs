//! The site file as a tree of texts, each with its bytes in the file.
//!
//! Values stay texts here: the unit parser reads them, so that `.nan` and `0x10` never become
//! numbers behind its back, and the tree keeps duplicate keys so that each can be reported.

use crate::clean_text;
use crate::source::{Source, Span};
use serde::de::{Deserialize, Deserializer, Error as _, MapAccess, SeqAccess, Visitor};
use serde_saphyr::Spanned;
use serde_saphyr::options::{DuplicateKeyPolicy, NonFiniteFloatPolicy};
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
            Value::Map(entries) => entries.iter_mut().for_each(|e| e.node.settle(source)),
            Value::Nothing | Value::Text(_) => {}
        }
    }
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
        Ok(Value::Map(entries))
    }
}

/// In bytes; YAML itself allows an unmarked key 1024 characters.
const LONGEST_KEY: usize = 1024;
