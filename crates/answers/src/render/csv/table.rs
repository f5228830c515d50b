//! A table out of a JSON result: the same names, which carry the units, and the same numbers.

use super::{guarded, written};
use crate::outcome::Refusal;
use serde_json::Value;

/// A table of objects that are keyed by tag; the first column is the tag, under its own name.
///
/// Every column is written, whether any row has it or not, so that tables of many sites have one
/// form. `before.outcome` is an object's inner value, under the name `before_outcome`.
pub(crate) fn keyed(rows: &Value, tag: &str, columns: &[&str]) -> Result<String, Refusal> {
    let rows = rows.as_object().into_iter().flatten();
    let header = std::iter::once(tag.to_owned()).chain(columns.iter().map(|c| c.replace('.', "_")));
    let each = rows.map(|(tag, row)| {
        // A number alone is the one column's.
        let cells = columns.iter().map(|column| match row {
            Value::Object(_) => cell(inner(row, column)),
            number => cell(number),
        });
        std::iter::once(guarded(tag)).chain(cells).collect::<Vec<_>>()
    });
    written(header, each)
}

/// A table of a list of objects.
pub(crate) fn listed(rows: &Value, columns: &[&str]) -> Result<String, Refusal> {
    let rows = rows.as_array().into_iter().flatten();
    let each = rows.map(|row| columns.iter().map(|c| cell(inner(row, c))).collect::<Vec<_>>());
    written(columns.iter().map(|column| column.replace('.', "_")), each)
}

/// A table of one row.
pub(crate) fn single(row: &Value, columns: &[&str]) -> Result<String, Refusal> {
    listed(&Value::Array(vec![row.clone()]), columns)
}

/// A part of a result; null where it is not there.
pub(crate) fn inner<'a>(value: &'a Value, path: &str) -> &'a Value {
    path.split('.').fold(value, |value, key| value.get(key).unwrap_or(&Value::Null))
}

/// A cell: numbers as they are, nothing for null, texts guarded, the texts of a list in one.
fn cell(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => guarded(text),
        Value::Array(list) => {
            let texts: Vec<&str> = list.iter().filter_map(Value::as_str).collect();
            guarded(&texts.join(", "))
        }
        other => other.to_string(),
    }
}
