//! Faults of the YAML itself, in plain words.

use crate::diagnostic::{Code, Diagnostic};
use crate::source::{Source, Span};
use serde_saphyr::Error;

/// The YAML reader's error as a diagnostic.
pub(crate) fn fault(source: &Source, error: &Error) -> Diagnostic {
    let at = error.location().map_or(Span::NOWHERE, |location| {
        let line = usize::try_from(location.line()).unwrap_or(1);
        let column = usize::try_from(location.column()).unwrap_or(1);
        Span::new(source.byte(line, column), 0)
    });
    match error.without_snippet() {
        Error::Budget { breach, .. } => {
            let message = format!("this file is larger or deeper than any site: {breach:?}");
            Diagnostic::new(Code::Limit, at, message)
        }
        other => {
            let text = crate::values::short(&first_line(other));
            Diagnostic::new(Code::Syntax, at, format!("this is not valid YAML: {text}"))
        }
    }
}

fn first_line(error: &Error) -> String {
    let text = error.to_string();
    text.lines().next().unwrap_or_default().to_owned()
}
