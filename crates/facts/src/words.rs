//! Which words of a drawing say something, and which deny.

use wetrun_units::holds_a_place;

/// What a text says, or `None` where it only holds a place: `TBD`, `?`, `to follow`, `-`.
pub fn shown(text: &str) -> Option<&str> {
    Some(text.trim()).filter(|text| !holds_a_place(text))
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
