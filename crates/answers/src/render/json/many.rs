//! A line of JSON for one of many sites.

use super::tree::Tree;
use super::{check, object};
use crate::outcome::Refusal;
use crate::solved::Solved;
use serde_json::Value;
use wetrun_site::{Diagnostic, Severity};

/// `{"file": …, "result": …}`, the result being that of `check`.
///
/// # Errors
/// As the result's.
pub fn found(file: &str, solved: &Solved) -> Result<String, Refusal> {
    let line = Tree::map([("file", Tree::Text(file)), ("result", check::result(solved)?)]);
    serde_json::to_string(&line).map_err(Refusal::because)
}

/// `{"file": …, "error": …, "places": […]}`: what people are told, and where each fault stands.
pub fn lost(file: &str, refusal: &Refusal) -> String {
    let told = told(refusal).into_iter();
    object([("file", Value::from(file))].into_iter().chain(told)).to_string()
}

/// The same without a file.
pub fn refused(refusal: &Refusal) -> String {
    object(told(refusal)).to_string()
}

fn told(refusal: &Refusal) -> [(&'static str, Value); 2] {
    [("error", Value::from(refusal.to_string())), ("places", places(refusal))]
}

/// The faults of a file, each with its place; empty where it is not the file that is wrong.
pub fn places(refusal: &Refusal) -> Value {
    let faults = refusal.diagnostics().map_or(&[][..], |found| found.list());
    let errors = faults.iter().filter(|fault| fault.severity == Severity::Error);
    errors.map(place).collect()
}

fn place(fault: &Diagnostic) -> Value {
    object([
        ("code", Value::from(fault.code.name())),
        ("line", Value::from(fault.line)),
        ("column", Value::from(fault.column)),
        ("key", Value::from(fault.key_path.as_str())),
        ("message", Value::from(fault.message.as_str())),
        ("expected", Value::from(fault.expected.as_str())),
    ])
}
