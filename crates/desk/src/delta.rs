//! What makes one picture of another: a page that has the old one is told what changed alone.

use crate::diff::hunks;
use serde_json::{Value, json};

/// What makes `new` of `old`; nothing where they are the same. `put` holds what takes the place of
/// something, `lines` the runs of a list of texts that are others, each with where it begins in the old
/// list, how many go, and which come; `in` what changed inside of anything else, by key or index.
/// `page/picture.js` puts it together.
pub(crate) fn delta(old: &Value, new: &Value) -> Option<Value> {
    let inside = match (old, new) {
        (Value::Array(old), Value::Array(new)) => match (texts(old), texts(new)) {
            (Some(old), Some(new)) => return lines(&old, &new),
            _ if old.len() == new.len() => {
                let both = old.iter().zip(new).enumerate();
                some(both.map(|(index, (old, new))| (json!(index), old, new)))
            }
            _ => return Some(json!({ "put": new })),
        },
        (Value::Object(old), Value::Object(new)) if old.keys().eq(new.keys()) => {
            let both = old.values().zip(new);
            some(both.map(|(old, (key, new))| (json!(key), old, new)))
        }
        _ => return (old != new).then(|| json!({ "put": new })),
    };
    (!inside.is_empty()).then(|| json!({ "in": inside }))
}

fn some<'v>(all: impl Iterator<Item = (Value, &'v Value, &'v Value)>) -> Vec<Value> {
    all.filter_map(|(key, old, new)| Some(json!([key, delta(old, new)?]))).collect()
}

fn texts(list: &[Value]) -> Option<Vec<&str>> {
    list.iter().map(Value::as_str).collect()
}

fn lines(old: &[&str], new: &[&str]) -> Option<Value> {
    let runs = hunks(old, new).into_iter();
    let runs = runs.map(|h| json!([h.old, h.old_count, new[h.new..h.new + h.new_count]]));
    let runs: Vec<Value> = runs.collect();
    (!runs.is_empty()).then(|| json!({ "lines": runs }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// As the page does it.
    fn patched(old: &Value, change: &Value) -> Value {
        if let Some(put) = change.get("put") {
            return put.clone();
        }
        if let Some(runs) = change.get("lines") {
            let number = |value: &Value| usize::try_from(value.as_u64().unwrap()).unwrap();
            let mut next = old.as_array().unwrap().clone();
            for run in runs.as_array().unwrap().iter().rev() {
                let at = number(&run[0]);
                next.splice(at..at + number(&run[1]), run[2].as_array().unwrap().iter().cloned());
            }
            return Value::Array(next);
        }
        let mut next = old.clone();
        for pair in change["in"].as_array().unwrap() {
            let place = match &pair[0] {
                Value::String(key) => &mut next[key.as_str()],
                index => &mut next[usize::try_from(index.as_u64().unwrap()).unwrap()],
            };
            *place = patched(&place.clone(), &pair[1]);
        }
        next
    }

    #[test]
    fn what_stays_is_not_told() {
        let old = json!({ "a": [1, 2, { "x": "p", "y": null }], "b": "same" });
        let new = json!({ "a": [1, 2, { "x": "q", "y": null }], "b": "same" });
        let change = json!({ "in": [["a", { "in": [[2, { "in": [["x", { "put": "q" }]] }]] }]] });
        assert_eq!(delta(&old, &new), Some(change));
        assert_eq!(delta(&old, &old), None);
        let (old, new) = (json!(["a", "b", "c", "d"]), json!(["a", "x", "c", "d", "e"]));
        let change = json!({ "lines": [[1, 1, ["x"]], [4, 0, ["e"]]] });
        assert_eq!(delta(&old, &new), Some(change));
    }

    fn any() -> impl Strategy<Value = Value> {
        let leaf = prop_oneof![
            Just(Value::Null),
            (0..4).prop_map(|n| json!(n)),
            "[a-c]{0,2}".prop_map(|text| json!(text))
        ];
        leaf.prop_recursive(4, 32, 4, |inner| {
            prop_oneof![
                prop::collection::vec(inner.clone(), 0..4).prop_map(Value::Array),
                prop::collection::vec("[a-c]", 0..8).prop_map(|texts| json!(texts)),
                prop::collection::btree_map("in|put|lines|[a-c]", inner, 0..4)
                    .prop_map(|all| Value::Object(all.into_iter().collect())),
            ]
        })
    }

    proptest! {
        #[test]
        fn a_delta_makes_the_new_of_the_old((old, new) in (any(), any())) {
            match delta(&old, &new) {
                Some(change) => prop_assert_eq!(patched(&old, &change), new),
                None => prop_assert_eq!(old, new),
            }
        }
    }
}
