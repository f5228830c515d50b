//! Words that stand where a value or a statement is still to come.

/// Words that stand where a statement is still to come.
const PLACEHOLDERS: [&str; 22] = [
    "tbd",
    "tbc",
    "tba",
    "todo",
    "to do",
    "to follow",
    "later",
    "pending",
    "open",
    "unknown",
    "not known",
    "not shown",
    "not stated",
    "not given",
    "not yet",
    "none yet",
    "never",
    "n/a",
    "na",
    "not applicable",
    "xxx",
    "see above",
];

/// First words that hold a place whatever follows them: `TBD by the owner`.
const FIRST: [&str; 8] = ["tbd", "tbc", "tba", "todo", "to be ", "to follow", "unknown", "pending"];

/// All of these words.
pub(crate) fn words() -> Vec<&'static str> {
    PLACEHOLDERS.iter().chain(&FIRST).copied().collect()
}

/// Whether a text only holds the place of one that is still to come: `TBD`, `?`, `to follow`, `-`.
///
/// ```
/// assert!(wetrun_units::holds_a_place("TBC by the architect"));
/// assert!(!wetrun_units::holds_a_place("sheet 6"));
/// ```
pub fn holds_a_place(text: &str) -> bool {
    let plain = text.trim().to_lowercase();
    let plain = plain.trim_matches(|c: char| !c.is_alphanumeric());
    let plain = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    let starts = |word: &str| {
        let rest = plain.strip_prefix(word);
        rest.is_some_and(|rest| word.ends_with(' ') || !rest.starts_with(char::is_alphanumeric))
    };
    plain.is_empty()
        || PLACEHOLDERS.contains(&plain.as_str())
        || FIRST.iter().any(|word| starts(word))
}
