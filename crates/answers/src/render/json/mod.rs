//! Results as JSON: SI units only, twelve significant digits, keys in the order of the contract.

pub mod catalogue;
pub mod check;
pub mod compare;
pub mod doubt;
pub mod flush;
pub mod levels;
pub mod many;
pub mod rain;
pub mod review;
pub mod schema;
pub mod size;
pub mod storm;
pub(crate) mod tree;
pub mod year;

use crate::outcome::Refusal;
use serde_json::{Map, Value};

/// A number with 12 significant digits; anything that is not finite stops the command, for no
/// program should read it.
pub(crate) fn number(value: f64) -> Result<Value, Refusal> {
    number_of(value).map(Value::from)
}

/// The same as it is.
pub(crate) fn number_of(value: f64) -> Result<f64, Refusal> {
    let rounded = format!("{value:.11e}").parse().unwrap_or(f64::NAN);
    let refuse = || Refusal::because("a result is not a finite number; it is not written");
    // Adding zero turns -0 into 0.
    Some(rounded + 0.0).filter(|value| value.is_finite()).ok_or_else(refuse)
}

/// A number that may be missing: `null` then.
pub(crate) fn maybe(value: Option<f64>) -> Result<Value, Refusal> {
    value.map_or(Ok(Value::Null), number)
}

/// An object with its keys in the order given.
pub(crate) fn object<K: Into<String>>(entries: impl IntoIterator<Item = (K, Value)>) -> Value {
    Value::Object(entries.into_iter().map(|(k, v)| (k.into(), v)).collect::<Map<_, _>>())
}

/// The text of a whole result.
pub(crate) fn document(value: &Value) -> String {
    format!("{value:#}\n")
}
