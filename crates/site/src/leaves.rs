//! The single values of a file with their key paths, for two files to be compared.

use crate::site::Site;
use crate::tree::{Node, Value};

impl Site {
    /// Every single value in file order: its key path (`lines.L1.profile[1].level`) and its text.
    /// The tree is never deeper than the reader allows.
    pub fn values(&self) -> Vec<(String, String)> {
        let mut found = Vec::new();
        gather(&self.document.root, String::new(), &mut found);
        found
    }
}

fn gather(node: &Node, path: String, found: &mut Vec<(String, String)>) {
    match &node.value {
        Value::Text(text) => found.push((path, text.to_string())),
        Value::Nothing | Value::Plain => found.push((path, String::new())),
        Value::List(items) => {
            for (index, item) in items.iter().enumerate() {
                gather(item, format!("{path}[{index}]"), found);
            }
        }
        Value::Map(entries) => {
            for entry in entries {
                let dot = if path.is_empty() { "" } else { "." };
                gather(&entry.node, format!("{path}{dot}{}", entry.key), found);
            }
        }
    }
}
