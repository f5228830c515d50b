//! The section `shown:`: answers to what a review asked for, each put where its key belongs.

use crate::tree::{Entry, Node, Value};
use wetrun_units::holds_a_place;

const SECTION: &str = "shown";

/// Moves what stands under `shown:` to where it belongs. What still holds the place of a value is
/// left out; a key that stands in both places is reported as doubled by whoever reads it.
pub(crate) fn spread(root: &mut Node) {
    let Value::Map(entries) = &mut root.value else { return };
    let mut sections = entries.iter().enumerate().filter(|(_, entry)| &*entry.key == SECTION);
    let Some((index, Entry { node, .. })) = sections.next() else { return };
    if !matches!(node.value, Value::Map(_) | Value::Nothing) {
        return;
    }
    if sections.next().is_some() {
        return;
    }
    if let Value::Map(answers) = entries.remove(index).node.value {
        merge(entries, answers);
    }
}

fn merge(entries: &mut Vec<Entry>, answers: Vec<Entry>) {
    for answer in answers.into_iter().filter_map(filled) {
        let same = entries.iter_mut().find(|entry| entry.key == answer.key);
        match same {
            None => entries.push(answer),
            Some(entry) => match (&mut entry.node.value, answer) {
                (Value::Map(below), Entry { node: Node { value: Value::Map(more), .. }, .. }) => {
                    merge(below, more);
                }
                (Value::Text(text), answer) if holds_a_place(text) => *entry = answer,
                (_, answer) => entries.push(answer),
            },
        }
    }
}

/// An answer without what is still to be filled in; `None` where nothing is left of it.
fn filled(mut answer: Entry) -> Option<Entry> {
    match &mut answer.node.value {
        Value::Text(text) if holds_a_place(text) => return None,
        Value::Map(entries) => {
            *entries = entries.drain(..).filter_map(filled).collect();
            if entries.is_empty() {
                return None;
            }
        }
        _ => {}
    }
    Some(answer)
}
