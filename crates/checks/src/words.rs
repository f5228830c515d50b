//! Which words of a drawing say something, and which only hold a place.

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

/// What a text says, or `None` where it only holds a place: `TBD`, `?`, `to follow`, `-`.
pub fn shown(text: &str) -> Option<&str> {
    let trimmed = text.trim();
    let plain = trimmed.to_lowercase();
    let plain = plain.trim_matches(|c: char| !c.is_alphanumeric());
    let plain = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    let starts = |word: &str| {
        let rest = plain.strip_prefix(word);
        rest.is_some_and(|rest| word.ends_with(' ') || !rest.starts_with(char::is_alphanumeric))
    };
    let holds_a_place = plain.is_empty()
        || PLACEHOLDERS.contains(&plain.as_str())
        || FIRST.iter().any(|word| starts(word));
    (!holds_a_place).then_some(trimmed)
}

/// Whether a text denies what it is asked: `no`, `none`.
pub(crate) fn denies(text: &str) -> bool {
    let plain = text.trim().to_lowercase();
    let plain = plain.trim_matches(|c: char| !c.is_alphanumeric());
    matches!(plain, "no" | "none" | "false" | "nil" | "nothing")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_that_hold_a_place() {
        let placeholders = [
            "TBD",
            "tbd.",
            "TBC by the architect",
            "?",
            "??",
            "-",
            "\u{2014}",
            "...",
            "to follow",
            "To follow with the permit set",
            "to be confirmed",
            "unknown",
            "Unknown at this stage",
            "never",
            "n/a",
            "N/A.",
            "(pending)",
            "",
        ];
        for text in placeholders {
            assert_eq!(shown(text), None, "{text}");
        }
    }

    #[test]
    fn words_that_say_something() {
        let statements = [
            "not drinking water, at every tap",
            "sheet 6",
            "opened every autumn",
            "tbdrive",
            "open trench seen by the inspector",
            "2",
            "no",
        ];
        for text in statements {
            assert_eq!(shown(text), Some(text), "{text}");
        }
        assert!(denies("None.") && denies("no") && !denies("no later than May"));
    }
}
